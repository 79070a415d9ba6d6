#include "ask/api_impl.h"

#include <stdio.h>
#include <string.h>

static const struct api_live rows[] = {
    {"/api/live", "get", "live", "What is live now. 503 before the first view.", "", NULL, "live"},
    {"/api/stream", "get", "stream",
     "Every view as it is made: events `live`, one line of what /api/live answers with its number as "
     "id, and `here` every few seconds. A reader that is slow skips views.",
     "", NULL, NULL},
    {"/api/entries", "get", "entries", "What was written down, from the record.",
     "from|to|about|kind|most", NULL, "entries"},
    {"/api/plot", "get", "plot", "One point over a span, from the record.", "point|from|to|most",
     NULL, "plot"},
    {"/api/past", "get", "past",
     "Why the air state turned, the turn nearest before a moment: 202 while it is worked out: ask "
     "again; 503 while another moment is. With `night` instead: what that night cost in air.",
     "moment|night", NULL, "past_turn|night"},
    {"/api/alarms", "get", "alarms",
     "Which alarms help, and which are noise: figures of a span, 30 days unless `from` says otherwise.",
     "from|to", NULL, "alarm_figures"},
    {"/api/tell", "get", "tell",
     "What a person may tell that happened: what is said first, what is asked, whom to call.", "",
     NULL, "tell"},
    {"/api/incident", "post", "incident",
     "Takes that something happened, and writes it down; what is measured around it is kept for ever. "
     "Every fault is a line of the refusal.",
     "", "incident_body", "entered"},
    {"/api/sheet", "get", "sheet",
     "One incident: what was told and added, what was measured around it, what turned.", "incident",
     NULL, "incident_sheet"},
    {"/api/entry", "post", "enter", "Writes something down; it stays.", "", "entry_body",
     "entered"},
    {"/api/rounds", "get", "rounds",
     "What was looked at on rounds, station by station: what is open, overdue or not known, and when each was "
     "known clear: `inward round --json`. 409 where nothing is kept.",
     "wet_at", NULL, "rounds"},
    {"/api/ready", "get", "ready",
     "May I start here now: how each station stands, the worst reason first: `inward ready --json`. It grants "
     "nothing. With `at` of a moment of the record; 409 where nothing is kept.",
     "wet_at|ready_station", NULL, "ready"},
    {"/api/match", "get", "own_matches",
     "The board's own match of each night: does the suite file match what the record holds, and whether a figure "
     "drifts over the nights: `inward past --matches --json`. Where there is none, `latest` is null and `reason` says "
     "why.",
     "", NULL, "own_matches"},
    {"/api/round", "post", "round",
     "Takes what a person looked at on a round at one station. Every fault is a line of the refusal.",
     "", "round_body", "entered"},
    {"/api/sightings", "get", "sightings",
     "What glass people saw where it may not stand and what lost its status, how often, and what is missing in "
     "which drawer: `inward glass --record --json`. 409 where nothing is kept.",
     "wet_at", NULL, "sightings"},
    {"/api/sighting", "post", "sighting",
     "Takes that a piece of glass was seen, cleaned, discarded or counted, or that an entry was told wrongly. Every "
     "fault is a line of the refusal.",
     "", "sighting_body", "entered"},
    {"/api/run", "post", "run",
     "Takes what is told of a run with nobody there: it started, reads, takes longer, is over, was cleared. "
     "Every fault is a line of the refusal.",
     "", "run_body", "entered"},
    {"/api/hand", "post", "hand", "Takes a value that a person read, and writes it down.", "",
     "hand_body", "entered"},
    {"/api/errand", "post", "answer",
     "What a person says to what is asked at a station. 409: nothing is asked there now.", "",
     "errand_body", "entered"},
    {"/api/leave", "get", "leave", "The leave list of now. Without feeds: a form.", "", NULL,
     "list"},
    {"/api/responder", "get", "responder",
     "The responder sheet of now, with its revision. Without feeds: a form.", "", NULL, "list"},
    {"/api/restart", "get", "restart",
     "The restart list: the newest stop of all work and who released what since, from the record.",
     "", NULL, "list"},
    {"/api/handover", "get", "handover",
     "What the ventilation technician needs about one part, then and now, from the record.",
     "part|then", NULL, "list"},
    {"/api/printed", "post", "printed",
     "The responder sheet was printed as it is now; refused when it is another by now.", "",
     "printed_body", "entered"},
    {"/api/stopped", "post", "stopped",
     "All work stopped; the questions before anybody goes in; a station is released by a person.",
     "", "stopped_body", "entered"},
    {"/api/finding", "post", "finding",
     "Says that something which looks like a fault was one, or was none; it stays, and counts for its "
     "kind.",
     "", "finding_body", "entered"},
    {"/api/baths", "get", "baths",
     "Which bath stands in which tank, and what is due, by what people told; and the wet benches by what is "
     "measured: `inward baths --json`. 409 where nothing is kept.",
     "wet_at", NULL, "baths"},
    {"/api/waste", "get", "waste",
     "Which waste containers stand where, what is in them, until when: `inward waste --json`. 409 where "
     "nothing is kept.",
     "wet_at", NULL, "waste"},
    {"/api/waste-may", "get", "waste_may",
     "May these go into that container, by all it ever held: `inward waste --may --json`.",
     "wet_container|wet_what|wet_at", NULL, "waste_may"},
    {"/api/drain-may", "get", "drain_may",
     "May this bath be let down that drain now, by how it stands and what went down before: `inward baths --may "
     "--json`.",
     "wet_tank|wet_drain|wet_at", NULL, "drain_may"},
    {"/api/told", "post", "told",
     "What a person did at a tank or a waste container. 409: it does not fit what was told before, or "
     "must not go in; `anyway` where it is so all the same. `note`: a person is needed.",
     "", "told_body", "entered"},
    {"/api/webhook/{source}", "post", "webhook",
     "Takes a message of a source that posts, as it would come over MQTT. Authorization: Bearer and "
     "the source's word.",
     "source|at", "any", "taken"},
};

