#include "intake/intake_impl.h"

#include <string.h>

/*
 * What people write in station lists, in English, German, French, Spanish and Dutch, folded as
 * intake_fold does it.  A header must be one of these phrases as a whole; a cell may hold more
 * around its word.  What is not here is not guessed at.
 */

/* clang-format off */
const struct intake_word intake_headers[] = {
    {"station", FIELD_ID}, {"stations", FIELD_ID}, {"stn", FIELD_ID}, {"id", FIELD_ID},
    {"station id", FIELD_ID}, {"station no", FIELD_ID}, {"station nr", FIELD_ID},
    {"station number", FIELD_ID}, {"no", FIELD_ID}, {"nr", FIELD_ID}, {"number", FIELD_ID},
    {"tag", FIELD_ID}, {"code", FIELD_ID}, {"ref", FIELD_ID}, {"hood", FIELD_ID},
    {"hood no", FIELD_ID}, {"hood id", FIELD_ID}, {"hood number", FIELD_ID},
    {"bench no", FIELD_ID}, {"unit no", FIELD_ID}, {"equipment id", FIELD_ID},
    {"nummer", FIELD_ID}, {"kennung", FIELD_ID}, {"kurzzeichen", FIELD_ID},
    {"platz", FIELD_ID}, {"platz nr", FIELD_ID}, {"arbeitsplatz", FIELD_ID},
    {"abzug", FIELD_ID}, {"abzug nr", FIELD_ID}, {"abzugsnummer", FIELD_ID},
    {"stations nr", FIELD_ID}, {"stationsnummer", FIELD_ID},
    {"poste", FIELD_ID}, {"poste no", FIELD_ID}, {"numero", FIELD_ID}, {"n", FIELD_ID},
    {"repere poste", FIELD_ID}, {"sorbonne", FIELD_ID}, {"hotte", FIELD_ID},
    {"puesto", FIELD_ID}, {"puesto n", FIELD_ID}, {"estacion", FIELD_ID},
    {"campana", FIELD_ID}, {"codigo", FIELD_ID},
    {"werkplek", FIELD_ID}, {"werkplek nr", FIELD_ID}, {"zuurkast", FIELD_ID},

    {"name", FIELD_NAME}, {"station name", FIELD_NAME}, {"what for", FIELD_NAME},
    {"purpose", FIELD_NAME}, {"use", FIELD_NAME}, {"used for", FIELD_NAME},
    {"description", FIELD_NAME}, {"process", FIELD_NAME}, {"title", FIELD_NAME},
    {"bezeichnung", FIELD_NAME}, {"benennung", FIELD_NAME}, {"zweck", FIELD_NAME},
    {"verwendung", FIELD_NAME}, {"prozess", FIELD_NAME}, {"nutzung", FIELD_NAME},
    {"nom", FIELD_NAME}, {"designation", FIELD_NAME}, {"utilisation", FIELD_NAME},
    {"usage", FIELD_NAME}, {"nombre", FIELD_NAME}, {"descripcion", FIELD_NAME},
    {"naam", FIELD_NAME}, {"omschrijving", FIELD_NAME}, {"gebruik", FIELD_NAME},

    {"type", FIELD_TYPE}, {"kind", FIELD_TYPE}, {"control", FIELD_TYPE},
    {"flow control", FIELD_TYPE}, {"control type", FIELD_TYPE}, {"station type", FIELD_TYPE},
    {"hood type", FIELD_TYPE}, {"vav cav", FIELD_TYPE}, {"flow rule", FIELD_TYPE},
    {"type of station", FIELD_TYPE}, {"typ", FIELD_TYPE}, {"art", FIELD_TYPE},
    {"bauart", FIELD_TYPE}, {"regelung", FIELD_TYPE}, {"regelart", FIELD_TYPE},
    {"genre", FIELD_TYPE}, {"regulation", FIELD_TYPE}, {"type de poste", FIELD_TYPE},
    {"tipo", FIELD_TYPE}, {"control de caudal", FIELD_TYPE}, {"regulacion", FIELD_TYPE},
    {"soort", FIELD_TYPE}, {"regeling", FIELD_TYPE},

    {"room", FIELD_ROOM}, {"bay", FIELD_ROOM}, {"lab", FIELD_ROOM}, {"location", FIELD_ROOM},
    {"area", FIELD_ROOM}, {"raum", FIELD_ROOM}, {"raum nr", FIELD_ROOM}, {"ort", FIELD_ROOM},
    {"standort", FIELD_ROOM}, {"labor", FIELD_ROOM}, {"salle", FIELD_ROOM},
    {"local", FIELD_ROOM}, {"emplacement", FIELD_ROOM}, {"sala", FIELD_ROOM},
    {"ubicacion", FIELD_ROOM}, {"ruimte", FIELD_ROOM}, {"lokaal", FIELD_ROOM},

    {"main", FIELD_MAIN}, {"exhaust main", FIELD_MAIN}, {"exhaust", FIELD_MAIN},
    {"exhaust system", FIELD_MAIN}, {"exhaust duct", FIELD_MAIN}, {"fan", FIELD_MAIN},
    {"on fan", FIELD_MAIN}, {"exhaust fan", FIELD_MAIN}, {"on main", FIELD_MAIN},
    {"abluft", FIELD_MAIN}, {"abluftstrang", FIELD_MAIN}, {"abluftanlage", FIELD_MAIN},
    {"strang", FIELD_MAIN}, {"anlage", FIELD_MAIN}, {"reseau", FIELD_MAIN},
    {"extract", FIELD_MAIN}, {"extract main", FIELD_MAIN}, {"extract system", FIELD_MAIN},
    {"extract duct", FIELD_MAIN}, {"extract fan", FIELD_MAIN}, {"exhaust line", FIELD_MAIN},
    {"extraction", FIELD_MAIN}, {"reseau d extraction", FIELD_MAIN},
    {"extraccion", FIELD_MAIN}, {"red de extraccion", FIELD_MAIN},
    {"afzuiging", FIELD_MAIN}, {"afvoerkanaal", FIELD_MAIN},

    {"chemistry", FIELD_CHEMISTRY}, {"class", FIELD_CHEMISTRY}, {"chemicals", FIELD_CHEMISTRY},
    {"chemical class", FIELD_CHEMISTRY}, {"chemistry class", FIELD_CHEMISTRY},
    {"family", FIELD_CHEMISTRY}, {"chemie", FIELD_CHEMISTRY}, {"chemikalien", FIELD_CHEMISTRY},
    {"medium", FIELD_CHEMISTRY}, {"medien", FIELD_CHEMISTRY}, {"klasse", FIELD_CHEMISTRY},
    {"chimie", FIELD_CHEMISTRY}, {"produits", FIELD_CHEMISTRY}, {"quimica", FIELD_CHEMISTRY},
    {"productos", FIELD_CHEMISTRY}, {"chemicalien", FIELD_CHEMISTRY},

    {"width", FIELD_WIDTH}, {"opening w", FIELD_WIDTH}, {"opening width", FIELD_WIDTH},
    {"clear width", FIELD_WIDTH}, {"sash width", FIELD_WIDTH}, {"w", FIELD_WIDTH},
    {"breite", FIELD_WIDTH}, {"lichte breite", FIELD_WIDTH}, {"offnungsbreite", FIELD_WIDTH},
    {"oeffnungsbreite", FIELD_WIDTH}, {"largeur", FIELD_WIDTH},
    {"largeur d ouverture", FIELD_WIDTH}, {"ancho", FIELD_WIDTH}, {"anchura", FIELD_WIDTH},
    {"breedte", FIELD_WIDTH}, {"sash w", FIELD_WIDTH}, {"opening breite", FIELD_WIDTH},
    {"schieber breite", FIELD_WIDTH},

    {"sash down", FIELD_DOWN}, {"sash parked", FIELD_DOWN}, {"parked opening", FIELD_DOWN},
    {"opening parked", FIELD_DOWN}, {"min opening", FIELD_DOWN}, {"sash min", FIELD_DOWN},
    {"sash closed", FIELD_DOWN}, {"spalt", FIELD_DOWN}, {"schieber zu", FIELD_DOWN},

    {"sash mark", FIELD_MARK}, {"sash mark height", FIELD_MARK}, {"mark height", FIELD_MARK},
    {"mark", FIELD_MARK}, {"working height", FIELD_MARK}, {"work height", FIELD_MARK},
    {"working opening", FIELD_MARK}, {"work opening", FIELD_MARK},
    {"opening work", FIELD_MARK}, {"sash work", FIELD_MARK}, {"sash at mark", FIELD_MARK},
    {"sash stop", FIELD_MARK}, {"sash working", FIELD_MARK}, {"opening mark", FIELD_MARK},
    {"opening at mark", FIELD_MARK}, {"marke", FIELD_MARK}, {"markierung", FIELD_MARK},
    {"arbeitshohe", FIELD_MARK}, {"arbeitsoffnung", FIELD_MARK}, {"arbeitsoeffnung", FIELD_MARK},
    {"schieber marke", FIELD_MARK}, {"schiebermarke", FIELD_MARK},
    {"frontschieber marke", FIELD_MARK}, {"offnung marke", FIELD_MARK},
    {"repere", FIELD_MARK}, {"hauteur de travail", FIELD_MARK},
    {"ouverture de travail", FIELD_MARK}, {"marca", FIELD_MARK},
    {"altura de trabajo", FIELD_MARK}, {"werkhoogte", FIELD_MARK}, {"markering", FIELD_MARK},
    {"ouverture repere", FIELD_MARK}, {"apertura marca", FIELD_MARK},

    {"sash max", FIELD_TOP}, {"max opening", FIELD_TOP}, {"maximum opening", FIELD_TOP},
    {"opening max", FIELD_TOP}, {"sash full", FIELD_TOP}, {"full open", FIELD_TOP},
    {"full opening", FIELD_TOP}, {"sash top", FIELD_TOP}, {"fully open", FIELD_TOP},
    {"max", FIELD_TOP}, {"max height", FIELD_TOP}, {"max offnung", FIELD_TOP},
    {"offnung max", FIELD_TOP}, {"schieber max", FIELD_TOP}, {"ganz offen", FIELD_TOP},
    {"ouverture max", FIELD_TOP}, {"ouverture maximale", FIELD_TOP},
    {"apertura max", FIELD_TOP}, {"apertura maxima", FIELD_TOP},
    {"maximale opening", FIELD_TOP}, {"opening full", FIELD_TOP},

    {"idle", FIELD_PARKED}, {"parked", FIELD_PARKED}, {"parked flow", FIELD_PARKED},
    {"flow parked", FIELD_PARKED}, {"idle flow", FIELD_PARKED}, {"flow idle", FIELD_PARKED},
    {"standby", FIELD_PARKED}, {"standby flow", FIELD_PARKED}, {"flow standby", FIELD_PARKED},
    {"stand by", FIELD_PARKED}, {"low", FIELD_PARKED}, {"low flow", FIELD_PARKED},
    {"flow low", FIELD_PARKED}, {"flow sash down", FIELD_PARKED},
    {"flow down", FIELD_PARKED}, {"flow closed", FIELD_PARKED}, {"closed flow", FIELD_PARKED},
    {"min flow", FIELD_PARKED}, {"minimum flow", FIELD_PARKED}, {"flow min", FIELD_PARKED},
    {"exhaust idle", FIELD_PARKED}, {"exhaust low", FIELD_PARKED},
    {"ruhe", FIELD_PARKED}, {"volumenstrom ruhe", FIELD_PARKED}, {"abgesenkt", FIELD_PARKED},
    {"ruhevolumenstrom", FIELD_PARKED}, {"volumenstrom abgesenkt", FIELD_PARKED},
    {"volumenstrom zu", FIELD_PARKED}, {"volumenstrom min", FIELD_PARKED},
    {"veille", FIELD_PARKED}, {"debit veille", FIELD_PARKED}, {"debit de veille", FIELD_PARKED},
    {"debit reduit", FIELD_PARKED}, {"debit ferme", FIELD_PARKED}, {"debit min", FIELD_PARKED},
    {"reposo", FIELD_PARKED}, {"caudal reposo", FIELD_PARKED}, {"caudal en reposo", FIELD_PARKED},
    {"caudal minimo", FIELD_PARKED}, {"caudal cerrado", FIELD_PARKED},
    {"ruststand", FIELD_PARKED}, {"debiet rust", FIELD_PARKED}, {"debiet ruststand", FIELD_PARKED},
    {"debiet dicht", FIELD_PARKED}, {"debiet min", FIELD_PARKED},

    {"work", FIELD_WORK}, {"work flow", FIELD_WORK}, {"flow work", FIELD_WORK},
    {"working flow", FIELD_WORK}, {"flow working", FIELD_WORK}, {"high", FIELD_WORK},
    {"high flow", FIELD_WORK}, {"flow high", FIELD_WORK}, {"flow at mark", FIELD_WORK},
    {"flow at work", FIELD_WORK}, {"flow open", FIELD_WORK}, {"open flow", FIELD_WORK},
    {"flow sash at mark", FIELD_WORK}, {"flow mark", FIELD_WORK}, {"exhaust high", FIELD_WORK},
    {"exhaust work", FIELD_WORK}, {"operating flow", FIELD_WORK},
    {"betrieb", FIELD_WORK}, {"volumenstrom betrieb", FIELD_WORK},
    {"arbeit", FIELD_WORK}, {"volumenstrom arbeit", FIELD_WORK},
    {"volumenstrom offen", FIELD_WORK}, {"betriebsvolumenstrom", FIELD_WORK},
    {"travail", FIELD_WORK}, {"debit travail", FIELD_WORK}, {"debit de travail", FIELD_WORK},
    {"debit ouvert", FIELD_WORK}, {"trabajo", FIELD_WORK}, {"caudal trabajo", FIELD_WORK},
    {"caudal de trabajo", FIELD_WORK}, {"caudal abierto", FIELD_WORK},
    {"debiet werk", FIELD_WORK}, {"debiet bedrijf", FIELD_WORK}, {"debiet open", FIELD_WORK},
    {"bedrijf", FIELD_WORK},

    {"max flow", FIELD_LARGEST}, {"maximum flow", FIELD_LARGEST}, {"flow max", FIELD_LARGEST},
    {"largest flow", FIELD_LARGEST}, {"valve max", FIELD_LARGEST},
    {"flow maximum", FIELD_LARGEST}, {"volumenstrom max", FIELD_LARGEST},
    {"max volumenstrom", FIELD_LARGEST}, {"debit max", FIELD_LARGEST},
    {"debit maximal", FIELD_LARGEST}, {"caudal maximo", FIELD_LARGEST},
    {"caudal max", FIELD_LARGEST}, {"debiet max", FIELD_LARGEST},

    {"flow", FIELD_FLOW}, {"exhaust flow", FIELD_FLOW}, {"airflow", FIELD_FLOW},
    {"air flow", FIELD_FLOW}, {"air", FIELD_FLOW}, {"volumenstrom", FIELD_FLOW},
    {"abluftmenge", FIELD_FLOW}, {"debit", FIELD_FLOW}, {"caudal", FIELD_FLOW},
    {"debiet", FIELD_FLOW}, {"flow constant", FIELD_FLOW}, {"constant flow", FIELD_FLOW},
    {"flow fixed", FIELD_FLOW}, {"fixed flow", FIELD_FLOW},

    {"face velocity", FIELD_VELOCITY}, {"velocity", FIELD_VELOCITY}, {"face vel", FIELD_VELOCITY},
    {"set velocity", FIELD_VELOCITY}, {"velocity set", FIELD_VELOCITY},
    {"geschwindigkeit", FIELD_VELOCITY}, {"einstromgeschwindigkeit", FIELD_VELOCITY},
    {"einstroemgeschwindigkeit", FIELD_VELOCITY}, {"vitesse", FIELD_VELOCITY},
    {"vitesse frontale", FIELD_VELOCITY}, {"velocidad", FIELD_VELOCITY},
    {"velocidad frontal", FIELD_VELOCITY}, {"snelheid", FIELD_VELOCITY},

    {"glass mark", FIELD_GLASS}, {"glass", FIELD_GLASS}, {"glass colour", FIELD_GLASS},
    {"glass color", FIELD_GLASS}, {"glassware", FIELD_GLASS}, {"glassware mark", FIELD_GLASS},
    {"colour", FIELD_GLASS}, {"color", FIELD_GLASS}, {"glas", FIELD_GLASS},
    {"glasmarke", FIELD_GLASS}, {"glasfarbe", FIELD_GLASS}, {"farbe", FIELD_GLASS},
    {"verre", FIELD_GLASS}, {"marque verre", FIELD_GLASS}, {"couleur", FIELD_GLASS},
    {"couleur verre", FIELD_GLASS}, {"vidrio", FIELD_GLASS}, {"color vidrio", FIELD_GLASS},
    {"marca vidrio", FIELD_GLASS}, {"glaswerk", FIELD_GLASS}, {"glaskleur", FIELD_GLASS},
    {"kleur", FIELD_GLASS}, {"kleur glaswerk", FIELD_GLASS},

    {"not here", FIELD_NOT_HERE}, {"never here", FIELD_NOT_HERE}, {"forbidden", FIELD_NOT_HERE},
    {"not allowed", FIELD_NOT_HERE}, {"verboten", FIELD_NOT_HERE}, {"nicht hier", FIELD_NOT_HERE},
    {"interdit", FIELD_NOT_HERE}, {"prohibido", FIELD_NOT_HERE}, {"verboden", FIELD_NOT_HERE},

    {"wear", FIELD_WEAR}, {"ppe", FIELD_WEAR}, {"psa", FIELD_WEAR}, {"schutzkleidung", FIELD_WEAR},
    {"epi", FIELD_WEAR}, {"epp", FIELD_WEAR}, {"pbm", FIELD_WEAR},

    {"call", FIELD_CALL}, {"contact", FIELD_CALL}, {"phone", FIELD_CALL},
    {"ansprechpartner", FIELD_CALL}, {"telefon", FIELD_CALL}, {"kontakt", FIELD_CALL},
    {"contacto", FIELD_CALL}, {"telefoon", FIELD_CALL},

    {"status", FIELD_STATUS}, {"state", FIELD_STATUS}, {"in service", FIELD_STATUS},
    {"in betrieb", FIELD_STATUS}, {"zustand", FIELD_STATUS}, {"etat", FIELD_STATUS},
    {"estado", FIELD_STATUS}, {"en service", FIELD_STATUS}, {"in gebruik", FIELD_STATUS},

    {"qty", FIELD_PIECES}, {"quantity", FIELD_PIECES}, {"count", FIELD_PIECES},
    {"pcs", FIELD_PIECES}, {"pieces", FIELD_PIECES}, {"how many", FIELD_PIECES},
    {"number of", FIELD_PIECES}, {"no of", FIELD_PIECES}, {"number of stations", FIELD_PIECES},
    {"no of stations", FIELD_PIECES}, {"number of hoods", FIELD_PIECES},
    {"no of hoods", FIELD_PIECES}, {"anzahl", FIELD_PIECES}, {"stuck", FIELD_PIECES},
    {"stueck", FIELD_PIECES}, {"stk", FIELD_PIECES}, {"menge", FIELD_PIECES},
    {"quantite", FIELD_PIECES}, {"qte", FIELD_PIECES}, {"cantidad", FIELD_PIECES},
    {"cant", FIELD_PIECES}, {"aantal", FIELD_PIECES}, {"stuks", FIELD_PIECES},

    {"remark", FIELD_NOTE}, {"remarks", FIELD_NOTE}, {"note", FIELD_NOTE}, {"notes", FIELD_NOTE},
    {"comment", FIELD_NOTE}, {"comments", FIELD_NOTE}, {"bemerkung", FIELD_NOTE},
    {"bemerkungen", FIELD_NOTE}, {"hinweis", FIELD_NOTE}, {"anmerkung", FIELD_NOTE},
    {"kommentar", FIELD_NOTE}, {"remarque", FIELD_NOTE}, {"remarques", FIELD_NOTE},
    {"commentaire", FIELD_NOTE}, {"observaciones", FIELD_NOTE}, {"nota", FIELD_NOTE},
    {"notas", FIELD_NOTE}, {"opmerking", FIELD_NOTE}, {"opmerkingen", FIELD_NOTE},
    {NULL, 0}};

