#!/usr/bin/env python3
"""usage: compare.py TOLD.json READ.json WRITER [FLAG...]      exit 1 when what was read is not what was told

Cell by cell, both ways: nothing told is missing, nothing read was not told.  Flags: no-notes and
no-hidden (WRITER writes no notes, no hidden sheets), ods (a number keeps its words only where the
sheet shows all of it).
"""
import json
import re
import sys


def split(place):
    letters, row = re.fullmatch(r"([A-Z]+)(\d+)", place).groups()
    column = 0
    for letter in letters:
        column = column * 26 + ord(letter) - 64
    return int(row), column


def name(row, column):
    letters = ""
    while column:
        column, rest = divmod(column - 1, 26)
        letters = chr(65 + rest) + letters
    return "%s%d" % (letters, row)


def expected(table, writer, flags):
    seen = {}
    for place, cell in table["cells"].items():
        if writer in cell.get("not", []):
            continue
        part = bool(cell.get("struck")) and any(not run[1] and run[0].strip() for run in cell.get("runs", []))
        want = dict(kind=cell["kind"], text=cell["text"], number=cell.get("number"),
                    note=None if "no-notes" in flags else cell.get("note"), formula=cell.get("formula", False),
                    covered=False, struck=cell.get("struck", False) and not part,
                    part_struck=part)
        for reader in [writer] + flags:
            want.update(cell.get("reads_" + reader, {}))
        if want["kind"] != "empty" or want["note"]:
            seen[place] = want
    last_row = max((split(p)[0] for p in seen), default=0)
    last_column = max((split(p)[1] for p in seen), default=0)
    for block in table.get("merges", []):
        first, last = block.split(":")
        (top, left), (bottom, right) = split(first), split(last)
        for row in range(top, min(bottom, last_row) + 1):
            for column in range(left, min(right, last_column) + 1):
                if name(row, column) != first:
                    seen[name(row, column)] = dict(seen[first], note=None, covered=True)
    return seen, last_row, last_column


def same(want, got):
    for key in want:
        if key == "number" and want[key] is not None and got[key] is not None:
            if abs(want[key] - got[key]) > 1e-15 * abs(want[key]) + 1e-9 * (want["kind"] == "date"):
                return False
        elif want[key] != got[key]:
            return False
    return True


def main():
    told = json.load(open(sys.argv[1], encoding="utf-8"))["tables"]
    read = json.load(open(sys.argv[2], encoding="utf-8"))["tables"]
    writer, flags = sys.argv[3], sys.argv[4:]
    bad = cells = 0

    def say(what):
        nonlocal bad
        bad += 1
        if bad <= 20:
            print(what)

    if [t["name"] for t in told] != [t["name"] for t in read]:
        say("tables: told %s, read %s" % ([t["name"] for t in told], [t["name"] for t in read]))
    for want, got in zip(told, read):
        seen, rows, columns = expected(want, writer, flags)
        for key, value in (("hidden", want.get("hidden", False) and "no-hidden" not in flags), ("rows", rows), ("columns", columns),
                           ("hidden_rows", want.get("hidden_rows", [])),
                           ("hidden_columns", want.get("hidden_columns", []))):
            if got[key] != value:
                say("%s: %s: told %s, read %s" % (want["name"], key, value, got[key]))
        for place in sorted(set(seen) | set(got["cells"])):
            cells += 1
            if place not in got["cells"] or place not in seen or not same(seen[place], got["cells"][place]):
                say("%s!%s: told %s, read %s" % (want["name"], place, seen.get(place), got["cells"].get(place)))
    print("%s: %d cells compared, %d differ" % (writer, cells, bad))
    sys.exit(1 if bad or cells < 100 else 0)


main()