/* Of chemistry, and of a table that is posted: these need no feeds file. */
static const struct api_live of_chemistry[] = {
    {"/api/match", "post", "match",
     "Does the model match: the bytes of a table of readings (CSV, XLSX, ODS), answered as `inward match "
     "--readings --json`. Kept nowhere. 400: every fault of the table, a line each; 413: longer than 2 MiB; "
     "503: another match is being worked out, or this one takes longer than 10 s.",
     "match_scene|match_file", "table", "match"},
    {"/api/match-overlay", "post", "matchOverlay",
     "The same readings: the figures known better, as the overlay that --write writes. 400: there are none.",
     "match_scene|match_file", "table", "application/yaml"},
    {"/api/match-form", "get", "matchForm",
     "A sheet of predictions with all that can be read in a scene: `inward match --form`. Filled in, it is a table "
     "for /api/match.",
     "match_scene|match_date|match_units", NULL, "text/csv"},
    {"/api/match-form", "post", "matchFormOf", "The same of the rows of a table, filled in or not.",
     "match_scene|match_file|match_date|match_units", "table", "text/csv"},
    {"/api/chemicals", "get", "chemicals",
     "Every bath, bottle and substance that can be named: `inward bath --list --json`.", "", NULL,
     "chemicals"},
    {"/api/bath", "get", "bath",
     "How a bath is made, in which order, how hot it gets: `inward bath --json`. Piranha and its kin get "
     "no amounts without an approved procedure of that station.",
     "bath_name|bath_of|bath_to|bath_from|bath_part|bath_volume|bath_mass|bath_there|bath_temperature|"
     "meet_vessel|bath_station|bath_on",
     NULL, "bath"},
    {"/api/meet", "get", "meet",
     "May these stand or be poured together: `inward meet --json`. Four verdicts, none a clearance.",
     "meet_thing|meet_held|meet_place|meet_vessel|meet_at|meet_station", NULL, "meet"},
    {"/api/may", "get", "may",
     "May this person start this process at this station then: `inward may --json`. On a live board the air "
     "is that of now, unless a scene or a time is named. Never a permission; ids only.",
     "may_who|may_do|may_at|may_from|may_for|may_inside|may_alone|may_beside|may_unattended|"
     "may_confirm|may_scene",
     NULL, "may"},
    {"/api/processes", "get", "processes", "What is done where: `inward may --list --json`.", "",
     NULL, "processes"},
    {"/api/stock", "get", "stock",
     "How much stands in cabinets and out of them, against the limits of the house: `inward stock "
     "--json`. Never a clearance.",
     "", NULL, "stock"},
    {"/api/day", "get", "day",
     "Will the air last that day: `inward day --json`, without names. From the files of bookings, read anew.",
     "day_date|day_move", NULL, "day"},
    {"/api/etch", "get", "etch",
     "How long a film must etch by published rates, the suite's own first; what else it takes, and how "
     "long the bath lasts.",
     "etch_film_key|etch_in|etch_depth|etch_over|etch_at|etch_strength|etch_spread_film|"
     "etch_spread_rate|etch_rate_here|etch_rate_at|etch_under|etch_others|etch_mask|"
     "etch_mask_thickness|etch_opening|etch_thickness|etch_wafers|etch_wafer|etch_sides|etch_open|"
     "etch_volume|etch_fall|etch_life|etch_batches",
     NULL, "etch"},
    {"/api/vapour", "get", "vapour",
     "What of a liquid reaches duct, room and person: now, parked, and with the fans standing. "
     "Changes of the scene (sash, door, off ...) as for /api/air, too.",
     "vapour_of|vapour_by|vapour_from|vapour_at|vapour_diameter|vapour_area|vapour_freeboard|"
     "vapour_volume|vapour_station|vapour_room|vapour_scene|vapour_mixing|vapour_speed",
     NULL, "vapour"},
};
enum {
  LIVE_COUNT = sizeof rows / sizeof *rows,
  CHEMISTRY_COUNT = sizeof of_chemistry / sizeof *of_chemistry
};

