#!/usr/bin/env python3
"""usage: tell.py SEED [ROWS [office]]     a made-up workbook as JSON: what writers are told, and what it reads as

Every cell says what the writer shall put and what a reader shall see.  `not` names writers that
cannot put it so.  The first sheets are by hand, the last is random: same SEED, same cells.
"office" leaves out what spreadsheet programs alter by themselves when they open and save a file.
"""
import datetime
import json
import random
import sys

EPOCH = datetime.datetime(1899, 12, 30)


def column_name(index):
    name = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        name = chr(65 + rest) + name
    return name


def short(number):
    return "%.15g" % number


def text(value, **more):
    return dict(put="text", value=value, kind="text", text=value, **more)


def number(value, shown=None, form=None, **more):
    cell = dict(put="number", value=value, kind="number", text=shown or short(value), number=value)
    if form:
        cell["format"] = form
    return dict(cell, **more)


def date(moment, form, **more):
    """A day, with a time where the format shows one."""
    days = (moment - EPOCH) / datetime.timedelta(days=1)
    shows_time = "h" in form
    return dict(put="date", value=moment.isoformat(), format=form, kind="date", number=days,
                text=moment.isoformat() if shows_time else moment.date().isoformat(), **more)


def yes_no(value):
    return dict(put="yes_no", value=value, kind="yes_no", text="TRUE" if value else "FALSE",
                number=1 if value else 0, reads_libreoffice=dict(formula=True))  # it writes =TRUE()


NO_RESULT = dict(kind="fault", text="formula without a stored result", number=None)


def formula(code, result, **more):
    """openpyxl writes no results."""
    if isinstance(result, str) and result.startswith("#"):
        seen = dict(kind="fault", text=result)
        code = code or {"#N/A": "NA()", "#VALUE!": '1+"x"'}[result]
    elif isinstance(result, str):
        seen = dict(kind="text", text=result)
        code = code or '"%s"' % result
    else:
        seen = dict(kind="number", text=short(result), number=result)
        code = code or "%r+0" % result
    return dict(put="formula", value=code, result=result, formula=True, reads_openpyxl=NO_RESULT, **seen,
                **more)


def rich(*runs, **more):
    """Runs of text, some struck through: [("620 ", True), ("650", False)] reads "650"."""
    left = "".join(run[0] for run in runs if not run[1])
    return dict(put="rich", runs=[list(run) for run in runs], kind="text",
                text=left if left.strip() else "".join(run[0] for run in runs), struck=any(run[1] for run in runs),
                **dict({"not": ["openpyxl"]}, **more))


def stations():
    cells = {
        "A1": text("Wet stations, bay 4 (DEMO)"),
        "A2": text("Id"), "B2": text("Flow parked / work"), "C2": text("Checked"), "D2": text("Works?"),
        "E2": text("Remark"), "F2": text("Share"), "G2": text("No."),
        "A3": text("W1", note="drain slow; see Mara"), "B3": number(620),
        "C3": date(datetime.datetime(2026, 3, 7), "yyyy-mm-dd"), "D3": yes_no(True),
        "E3": text("HF & HNO\u2083 <only here>, 5\u00a0% \"bath\""), "F3": number(0.12, "12%", "0%"),
        "G3": number(7, "S07", '"S"00'),
        "A4": text("W2"), "B4": number(1560.5, "1560.5 m\u00b3/h", '#,##0.0" m\u00b3/h"'),
        "C4": date(datetime.datetime(2024, 2, 29, 14, 30), "dd/mm/yyyy hh:mm"), "D4": yes_no(False),
        "E4": text("two\nlines"), "F4": number(0.125, "12.5%", "0.0%"),
        "G4": number(1560000, "1560 k", '0," k"', reads_ods=dict(text="1560000")),
        "A5": text("W3", struck=True), "B5": formula("B3+B4", 2180.5),
        "C5": formula('IF(B3>0,"yes","no")', "yes"), "D5": formula("1/0", "#DIV/0!"),
        "E5": text("hidden row"), "F5": number(-0.05, "-5%", "0%"), "G5": number(0),
        "A7": text("merged block"), "E8": rich(("620 ", True), ("650", False)),
        "E10": rich(("all ", True), ("gone", True)), "E11": rich(("a", False), ("b", True), ("c", False)),
        "B9": number(45000.5), "C9": date(datetime.datetime(1900, 3, 1), "d.m.yy"),
        "D9": date(datetime.datetime(1900, 1, 1), "d.m.yy", **{"not": ["exceljs", "office"]}),
        "E9": date(datetime.datetime(9999, 12, 31), "yyyy-mm-dd"),
        "F9": text("=SUM(A1:A2)"), "G9": text(" blanks kept  "),
        "B11": dict(kind="empty", text="", put="nothing", note="a note on nothing"),
    }
    return dict(name="Stations", cells=cells, merges=["A1:G1", "A7:B8"], hidden_rows=[5],
                hidden_columns=[7])