const struct intake_word intake_kinds[] = {
    {"fume hood", FACILITY_FUME_HOOD}, {"hood", FACILITY_FUME_HOOD},
    {"fume cupboard", FACILITY_FUME_HOOD}, {"abzug", FACILITY_FUME_HOOD},
    {"laborabzug", FACILITY_FUME_HOOD}, {"digestorium", FACILITY_FUME_HOOD},
    {"sorbonne", FACILITY_FUME_HOOD}, {"hotte", FACILITY_FUME_HOOD},
    {"campana", FACILITY_FUME_HOOD}, {"vitrina", FACILITY_FUME_HOOD},
    {"zuurkast", FACILITY_FUME_HOOD}, {"hoods", FACILITY_FUME_HOOD},
    {"wet bench", FACILITY_WET_BENCH}, {"bench", FACILITY_WET_BENCH},
    {"nassbank", FACILITY_WET_BENCH}, {"nasbank", FACILITY_WET_BENCH},
    {"paillasse", FACILITY_WET_BENCH}, {"banc humide", FACILITY_WET_BENCH},
    {"banco humedo", FACILITY_WET_BENCH}, {"banco", FACILITY_WET_BENCH},
    {"natte bank", FACILITY_WET_BENCH}, {"wetbench", FACILITY_WET_BENCH},
    {"cabinet", FACILITY_CABINET}, {"ventilated cabinet", FACILITY_CABINET},
    {"schrank", FACILITY_CABINET}, {"armoire", FACILITY_CABINET},
    {"armario", FACILITY_CABINET}, {"kast", FACILITY_CABINET},
    {NULL, 0}};