static const struct parameter {
  const char *key, *name, *in, *type, *doc, *example;
  bool required;
} parameters[] = {
    {"wet_at", "at", "query", "string",
     "As of this moment, ISO 8601; without an offset: the suite's zone. Without it: now.",
     "2026-10-24T12:00", false},
    {"match_scene", "scene", "query", "string",
     "A named scene: where the next reading is to tell; of a sheet, where all is to be read. Without it everything parked.",
     "busy", false},
    {"match_file", "file", "query", "string", "The table's name, for the places of its faults.",
     "balancing.csv", false},
    {"match_date", "date", "query", "string", "The day printed on the sheet; today without it.",
     "2026-11-30", false},
    {"match_units", "units", "query", "string", "si, or us.", "us", false},
    {"wet_tank", "tank", "query", "string", "Its id.", "T-1", true},
    {"wet_drain", "drain", "query", "string",
     "Its id; without it, the one that the file names for the tank.", "DR-21", false},
    {"ready_station", "station", "query", "string", "Only that station; all without it.", "A3",
     false},
    {"wet_container", "container", "query", "string", "As people named it.", "W-3", true},
    {"wet_what", "what", "query", "string", "A substance, bottle or bath; once each, at most 4.",
     "acetone", true},
    {"may_who", "who", "query", "string", "Id of the person.", "U14", true},
    {"may_do", "do", "query", "string", "Id of the process.", "P7", true},
    {"may_at", "at", "query", "string", "Id of the station.", "A3", true},
    {"may_from", "from", "query", "string",
     "When it begins; without an offset: the suite's zone. Without it: now.", "2026-12-01T10:00",
     false},
    {"may_for", "for", "query", "string", "How long; without it as the process says.", "2h", false},
    {"may_inside", "inside", "query", "string", "Ids of who else is inside, by commas.", "U22,U6",
     false},
    {"may_alone", "alone", "query", "string", "yes: nobody else is inside.", "yes", false},
    {"may_beside", "beside", "query", "string", "Processes at the station now, by commas; or none.",
     "none", false},
    {"may_unattended", "unattended", "query", "string", "yes: it is to be left alone.", "yes",
     false},
    {"may_confirm", "confirm", "query", "string", "What somebody has looked at; once for each.",
     "station in use", false},
    {"may_scene", "scene", "query", "string", "Openings that the air is computed for.", "busy",
     false},
    {"bath_name", "name", "query", "string", "A standard bath.", "sc-1", false},
    {"bath_of", "of", "query", "string", "A substance, where it is told by strength.", "hf", false},
    {"bath_to", "to", "query", "string", "How strong: wt% or mol/L; of several hf=5wt%, once each.",
     "5wt%", false},
    {"bath_from", "from", "query", "string", "The bottle; once for each.", "hf-49", false},
    {"bath_part", "part", "query", "string", "Parts by volume, or amounts; once for each.",
     "water=5", false},
    {"bath_volume", "volume", "query", "string", "How much is made.", "4L", false},
    {"bath_mass", "mass", "query", "string", "The same by mass.", "4kg", false},
    {"bath_there", "bath", "query", "string", "What is there already, to be spiked.", "20L@8wt%",
     false},
    {"bath_temperature", "temperature", "query", "string", "Of the parts; 20 degC without it.",
     "20degC", false},
    {"bath_station", "station", "query", "string", "Where.", "A3", false},
    {"bath_on", "on", "query", "string", "The day, for the review of procedures; today without it.",
     "2026-11-29", false},
    {"day_date", "date", "query", "string", "The day; today without it.", "2026-12-01", false},
    {"day_move", "move", "query", "string", "A trial: that booking of the day then instead.",
     "Q10=16:00", false},
    {"from", "from", "query", "string",
     "Beginning of the span, ISO 8601; without an offset: the suite's zone. Without it: a week (of a "
     "plot a day) before the end.",
     "2026-10-24T12:00", false},
    {"to", "to", "query", "string", "Its end. Without it: now.", "2026-10-24T15:00", false},
    {"about", "about", "query", "string", "Only entries about this part.", "S3", false},
    {"kind", "kind", "query", "string", "Only entries of this kind.", "event", false},
    {"most", "most", "query", "integer", "So many entries, or stretches of a plot, at most.", "200",
     false},
    {"point", "point", "query", "string", "A point of the feeds file.", "A1-flow", true},
    {"source", "source", "path", "string", "A source of the feeds file that posts.", "gateway",
     true},
    {"at", "at", "query", "string", "What its points name as theirs.", "hood-1", true},
    {"incident", "incident", "query", "integer", "The number of its first entry.", "12", true},
    {"moment", "at", "query", "string",
     "The moment, ISO 8601; without an offset: the suite's zone. Not one that has not come.",
     "2026-10-24T21:20", false},
    {"part", "of", "query", "string",
     "A station, fan, main, supply, room or door. Without it: a form.", "A3", false},
    {"then", "at", "query", "string",
     "The moment to compare with now. Without it: the newest alarm or event of the part.",
     "2026-10-24T21:20", false},
    {"meet_thing", "thing", "query", "string",
     "A substance, bottle, bath, trace or group; several times, once each.", "acetone", true},
    {"meet_held", "held", "query", "string",
     "With place waste: what the container held before; may be given several times.", "isopropanol",
     false},
    {"meet_place", "place", "query", "string", "deck, drawer, waste, storage or shipment.", "deck",
     false},
    {"meet_vessel", "vessel", "query", "string", "A material: glass, quartz, pp, ...", "glass",
     false},
    {"meet_station", "station", "query", "string", "Where they would meet.", "A1", false},
    {"meet_at", "at", "query", "string", "Temperature of what is in the vessel.", "60degC", false},
    {"vapour_of", "of", "query", "string",
     "The liquid: a substance at its assay, or a bottle. Several times, each with its share.",
     "hf@49wt%", true},
    {"vapour_by", "by", "query", "string", "Are shares by mass or by volume?", "volume", false},
    {"vapour_from", "from", "query", "string", "beaker, bath, deck-spill or floor-spill.", "beaker",
     true},
    {"vapour_at", "at", "query", "string", "Its temperature; else the room's.", "22degC", false},
    {"vapour_diameter", "diameter", "query", "string", "Of its surface.", "100mm", false},
    {"vapour_area", "area", "query", "string", "The same.", "0.01m2", false},
    {"vapour_freeboard", "freeboard", "query", "string", "From the liquid up to the rim.", "30mm",
     false},
    {"vapour_volume", "volume", "query", "string", "Of the liquid.", "1L", false},
    {"vapour_station", "station", "query", "string", "Where it stands.", "S3", false},
    {"vapour_room", "room", "query", "string", "Where it stands or is spilt, outside a station.",
     "Litho", false},
    {"vapour_scene", "scene", "query", "string",
     "A scene of the file; else what is measured, and where nothing is, the board's own.", "busy",
     false},
    {"vapour_mixing", "mixing", "query", "string", "Share of the fresh air that dilutes.", "0.3..1",
     false},
    {"vapour_speed", "speed", "query", "string", "Of the air over the liquid.", "0.1..0.5m/s",
     false},
    {"etch_film_key", "film", "query", "string", "What is etched.", "oxide-thermal", true},
    {"etch_in", "in", "query", "string", "A bath, or its parts: never a bare ratio.",
     "10 water + 1 hf-49", true},
    {"etch_depth", "depth", "query", "string", "How much is to go.", "500nm", true},
    {"etch_over", "over", "query", "string", "Over-etch, of the time to clear.", "20%", false},
    {"etch_at", "at", "query", "string", "Of the bath; else what is usual for it.", "21degC",
     false},
    {"etch_strength", "strength", "query", "string", "By mass, of a bath that parts do not say.",
     "30wt%", false},
    {"etch_spread_film", "spread-film", "query", "string", "Of the thickness, either way.", "5%",
     false},
    {"etch_spread_rate", "spread-rate", "query", "string", "Of the rate, either way.", "10%",
     false},
    {"etch_rate_here", "rate", "query", "string", "Measured here: goes before all that is printed.",
     "95nm/min", false},
    {"etch_rate_at", "rate-at", "query", "string", "At which temperature it was.", "21degC", false},
    {"etch_under", "under", "query", "string", "The film below.", "si-100", false},
    {"etch_others", "others", "query", "string", "Films open from the start, with commas.",
     "poly,nitride-lpcvd", false},
    {"etch_mask", "mask", "query", "string", "The mask's film.", "resist-s1822", false},
    {"etch_mask_thickness", "mask-thickness", "query", "string", "", "1um", false},
    {"etch_opening", "opening", "query", "string", "In the mask.", "100um", false},
    {"etch_thickness", "thickness", "query", "string", "Of the wafer.", "525um", false},
    {"etch_wafers", "wafers", "query", "string", "A batch.", "25", false},
    {"etch_wafer", "wafer", "query", "string", "Their diameter.", "150mm", false},
    {"etch_sides", "sides", "query", "string", "Of each, 1 or 2.", "2", false},
    {"etch_open", "open", "query", "string", "Share of those sides where the film is bare.", "40%",
     false},
    {"etch_volume", "volume", "query", "string", "Of the bath.", "10L", false},
    {"etch_fall", "fall", "query", "string", "How far what etches may fall.", "10%", false},
    {"etch_life", "life", "query", "string", "How long the bath may stand.", "8h", false},
    {"etch_batches", "batches", "query", "string", "How many it may do.", "40", false},
    {"night", "night", "query", "string", "The day of its evening; empty: the last night.",
     "2026-10-24", false},
};