def by_name():
    """Sheets with names that need quotes, one hidden, one with nothing in it."""
    return [dict(name="Bay 'B' (wet)", cells={"C3": number(1e-300), "A1": number(1.5e308),
                                            "B2": number(123456789012345), "D4": number(0.1)}),
            dict(name="Old", hidden=True, cells={"A1": text("left over")}),
            dict(name="Blank", cells={})]


WORDS = ["acid", "S1", "\u00b1 10 %", "m\u00b3/h", "\u20ac 5", "<x>", "a & b", "\"q\"", "1,5", "1.5", "'", "S\u00e4ure",
         "\u786b\u9178", "\U0001f9ea", "-", "#REF", "TRUE", "2026-01-01", "tab\tin", "n/a", "  two", "0012"]
FORMATS = [None, "0.00", "#,##0", "0.000E+00", "[Red]-0.0;0.0"]
DATES = ["yyyy-mm-dd", "d.m.yyyy", "mm/dd/yy", "[$-407]d. mmmm yyyy", "yyyy-mm-dd hh:mm:ss"]


def any_cell(rng):
    sort = rng.randrange(8)
    if sort < 3:
        return text(" ".join(rng.choice(WORDS) for _ in range(rng.randint(1, 4))))
    if sort < 5:
        value = rng.choice([rng.uniform(-1e4, 1e4), rng.randint(-10**6, 10**6), rng.uniform(-1, 1) * 1e-9,
                            round(rng.uniform(0, 3000), 1)])
        value = float(short(value))
        if abs(value) < 1e-6:
            return number(value, **{"not": ["office"]})
        return number(int(value) if value == int(value) else value, form=rng.choice(FORMATS))
    if sort == 5:
        form = rng.choice(DATES)
        moment = datetime.datetime(1905, 1, 1) + datetime.timedelta(days=rng.randrange(60000))
        if "h" in form:
            moment += datetime.timedelta(seconds=rng.randrange(86400))
        return date(moment, form)
    if sort == 6:
        return yes_no(rng.random() < 0.5)
    return formula(None, rng.choice([round(rng.uniform(-50, 50), 3), "words", "#N/A", "#VALUE!"]))


def at_random(rng, rows):
    cells = {}
    for row in range(rows):
        for column in range(30):
            if rng.random() < 0.6:
                cell = any_cell(rng)
                if rng.random() < 0.02:
                    cell["note"] = "note " + rng.choice(WORDS)
                if rng.random() < 0.03:
                    cell["struck"] = True
                cells["%s%d" % (column_name(column), row + 1)] = cell
    return dict(name="Random", cells=cells)


def main():
    rng = random.Random(int(sys.argv[1]))
    rows = int(sys.argv[2]) if len(sys.argv) > 2 else 120
    tables = [stations()] + by_name() + [at_random(rng, rows)]
    if "office" in sys.argv[3:]:
        for table in tables:
            table["cells"] = {p: c for p, c in table["cells"].items() if "office" not in c.get("not", [])}
    json.dump(dict(tables=tables), sys.stdout, indent=1, sort_keys=True)


main()
