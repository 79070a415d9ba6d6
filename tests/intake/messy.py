"""Ten made-up station lists with dirt, each from one description: what stands in the cells, what is
true, and which cells must be named.  All invented; the same every time.

sheets() gives dictionaries:
  name, writer    csv, openpyxl, perl, exceljs or exceljs-stream
  told            the cells, as tests/sheets/write_* take them
  answers         lines of a file of answers, or []
  truth           written id -> {field: value in SI or text, or None: must not be written}
  faults          cell -> what is wrong there (to be named as a fault)
  notices         cell -> what is to be said there
  gone            ids that must not become stations
"""
import random

FACTOR = {"m": 1.0, "mm": 1e-3, "cm": 1e-2, "in": 0.0254, "ft": 0.3048,
          "m3/h": 1 / 3600, "L/s": 1e-3, "cfm": 0.3048**3 / 60, "m/s": 1.0, "fpm": 0.3048 / 60}
FIGURES = ["width", "down", "mark", "top", "parked", "work", "flow", "largest", "velocity"]
COLOURS = ["white", "grey", "black", "brown", "red", "orange", "yellow", "green", "blue", "violet", "pink"]
WORDS = {
    "en": {"hood": "fume hood", "bench": "wet bench", "cabinet": "cabinet", "VAV": "VAV",
           "two": "two speed", "const": "constant", "white": "white"},
    "de": {"hood": "Abzug", "bench": "Nassbank", "cabinet": "Schrank", "VAV": "variabel",
           "two": "zweistufig", "const": "konstant"},
    "fr": {"hood": "sorbonne", "bench": "paillasse", "cabinet": "armoire", "VAV": "débit variable",
           "two": "deux vitesses", "const": "constant"},
    "es": {"hood": "campana", "bench": "banco húmedo", "cabinet": "armario", "VAV": "caudal variable",
           "two": "dos velocidades", "const": "fijo"},
    "nl": {"hood": "zuurkast", "bench": "natte bank", "cabinet": "kast", "VAV": "variabel",
           "two": "twee standen", "const": "vast"},
}
KIND = {"hood": "fume hood", "bench": "wet bench", "cabinet": "ventilated cabinet"}
CHEMISTRY = ["acid", "HF", "base", "solvent", "acid-oxidiser", "solvent", "by booking", "base-weak"]
NAMES = ["Rinse", "Etch", "Strip", "Develop", "Lift-off", "Clean", "Plate", "Oxide", "Nitride", "Mask"]


def letters(column):
    text = ""
    column += 1
    while column:
        column, rest = divmod(column - 1, 26)
        text = chr(65 + rest) + text
    return text


def station(rnd, number, ident, decimals):
    """One clean station in SI-like units of its own: figures as (digits, unit)."""
    kind = rnd.choice(["hood", "hood", "bench", "bench", "cabinet"])
    rule = {"hood": rnd.choice(["VAV", "two"]), "bench": "two", "cabinet": "const"}[kind]
    s = {"id": ident(number), "kind": kind, "rule": rule,
         "name": f"{rnd.choice(NAMES)} {number}", "chemistry": rnd.choice(CHEMISTRY),
         "width": rnd.choice([0.9, 1.2, 1.5, 1.8]), "mark": rnd.choice([0.35, 0.40, 0.45]),
         "top": rnd.choice([0.60, 0.70, 0.75]), "parked": rnd.randrange(26, 62) * 10.0}
    s["work"] = s["parked"] + rnd.randrange(30, 90) * 10.0
    s["glass"] = COLOURS[number % len(COLOURS)]
    return s


def to_unit(value, field, units):
    """A figure in the sheet's unit, rounded as a person would: the digits, and what they mean in SI."""
    unit = units[field]
    scale = {"width": 1.0, "down": 1.0, "mark": 1.0, "top": 1.0, "velocity": 1.0}.get(field, 1 / 3600)
    number = value * scale / FACTOR[unit]
    digits = {"m": 2, "mm": 0, "cm": 0, "in": 0, "ft": 1, "m3/h": 0, "L/s": 0, "cfm": 0, "m/s": 2, "fpm": 0}[unit]
    text = f"{number:.{digits}f}"
    return text, float(text) * FACTOR[unit]