const struct api_live *api_live_at(int index)
{
  if (index < LIVE_COUNT)
    return &rows[index];
  return index < LIVE_COUNT + CHEMISTRY_COUNT ? &of_chemistry[index - LIVE_COUNT] : NULL;
}

static void put_parameter(struct emit *json, const struct parameter *p)
{
  emit_object(json, p->key);
  emit_text(json, "name", p->name);
  emit_text(json, "in", p->in);
  if (p->required)
    emit_bool(json, "required", true);
  emit_text(json, "description", p->doc);
  if (strcmp(p->type, "string") == 0)
    emit_text(json, "example", p->example);
  emit_object(json, "schema");
  emit_text(json, "type", p->type);
  emit_close(json);
  emit_close(json);
}

void api_put_live_parameters(struct emit *json)
{
  for (size_t i = 0; i < sizeof parameters / sizeof *parameters; i++)
    put_parameter(json, &parameters[i]);
}

static void put_taken(struct emit *json, const char *takes)
{
  emit_array(json, "parameters");
  while (*takes) {
    char name[32];
    size_t size = strcspn(takes, "|");

    snprintf(name, sizeof name, "%.*s", (int)size, takes);
    emit_object(json, NULL);
    api_put_ref(json, "parameters", name);
    emit_close(json);
    takes += size + (takes[size] == '|');
  }
  emit_close(json);
}