const struct intake_word intake_rules[] = {
    {"vav", RULE_FOLLOWS}, {"variable", RULE_FOLLOWS}, {"variable volume", RULE_FOLLOWS},
    {"variabel", RULE_FOLLOWS}, {"follows opening", RULE_FOLLOWS},
    {"follows sash", RULE_FOLLOWS}, {"debit variable", RULE_FOLLOWS},
    {"caudal variable", RULE_FOLLOWS}, {"vvs", RULE_FOLLOWS},
    {"cav", RULE_CONSTANT}, {"constant", RULE_CONSTANT}, {"constant volume", RULE_CONSTANT},
    {"always on", RULE_CONSTANT}, {"always the same", RULE_CONSTANT}, {"fixed", RULE_CONSTANT},
    {"konstant", RULE_CONSTANT}, {"kvs", RULE_CONSTANT}, {"constante", RULE_CONSTANT},
    {"debit constant", RULE_CONSTANT}, {"caudal constante", RULE_CONSTANT},
    {"fest", RULE_CONSTANT}, {"fijo", RULE_CONSTANT}, {"fixe", RULE_CONSTANT},
    {"vast", RULE_CONSTANT}, {"dauerbetrieb", RULE_CONSTANT},
    {"two speed", RULE_TWO_STATE}, {"two state", RULE_TWO_STATE}, {"2 speed", RULE_TWO_STATE},
    {"two flows", RULE_TWO_STATE}, {"2 state", RULE_TWO_STATE}, {"2 stage", RULE_TWO_STATE},
    {"two stage", RULE_TWO_STATE}, {"high low", RULE_TWO_STATE}, {"hi lo", RULE_TWO_STATE},
    {"zweistufig", RULE_TWO_STATE}, {"2 stufig", RULE_TWO_STATE}, {"zwei stufen", RULE_TWO_STATE},
    {"deux vitesses", RULE_TWO_STATE}, {"2 vitesses", RULE_TWO_STATE},
    {"deux etats", RULE_TWO_STATE}, {"dos velocidades", RULE_TWO_STATE},
    {"2 velocidades", RULE_TWO_STATE}, {"dos estados", RULE_TWO_STATE},
    {"twee standen", RULE_TWO_STATE}, {"2 standen", RULE_TWO_STATE},
    {"tweetraps", RULE_TWO_STATE},
    {"passive", RULE_PASSIVE}, {"uncontrolled", RULE_PASSIVE}, {"ungeregelt", RULE_PASSIVE},
    {NULL, 0}};