class Sheet:
    def __init__(self, name, writer, seed, language, units, headers, ident, decimal=".", table="Stations",
                 above=(), rows=32, comma_text=False):
        self.name, self.writer, self.language, self.units = name, writer, language, units
        self.table, self.decimal, self.comma_text = table, decimal, comma_text
        self.fields = [f for f, _ in headers]
        self.cells, self.merges, self.extra = {}, [], []
        self.truth, self.faults, self.notices, self.gone, self.answers = {}, {}, {}, set(), []
        self.headers, self.top = headers, len(above)
        for row, text in enumerate(above):
            if text:
                self.put(row, 0, text)
        self.rows, self.ids = {}, {}
        self.header()
        rnd = random.Random(seed)
        for number in range(1, rows + 1):
            self.add(station(rnd, number, ident, decimal))

    # ---- cells
    def put(self, row, column, value, kind=None, **more):
        kind = kind or ("number" if isinstance(value, (int, float)) else "text")
        self.cells[f"{letters(column)}{row + 1}"] = {"put": kind, "value": value, **more}

    def header(self):
        two = any("|" in h for _, h in self.headers)
        for column, (_, text) in enumerate(self.headers):
            upper, _, lower = text.partition("|")
            self.put(self.top, column, upper)
            if two and lower:
                self.put(self.top + 1, column, lower)
        self.next = self.top + (2 if two else 1)

    def figure_cell(self, row, column, text):
        text = text.replace(".", self.decimal)
        if self.writer == "csv" or self.decimal == "," or self.comma_text:
            self.put(row, column, text)
        else:
            self.put(row, column, float(text))

    def add(self, s):
        row = self.next
        self.next += 1
        truth = {"kind": KIND[s["kind"]], "name": s["name"], "rule": s["rule"]}
        words = WORDS[self.language]
        for column, field in enumerate(self.fields):
            if field == "id":
                self.put(row, column, s["id"])
            elif field == "type":
                self.put(row, column, f"{words[s['kind']]}, {words[s['rule']]}")
            elif field in ("name", "chemistry", "glass"):
                self.put(row, column, s[field])
                truth[field] = s[field]
            elif field in FIGURES:
                value = s.get(field)
                if field == "flow":
                    value = s["work"] if s["rule"] == "const" else None
                if field in ("parked", "work") and s["rule"] == "const" and "flow" in self.fields:
                    value = None
                if value is None:
                    self.put(row, column, "-")
                    continue
                text, si = to_unit(value, field, self.units)
                self.figure_cell(row, column, text)
                truth[field] = si
        if s["rule"] == "const" and "flow" not in self.fields:  # one flow, in the two columns the list has
            self.put(row, self.fields.index("work"), "-")
            truth["work"] = None
        self.truth[s["id"]] = truth
        self.rows[s["id"]] = row
        self.ids[row] = s["id"]

    # ---- dirt
    def at(self, number, field):
        """The cell of the number-th station; its id."""
        ident = list(self.rows)[number - 1]
        return self.rows[ident], self.fields.index(field), ident

    def dirty(self, number, field, value, what, absent=True, left_out=False, kind=None, notice=False, **more):
        """Other content at a cell.  absent: nothing of it may be written."""
        row, column, ident = self.at(number, field)
        self.put(row, column, value, kind, **more)
        if what:
            (self.notices if notice else self.faults)[f"{letters(column)}{row + 1}"] = what
        if absent:
            self.truth[ident][field] = None
        if left_out:
            self.gone.add(ident)

    def as_is(self, number, field, value, **more):
        """Another way to write the same thing."""
        row, column, _ = self.at(number, field)
        self.put(row, column, value, **more)

    def remove(self, number, remark, field="note"):
        row, column, ident = self.at(number, field)
        self.put(row, column, remark)
        self.notices[f"{letters(self.fields.index('id'))}{row + 1}"] = "removed"
        self.gone.add(ident)

    def line(self, texts, notice=None, fault=None):
        """A row that is no station."""
        for column, text in texts.items():
            self.put(self.next, column, text)
        first = f"{letters(min(texts))}{self.next + 1}"
        if notice:
            self.notices[first] = notice
        if fault:
            self.faults[first] = fault
        self.next += 1

    def done(self):
        told = {"tables": self.extra_before() + [{"name": self.table, "cells": self.cells, "merges": self.merges}] + self.extra}
        prefix = "" if self.writer == "csv" else f"{self.table}!" if " " not in self.table else f"'{self.table}'!"
        return {"name": self.name, "writer": self.writer, "told": told, "answers": self.answers,
                "truth": self.truth, "gone": self.gone, "rows": len(self.truth),
                "faults": {prefix + k: v for k, v in self.faults.items()},
                "notices": {prefix + k: v for k, v in self.notices.items()}}

    def extra_before(self):
        return getattr(self, "before", [])