/* A text of a type of its own, or bytes. */
static void put_bytes(struct emit *json, const char *type)
{
  emit_object(json, type);
  emit_object(json, "schema");
  emit_text(json, "type", "string");
  if (strncmp(type, "text/", 5) != 0 && !strstr(type, "yaml"))
    emit_text(json, "format", "binary");
  emit_close(json);
  emit_close(json);
}

static void put_table(struct emit *json)
{
  emit_object(json, "content");
  put_bytes(json, "text/csv");
  put_bytes(json, "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet");
  put_bytes(json, "application/vnd.oasis.opendocument.spreadsheet");
  put_bytes(json, "application/octet-stream");
  emit_close(json);
}

static void put_body(struct emit *json, const char *type)
{
  emit_object(json, "requestBody");
  emit_bool(json, "required", true);
  if (strcmp(type, "table") == 0)
    put_table(json);
  else
    api_put_content(json, strcmp(type, "any") == 0 ? NULL : type);
  emit_close(json);
}

static void put_events(struct emit *json)
{
  emit_object(json, "content");
  emit_object(json, "text/event-stream");
  emit_object(json, "schema");
  emit_text(json, "type", "string");
  emit_close(json);
  emit_close(json);
  emit_close(json);
}

/* One of several, told apart by their schema. */
static void put_one_of(struct emit *json, const char *types)
{
  emit_object(json, "content");
  emit_object(json, "application/json");
  emit_object(json, "schema");
  emit_array(json, "oneOf");
  while (*types) {
    char name[32];
    size_t size = strcspn(types, "|");

    snprintf(name, sizeof name, "%.*s", (int)size, types);
    emit_object(json, NULL);
    api_put_ref(json, "schemas", name);
    emit_close(json);
    types += size + (types[size] == '|');
  }
  emit_close(json);
  emit_close(json);
  emit_close(json);
  emit_close(json);
}