const struct intake_word intake_statuses[] = {
    {"in service", PRESENT}, {"in use", PRESENT}, {"ok", PRESENT}, {"active", PRESENT},
    {"yes", PRESENT}, {"on", PRESENT}, {"aktiv", PRESENT}, {"ja", PRESENT},
    {"in betrieb", PRESENT}, {"oui", PRESENT}, {"en service", PRESENT}, {"si", PRESENT},
    {"en servicio", PRESENT}, {"in gebruik", PRESENT}, {"true", PRESENT},
    {"out of service", OUT_OF_SERVICE}, {"out of order", OUT_OF_SERVICE},
    {"out of use", OUT_OF_SERVICE}, {"no", OUT_OF_SERVICE}, {"defect", OUT_OF_SERVICE},
    {"ausser betrieb", OUT_OF_SERVICE}, {"auser betrieb", OUT_OF_SERVICE},
    {"defekt", OUT_OF_SERVICE}, {"nein", OUT_OF_SERVICE}, {"gesperrt", OUT_OF_SERVICE},
    {"hors service", OUT_OF_SERVICE}, {"en panne", OUT_OF_SERVICE}, {"non", OUT_OF_SERVICE},
    {"fuera de servicio", OUT_OF_SERVICE}, {"buiten gebruik", OUT_OF_SERVICE},
    {"nee", OUT_OF_SERVICE}, {"false", OUT_OF_SERVICE}, {"withdrawn", OUT_OF_SERVICE},
    {"removed", REMOVED}, {"taken out", REMOVED}, {"decommissioned", REMOVED},
    {"scrapped", REMOVED}, {"gone", REMOVED}, {"dismantled", REMOVED},
    {"abgebaut", REMOVED}, {"entfernt", REMOVED}, {"ausgebaut", REMOVED},
    {"demonte", REMOVED}, {"enleve", REMOVED}, {"supprime", REMOVED},
    {"retirado", REMOVED}, {"retirada", REMOVED}, {"desmontada", REMOVED},
    {"desmontado", REMOVED}, {"verwijderd", REMOVED}, {"afgebroken", REMOVED},
    {NULL, 0}};