SI = {"width": "m", "mark": "m", "top": "m", "parked": "m3/h", "work": "m3/h", "flow": "m3/h", "velocity": "m/s"}
US = {"width": "ft", "mark": "in", "top": "in", "parked": "cfm", "work": "cfm", "flow": "cfm", "velocity": "fpm"}
MM = {**SI, "width": "mm", "mark": "mm", "top": "mm"}


def nord():
    s = Sheet("nord", "csv", 1, "de", MM, [("id", "Abzug Nr"), ("name", "Bezeichnung"), ("type", "Typ"), ("chemistry", "Chemie"),
              ("width", "Breite [mm]"), ("mark", "Arbeitshöhe [mm]"), ("parked", "Volumenstrom Ruhe [m³/h]"),
              ("work", "Volumenstrom Betrieb [m³/h]"), ("flow", "Volumenstrom [m3/h]"), ("note", "Bemerkung")],
              lambda n: f"N{n:02d}", above=["Stationsliste Nordbau, Stand 3.9.2026 (KB)", None])
    s.dirty(3, "width", "5.Jan", "date", kind="text")
    s.dirty(5, "parked", "ca 300 bis 400", "no figure", left_out=True)
    s.dirty(7, "type", "Nassbank, komisch", "unknown rule", absent=False)
    s.faults.pop(f"C{s.rows['N07'] + 1}")  # what is understood of it is taken: two flows are given
    s.dirty(9, "mark", "4500", "beyond any sash")
    s.remove(11, "abgebaut 2023")
    s.dirty(14, "width", "15OO", "letter O")
    s.as_is(16, "width", "1 500" if s.truth["N16"]["width"] == 1.5 else s.cells[f"E{s.rows['N16'] + 1}"]["value"])
    s.line({0: "Summe", 6: "12345"}, notice="sum")
    return s