static void put_answer(struct emit *json, const char *answers)
{
  if (!answers) {
    put_events(json);
  } else if (strchr(answers, '/')) {
    emit_object(json, "content");
    put_bytes(json, answers);
    emit_close(json);
  } else if (strchr(answers, '|')) {
    put_one_of(json, answers);
  } else {
    api_put_content(json, answers);
  }
}

static void put_method(struct emit *json, const struct api_live *row, bool always)
{
  emit_object(json, row->method);
  emit_text(json, "operationId", row->name);
  emit_text(json, "summary", row->doc);
  if (!always)
    emit_text(json, "description", "Only where the suite names a feeds file.");
  put_taken(json, row->takes);
  if (row->body)
    put_body(json, row->body);
  emit_object(json, "responses");
  emit_object(json, "200");
  emit_text(json, "description", "The answer.");
  put_answer(json, row->answers);
  emit_close(json);
  emit_object(json, "default");
  api_put_ref(json, "responses", "refused");
  emit_close(json);
  emit_close(json);
  emit_close(json);
}

static bool is_first(int row)
{
  for (int i = 0; i < row; i++)
    if (strcmp(api_live_at(i)->path, api_live_at(row)->path) == 0)
      return false;
  return true;
}

/* An address with more than one method has a row for each. */
void api_put_live_paths(struct emit *json)
{
  for (int i = 0; api_live_at(i) != NULL; i++) {
    const char *path = api_live_at(i)->path;

    if (!is_first(i))
      continue;
    emit_object(json, path);
    for (int k = i; api_live_at(k) != NULL; k++)
      if (strcmp(api_live_at(k)->path, path) == 0)
        put_method(json, api_live_at(k), k >= LIVE_COUNT);
    emit_close(json);
  }
}