const struct intake_word intake_families[] = {
    {"acid", FAMILY_ACID}, {"acids", FAMILY_ACID}, {"hf", FAMILY_ACID}, {"bhf", FAMILY_ACID},
    {"boe", FAMILY_ACID}, {"piranha", FAMILY_ACID}, {"base", FAMILY_ACID},
    {"bases", FAMILY_ACID}, {"alkali", FAMILY_ACID}, {"koh", FAMILY_ACID},
    {"tmah", FAMILY_ACID}, {"rca", FAMILY_ACID}, {"phosphoric", FAMILY_ACID},
    {"saure", FAMILY_ACID}, {"sauren", FAMILY_ACID}, {"saeure", FAMILY_ACID},
    {"lauge", FAMILY_ACID}, {"laugen", FAMILY_ACID}, {"acide", FAMILY_ACID},
    {"acides", FAMILY_ACID}, {"acido", FAMILY_ACID}, {"acidos", FAMILY_ACID},
    {"alcali", FAMILY_ACID}, {"zuur", FAMILY_ACID}, {"zuren", FAMILY_ACID}, {"loog", FAMILY_ACID},
    {"solvent", FAMILY_SOLVENT}, {"solvents", FAMILY_SOLVENT}, {"resist", FAMILY_SOLVENT},
    {"organic", FAMILY_SOLVENT}, {"organics", FAMILY_SOLVENT}, {"acetone", FAMILY_SOLVENT},
    {"losemittel", FAMILY_SOLVENT}, {"losungsmittel", FAMILY_SOLVENT},
    {"loesemittel", FAMILY_SOLVENT}, {"loesungsmittel", FAMILY_SOLVENT},
    {"solvant", FAMILY_SOLVENT}, {"solvants", FAMILY_SOLVENT}, {"disolvente", FAMILY_SOLVENT},
    {"disolventes", FAMILY_SOLVENT}, {"oplosmiddel", FAMILY_SOLVENT},
    {"oplosmiddelen", FAMILY_SOLVENT},
    {NULL, 0}};