def bay():
    s = Sheet("bay", "openpyxl", 2, "en", SI, [("id", "Station"), ("name", "What for"), ("type", "Type"), ("chemistry", "Class"),
              ("width", "Opening W (m)"), ("mark", "Sash mark (m)"), ("top", "Max (m)"), ("parked", "Standby (m3/h)"),
              ("work", "Work (m3/h)"), ("flow", "Flow (m3/h)"), ("glass", "Glass mark"), ("note", "Remark")],
              lambda n: f"{'ABS'[n % 3]}{n}", comma_text=False, above=["Bay list, do not sort!", ""])
    s.as_is(2, "width", f"{s.truth['S2']['width']:.2f}".replace(".", ","))
    s.as_is(4, "mark", f"{s.truth['B4']['mark']:.2f}".replace(".", ","), note="tape, 3 May")
    s.dirty(6, "parked", "2026-01-05T00:00:00", "date", kind="date", format="d-mmm", left_out=True)
    s.dirty(8, "work", "#REF!", "failed formula", kind="formula", result="#REF!", left_out=True)
    s.cells[f"I{s.rows['S8'] + 1}"] = {"put": "formula", "value": "X1*2", "result": "#REF!"}
    s.dirty(10, "glass", "red or pink", "two colours")
    s.dirty(12, "glass", "teal", "no such colour")
    s.dirty(13, "top", 0.20, "below the mark")
    row, column, ident = s.at(13, "mark")
    s.truth[ident]["mark"] = None
    s.dirty(17, "width", 150, "wrong unit")
    s.dirty(19, "mark", -0.45, "negative")
    s.remove(21, "removed 2024, duct capped")
    s.extra = [{"name": "Contacts", "cells": {"A1": {"put": "text", "value": "Name"}, "B1": {"put": "text", "value": "Phone"},
                                                "A2": {"put": "text", "value": "Desk"}, "B2": {"put": "text", "value": "4210"}}}]
    return s


def gulf():
    s = Sheet("gulf", "perl", 3, "en", US, [("id", "Hood No"), ("name", "Purpose"), ("type", "Kind"), ("width", "Width ft"),
              ("mark", "Sash mark in"), ("top", "Sash max in"), ("parked", "Idle cfm"), ("work", "High cfm"), ("flow", "Exhaust cfm"),
              ("note", "Notes")], lambda n: f"{100 + n}", table="Hood list 2026")
    for n in range(1, 33):  # ids of digits only get a letter in front, and that is said
        row, column, ident = s.at(n, "id")
        s.notices[f"A{row + 1}"] = "id made legal"
    s.dirty(4, "width", "6'", None, absent=False)
    s.truth["104"]["width"] = 6 * 0.3048
    s.as_is(5, "mark", f"{int(round(s.truth['105']['mark'] / 0.0254))}\"")
    s.dirty(6, "mark", "17 1/2", None, absent=False)
    s.truth["106"]["mark"] = 17.5 * 0.0254
    s.dirty(9, "parked", "200-250", "a range", left_out=s.truth["109"]["rule"] != "const")
    if s.truth["109"]["rule"] == "const":
        s.gone.discard("109")
    s.dirty(11, "work", "see TAB", "no figure", left_out=True)
    s.dirty(15, "type", "glovebox", "unknown kind", absent=False)
    s.truth["115"].update(kind=None, rule=None)
    s.gone.add("115")  # of an unknown kind, and nothing says how its flow moves
    s.dirty(18, "top", "fully", "no figure")
    s.dirty(20, "width", "3 1/3", "no ruler shows thirds")
    s.remove(22, "Decommissioned, 2019")
    s.line({0: "* 115 is a loan"}, notice="a note")
    return s


def sud():
    s = Sheet("sud", "exceljs", 4, "fr", SI, [("id", "Poste"), ("name", "Utilisation"), ("type", "Type de poste"),
              ("width", "Largeur (m)"), ("mark", "Hauteur de travail (m)"), ("parked", "Débit réduit (m3/h)"), ("work", "Débit de travail (m3/h)"),
              ("flow", "Débit (m3/h)"), ("glass", "Couleur verre"), ("note", "Remarques")], lambda n: f"P-{n}", decimal=",",
              above=["Salle humide Sud", None])
    s.dirty(2, "parked", "1.450", "thousands or decimal", left_out=s.truth["P-2"]["rule"] != "const")
    s.dirty(5, "work", "1,125", "thousands or decimal", left_out=s.truth["P-5"]["rule"] == "two")
    s.dirty(8, "width", "1,5 ou 1,8", "two figures")
    s.dirty(12, "mark", "?", None)
    s.dirty(13, "mark", "s.o.", "no figure")
    s.dirty(15, "parked", "environ", "no figure", left_out=s.truth["P-15"]["rule"] != "const")
    s.remove(19, "démonté")
    for n in (2, 5, 15):
        if s.truth[f"P-{n}"]["rule"] == "const":
            s.truth[f"P-{n}"]["flow"] = s.truth[f"P-{n}"].get("flow")
    return s