/* In the order of the schema's words. */
const char *const intake_colour_names[] = {"white",  "grey",  "black", "brown",  "red", "orange",
                                           "yellow", "green", "blue",  "violet", "pink"};
const struct intake_word intake_colours[] = {
    {"white", 0}, {"weiss", 0}, {"weis", 0}, {"blanc", 0}, {"blanco", 0}, {"wit", 0},
    {"grey", 1}, {"gray", 1}, {"grau", 1}, {"gris", 1}, {"grijs", 1},
    {"black", 2}, {"schwarz", 2}, {"noir", 2}, {"negro", 2}, {"zwart", 2},
    {"brown", 3}, {"braun", 3}, {"brun", 3}, {"marron", 3}, {"bruin", 3},
    {"red", 4}, {"rot", 4}, {"rouge", 4}, {"rojo", 4}, {"rood", 4},
    {"orange", 5}, {"naranja", 5}, {"oranje", 5},
    {"yellow", 6}, {"gelb", 6}, {"jaune", 6}, {"amarillo", 6}, {"geel", 6},
    {"green", 7}, {"grun", 7}, {"gruen", 7}, {"vert", 7}, {"verde", 7}, {"groen", 7},
    {"blue", 8}, {"blau", 8}, {"bleu", 8}, {"azul", 8}, {"blauw", 8},
    {"violet", 9}, {"purple", 9}, {"violett", 9}, {"lila", 9}, {"violeta", 9}, {"paars", 9},
    {"pink", 10}, {"rosa", 10}, {"rose", 10}, {"roze", 10},
    {NULL, 0}};

const char *const intake_shape_names[] = {"ring",  "dot",      "bar",  "square",
                                          "cross", "triangle", "star", "diamond"};
const struct intake_word intake_shapes[] = {
    {"ring", 0}, {"anneau", 0}, {"anillo", 0},
    {"dot", 1}, {"punkt", 1}, {"point", 1}, {"punto", 1}, {"stip", 1}, {"punt", 1},
    {"bar", 2}, {"balken", 2}, {"strich", 2}, {"barre", 2}, {"barra", 2}, {"streep", 2},
    {"square", 3}, {"quadrat", 3}, {"carre", 3}, {"cuadrado", 3}, {"vierkant", 3},
    {"cross", 4}, {"kreuz", 4}, {"croix", 4}, {"cruz", 4}, {"kruis", 4},
    {"triangle", 5}, {"dreieck", 5}, {"triangulo", 5}, {"driehoek", 5},
    {"star", 6}, {"stern", 6}, {"etoile", 6}, {"estrella", 6}, {"ster", 6},
    {"diamond", 7}, {"raute", 7}, {"losange", 7}, {"rombo", 7}, {"ruit", 7},
    {NULL, 0}};

const struct intake_word intake_missing[] = {
    {"", 0}, {"n a", 0}, {"na", 0}, {"none", 0}, {"nil", 0}, {"keine", 0}, {"kein", 0},
    {"aucun", 0}, {"ninguno", 0}, {"geen", 0}, {"no sash", 0},
    {"?", 1}, {"??", 1}, {"???", 1}, {"tbd", 1}, {"tbc", 1}, {"unknown", 1}, {"unbekannt", 1},
    {"k a", 1}, {"inconnu", 1}, {"desconocido", 1}, {"onbekend", 1}, {"to be measured", 1},
    {"not known", 1}, {"a mesurer", 1}, {"see report", 1}, {"ask facilities", 1},
    {NULL, 0}};

const struct intake_word intake_dittos[] = {
    {"do", 0}, {"dto", 0}, {"ditto", 0}, {"idem", 0}, {"same", 0}, {"as above", 0},
    {"wie oben", 0}, {"dito", 0}, {NULL, 0}};

const struct intake_word intake_totals[] = {
    {"total", 0}, {"totals", 0}, {"sum", 0}, {"summe", 0}, {"gesamt", 0}, {"somme", 0},
    {"suma", 0}, {"totaal", 0}, {"subtotal", 0}, {"average", 0}, {NULL, 0}};