def west():
    units = {**SI, "parked": "L/s", "work": "L/s", "flow": "L/s"}
    s = Sheet("oeste", "openpyxl", 5, "es", units, [("id", "Puesto"), ("name", "Descripción"), ("type", "Tipo"), ("chemistry", "Química"),
              ("width", "Ancho (m)"), ("mark", "Altura de trabajo (m)"), ("parked", "Caudal en reposo (L/s)"), ("work", "Caudal de trabajo (L/s)"),
              ("flow", "Caudal (L/s)"), ("note", "Observaciones")], lambda n: f"Q{n}", table="Puestos")
    s.dirty(3, "id", "Q2", "twice", absent=False, left_out=True)
    s.dirty(6, "width", True, "yes or no", kind="yes_no")
    s.dirty(7, "parked", "9999999", "beyond any station", left_out=s.truth["Q7"]["rule"] != "const")
    s.dirty(9, "work", "100000", "beyond any station", left_out=s.truth["Q9"]["rule"] == "two")
    s.as_is(11, "width", f"{s.truth['Q11']['width']} m")
    s.dirty(14, "width", "1.5 kg", "not a length")
    s.dirty(17, "type", "banco húmedo campana, fijo", "two kinds", absent=False)
    s.gone.add("Q17")
    s.line({1: "sin número", 2: "campana"}, fault=None)
    s.faults[f"A{s.next}"] = "no id"
    s.gone_rows = 1
    return s


def delft():
    s = Sheet("delft", "exceljs-stream", 6, "nl", MM, [("id", "Werkplek"), ("name", "Omschrijving"), ("type", "Soort"),
              ("width", "Breedte|mm"), ("mark", "Werkhoogte|mm"), ("parked", "Debiet ruststand|m3/h"), ("work", "Debiet werk|m3/h"),
              ("flow", "Debiet|m3/h"), ("note", "Opmerkingen")], lambda n: f"W/{n}")
    for n in range(1, 33):
        row, column, ident = s.at(n, "id")
        s.notices[f"A{row + 1}"] = "id made legal"
    s.dirty(2, "width", "breed", "no figure")
    s.dirty(10, "mark", "45", "millimetres, and too few")
    s.dirty(13, "work", "1200 Nm3/h", "a standard flow", left_out=s.truth["W/13"]["rule"] == "two")
    s.remove(16, "verwijderd in 2025")
    s.dirty(21, "mark", "400; 450", "two figures")
    return s


def units_asked():
    s = Sheet("no units", "csv", 7, "en", SI, [("id", "Stn"), ("name", "Use"), ("type", "Control"), ("width", "Width"), ("mark", "Sash mark"),
              ("parked", "Idle"), ("work", "High"), ("flow", "Flow"), ("glass", "Colour"), ("note", "Comment")], lambda n: f"U{n}", rows=30)
    s.answers = ["unit of column F: m3/h", "unit of column G: m3/h", "unit of column H: m3/h", "unit of column D: don't know",
                 "unit of column E: m"]
    for n in range(1, 31):
        row, column, ident = s.at(n, "width")
        s.faults[f"D{row + 1}"] = "no unit"
        s.truth[ident]["width"] = None
    s.dirty(4, "parked", "1.200", "thousands or decimal", left_out=s.truth["U4"]["rule"] != "const")
    s.dirty(9, "glass", "ring or star", "two shapes")
    return s