const struct intake_word intake_mended[] = {
    {"mended", 0}, {"repaired", 0}, {"fixed", 0}, {"reinstalled", 0}, {"restored", 0},
    {"replaced", 0}, {"returned", 0}, {"back", 0}, {"again", 0}, {"ok", 0}, {"in service", 0},
    {"in use", 0}, {"running", 0}, {"repariert", 0}, {"wieder", 0}, {"ersetzt", 0},
    {"in betrieb", 0}, {"repare", 0}, {"remis", 0}, {"remplace", 0}, {"en service", 0},
    {"reparado", 0}, {"reparada", 0}, {"en servicio", 0}, {"hersteld", 0}, {"gerepareerd", 0},
    {"in gebruik", 0}, {NULL, 0}};

/* Before a word they take it back, or say that it holds at another time. */
const struct intake_word intake_doubts_before[] = {
    {"not", 0}, {"not a", 0}, {"not yet", 0}, {"not for", 0}, {"no", 0}, {"no longer", 0},
    {"no more", 0}, {"non", 0}, {"never", 0}, {"without", 0}, {"except", 0}, {"ex", 0},
    {"former", 0}, {"formerly", 0}, {"previously", 0}, {"was", 0}, {"planned", 0}, {"future", 0},
    {"kein", 0}, {"keine", 0}, {"nicht", 0}, {"nicht mehr", 0}, {"ohne", 0}, {"ehemals", 0},
    {"fruher", 0}, {"frueher", 0}, {"geplant", 0}, {"pas", 0}, {"pas de", 0}, {"sans", 0},
    {"sauf", 0}, {"ancien", 0}, {"ancienne", 0}, {"plus de", 0}, {"sin", 0}, {"ya no", 0},
    {"antes", 0}, {"geen", 0}, {"niet", 0}, {"zonder", 0}, {"vroeger", 0}, {NULL, 0}};

const struct intake_word intake_doubts_behind[] = {
    {"free", 0}, {"not", 0}, {"never", 0}, {"planned", 0}, {"later", 0}, {"from", 0}, {"until", 0},
    {"broken", 0}, {"defect", 0}, {"bypassed", 0}, {"disabled", 0}, {"removed", 0}, {"ready", 0},
    {"forbidden", 0}, {"frei", 0}, {"nicht", 0}, {"nie", 0}, {"geplant", 0}, {"ab", 0}, {"bis", 0},
    {"defekt", 0}, {"verboten", 0}, {"prevu", 0}, {"interdit", 0}, {"jamais", 0},
    {"previsto", 0}, {"prohibido", 0}, {"nunca", 0}, {"vrij", 0}, {"gepland", 0}, {"verboden", 0},
    {"niet", 0}, {NULL, 0}};

const struct intake_word intake_high[] = {
    {"high", 0}, {"work", 0}, {"working", 0}, {"hoch", 0}, {"betrieb", 0}, {"arbeit", 0},
    {"travail", 0}, {"trabajo", 0}, {"werk", 0}, {"hoog", 0}, {NULL, 0}};
/* clang-format on */

/* ---- units ---- */

static const struct {
  const char *written, *means;
} unit_words[] = {
    {"m\xc2\xb3/Std", "m3/h"},
    {"m3/Std", "m3/h"},
    {"cbm/h", "m3/h"},
    {"m3/u", "m3/h"},
    {"m\xc2\xb3/u", "m3/h"},
    {"M3/H", "m3/h"},
    {"m3/H", "m3/h"},
    {"m3h", "m3/h"},
    {"Zoll", "in"},
    {"zoll", "in"},
    {"pouces", "in"},
    {"pouce", "in"},
    {"pulgadas", "in"},
    {"pulg", "in"},
    {"duim", "in"},
    {"In", "in"},
    {"IN", "in"},
    {"Fuss", "ft"},
    {"pieds", "ft"},
    {"pied", "ft"},
    {"pies", "ft"},
    {"voet", "ft"},
    {"Ft", "ft"},
    {"FT", "ft"},
    {"Meter", "m"},
    {"metres", "m"},
    {"meter", "m"},
    {"M", "m"},
    {"MM", "mm"},
    {"CM", "cm"},
    {"Cfm", "cfm"},
    {"metros", "m"},
    {"\"", "in"},
    {"''", "in"},
    {"\xe2\x80\xb3", "in"},
    {"'", "ft"},
    {"\xe2\x80\xb2", "ft"},
};

const char *intake_unit(const char *text, enum units_dimension dimension)
{
  for (size_t i = 0; i < sizeof unit_words / sizeof unit_words[0]; i++)
    if (strcmp(unit_words[i].written, text) == 0)
      text = unit_words[i].means;
  return text[0] != '\0' && strlen(text) <= 20 && units_knows(text, dimension) ? text : NULL;
}