def two_rows():
    s = Sheet("two rows", "perl", 8, "en", SI, [("id", "Station|"), ("name", "Name|"), ("type", "Type|"), ("width", "Sash (m)|width"),
              ("mark", "Sash (m)|mark"), ("top", "Sash (m)|max"), ("parked", "Flow (m3/h)|parked"), ("work", "Flow (m3/h)|work"),
              ("flow", "Flow (m3/h)|constant"), ("note", "Remark|")], lambda n: f"T{n}", table="Liste")
    s.dirty(5, "parked", "520 (old)", "a bracket that may change it", left_out=s.truth["T5"]["rule"] != "const")
    s.dirty(8, "work", "1.45.0", "two points", left_out=s.truth["T8"]["rule"] == "two")
    s.dirty(12, "mark", "0.45/0.50", "two figures")
    row, column, ident = s.at(15, "note")
    s.put(row, column, "removed the front panel for cleaning")
    s.faults[f"J{row + 1}"] = "station or part?"
    s.dirty(18, "width", "<1.5", "a bound")
    s.dirty(20, "id", "", "no id", absent=False, left_out=True)
    return s


def ditto():
    s = Sheet("ditto", "csv", 9, "en", US, [("id", "Tag"), ("name", "Description"), ("type", "Hood type"), ("chemistry", "Chemicals"),
              ("width", "Clear width [ft]"), ("mark", "Sash stop [in]"), ("parked", "Min flow [cfm]"), ("work", "Flow at mark [cfm]"),
              ("flow", "Exhaust [cfm]"), ("note", "Remarks")], lambda n: f"D{n}")
    for n in (3, 4, 12):
        ident, above = f"D{n}", f"D{n - 1}"
        for field in ("chemistry", "width", "mark"):
            s.as_is(n, field, {"chemistry": "dto.", "width": '"', "mark": "''"}[field])
            s.truth[ident][field] = s.truth[above].get(field)
    s.dirty(7, "width", "4'8", "feet, and of what the 8?")
    s.dirty(15, "mark", "18..5", "two points")
    s.dirty(19, "parked", "n.n.", "no figure", left_out=s.truth["D19"]["rule"] != "const")
    s.dirty(21, "width", "1e3", "no figure people write")
    s.remove(25, "Scrapped 2021")
    return s


def renamed():
    s = Sheet("renamed", "openpyxl", 10, "en", SI, [("id", "Equipment ID"), ("name", "Process"), ("type", "Type of station"), ("chemistry", "Family"),
              ("width", "Clear width (m)"), ("mark", "Working height (m)"), ("parked", "Parked flow (m3/h)"), ("work", "Working flow (m3/h)"),
              ("flow", "Exhaust flow (m3/h)"), ("glass", "Glass"), ("note", "Note")], lambda n: f"E{n}", table="WetStations")
    s.put(0, 11, "Glas colour")
    s.faults["L1"] = "misspelt header"
    s.before = [{"name": "Read me", "cells": {"A1": {"put": "text", "value": "The list is on the next sheet"}}}]
    s.dirty(2, "work", 20, "below the parked flow", left_out=s.truth["E2"]["rule"] == "two", absent=True)
    s.dirty(6, "width", "ca. 1.5", "about", notice=True, absent=False)
    s.truth["E6"]["width"] = 1.5
    s.dirty(9, "parked", "2026-05-01T00:00:00", "date", kind="date", format="mmm-yy", left_out=s.truth["E9"]["rule"] != "const")
    s.dirty(11, "parked", "#N/A", "failed formula", left_out=s.truth["E11"]["rule"] != "const")
    row, column, ident = s.at(11, "parked")
    s.cells[f"{letters(column)}{row + 1}"] = {"put": "formula", "value": "NA()", "result": "#N/A"}
    s.dirty(13, "glass", "blue, or as the desk says green", "two colours")
    row, column, ident = s.at(16, "id")
    s.cells[f"A{row + 1}"]["struck"] = True
    s.notices[f"A{row + 1}"] = "struck through"
    s.gone.add(ident)
    return s


def sheets():
    return [make().done() for make in (nord, bay, gulf, sud, west, delft, units_asked, two_rows, ditto, renamed)]
