#!/usr/bin/env python3
"""usage: measure.py [--check PAGE | --write PAGE | --list] APP

Writes the ten lists of messy.py with programs that are not ours, lets APP read each, and compares:
which of the cells listed beforehand were named, and whether any value in the suite is not the truth.
Then as a person at a terminal: how many questions come, and what `air` says once they are answered.
The page is docs/intake.md.  --list prints the faults as CSV."""
import csv
import io
import json
import os
import pty
import re
import subprocess
import sys
import tempfile
import time

sys.dont_write_bytecode = True
sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
import messy

HERE = os.path.dirname(os.path.abspath(__file__))
WRITERS = os.path.join(HERE, "..", "sheets")


def write_csv(told, path, number):
    cells = told["tables"][-1]["cells"]
    rows = {}
    for place, cell in cells.items():
        match = re.match(r"([A-Z]+)(\d+)$", place)
        column = 0
        for letter in match[1]:
            column = column * 26 + ord(letter) - 64
        rows.setdefault(int(match[2]) - 1, {})[column - 1] = str(cell["value"])
    width = 1 + max(max(row) for row in rows.values())
    with open(path, "w", encoding=["utf-8-sig", "cp1252", "utf-8"][number % 3], newline="") as file:
        out = csv.writer(file, delimiter=";" if number % 2 == 0 else ",")
        for row in range(1 + max(rows)):
            out.writerow([rows.get(row, {}).get(column, "") for column in range(width)])


def write(sheet, folder, number):
    told = os.path.join(folder, "told.json")
    path = os.path.join(folder, "list." + ("csv" if sheet["writer"] == "csv" else "xlsx"))
    if sheet["writer"] == "csv":
        write_csv(sheet["told"], path, number)
        return path
    with open(told, "w", encoding="utf-8") as file:
        json.dump(sheet["told"], file)
    command = {"openpyxl": [sys.executable, os.path.join(WRITERS, "write_openpyxl.py"), told, path],
               "perl": ["perl", os.path.join(WRITERS, "write_perl.pl"), told, path],
               "exceljs": ["node", os.path.join(WRITERS, "write_exceljs.mjs"), told, path],
               "exceljs-stream": ["node", os.path.join(WRITERS, "write_exceljs.mjs"), told, path, "stream"]}
    subprocess.run(command[sheet["writer"]], check=True)
    return path


def quantity(text):
    match = re.match(r"([0-9.]+) (.+?)( ±.*)?$", text)
    unit = match[2].replace("m³/h", "m3/h")
    return float(match[1]) * messy.FACTOR[unit]


def unquoted(text):
    return re.sub(r"\\(.)", r"\1", text[1:-1]) if text.startswith('"') else text


def stations(text):
    """What the suite says of each station, as messy.py names it; by the id as the list has it."""
    found = {}
    current = None
    in_stations = False
    for line in text.split("\n"):
        if re.match(r"\S", line) and not line.startswith("#"):
            in_stations = line == "stations:"
        if not in_stations:
            continue
        match = re.match(r"  (\S+):   # ", line)
        if match:
            current = {"id": match[1]}
            found[match[1]] = current
        match = re.match(r"    ([a-z ]+): (.*?)(   # .*)?$", line)
        if not match or current is None:
            continue
        key, value = match[1], match[2]
        if key == "was":
            current["id"] = unquoted(value)
        elif key in ("name", "chemistry", "kind"):
            current[key] = unquoted(value)
        elif key == "width":
            current["width"] = quantity(value)
        elif key == "opening":
            for part, field in (("parked", "down"), ("work", "mark"), ("most", "top")):
                m = re.search(part + r": ([^,}]+)", value)
                if m:
                    current[field] = quantity(m[1])
        elif key == "glass mark":
            m = re.search(r"colour: (\w+)", value)
            current["glass"] = m[1] if m else value
        elif key == "flow":
            current["rule"] = {"constant": "const", "two-state": "two", "follows opening": "VAV"}[re.match(r"\{([a-z -]+):", value)[1]]
            for part, field in (("parked", "parked"), ("work", "work"), ("constant", "flow"), ("least", "parked")):
                m = re.search(r"\b" + part + r": ([0-9][^,}]*)", value)
                if m:
                    current[field] = quantity(m[1])
    return {s.pop("id"): s for s in found.values()}


def wrong_of(sheet, got):
    """Values in the suite that are not the truth."""
    wrong = []
    for ident, values in got.items():
        truth = sheet["truth"].get(ident)
        if truth is None or ident in sheet["gone"]:
            wrong.append(f"{ident}: should not be written")
            continue
        for field, value in values.items():
            want = truth.get(field)
            if field == "kind" and value == "other":
                continue  # "not said" is no guess
            if field == "rule" and want == "VAV" and value == "two" and "parked" in truth and "work" in truth:
                continue  # the list gives the two ends, and the suite says so
            if field == "flow" and want is None and truth.get("rule") == "const":
                want = truth.get("parked") or truth.get("work")
            same = abs(value - want) <= 1e-6 * abs(want) if isinstance(value, float) and isinstance(want, float) else value == want
            if field == "rule" and want is None:
                same = False
            if not same:
                wrong.append(f"{ident}.{field}: {value}, and it is {want}")
    return wrong


# What a balancing report of such a place may say, as somebody types it.
TYPED = [("What is the most the make-up air", "36000 m3/h \u00b1 15 %"),
         ("What is the most the exhaust main", "40000 m3/h \u00b1 10 %"),
         ("how much more is supplied", "900 m3/h \u00b1 40 %"), ("What face velocity", "0.5 m/s"),
         ("exhaust main and solvents another", "one"), ("What does the flow of the stations", "two flows"),
         ("thousands", "thousands"), ("In which unit are the figures of column D", "m"),
         ("In which unit are the figures of column E", "m"), ("In which unit", "m3/h")]


def read_more(terminal):
    try:
        return os.read(terminal, 65536).decode(errors="replace")
    except OSError:  # the other end is closed
        return ""


def at_a_terminal(app, path, suite):
    """The questions that `new` asks at a terminal, each answered; the seconds it took."""
    ours, theirs = pty.openpty()
    begin = time.monotonic()
    run = subprocess.Popen([app, "new", path, "-o", suite, "--replace"], stdin=theirs, stderr=theirs,
                           stdout=subprocess.DEVNULL)
    os.close(theirs)
    asked, text = [], ""
    while more := read_more(ours):
        text += more
        if text.endswith("> "):
            asked.append(text)
            answer = next((answer for part, answer in TYPED if part in text), "")
            os.write(ours, (answer + "\n").encode())
            text = ""
    os.close(ours)
    if run.wait() != 0:
        sys.exit(f"{path}: at a terminal, exit {run.returncode}")
    return asked, time.monotonic() - begin


def first_answer(app, path, folder):
    """Spreadsheet, questions, answer: what a person gets, and how long it took the machine."""
    suite = os.path.join(folder, "first.yaml")
    asked, seconds = at_a_terminal(app, path, suite)
    begin = time.monotonic()
    run = subprocess.run([app, "air", suite, "--json"], capture_output=True, text=True)
    seconds += time.monotonic() - begin
    air = json.loads(run.stdout)
    return {"questions": sum("where:" in text for text in asked), "typed": len(asked), "answer": air["state"].replace("_", " "),
            "tier": air["tier"], "refused": [text for text in asked if text.startswith("  '")], "first_s": seconds}


def measure(app, sheet, folder, number):
    path = write(sheet, folder, number)
    answers = os.path.join(folder, "answers")
    with open(answers, "w", encoding="utf-8") as file:
        file.write("\n".join(sheet["answers"]) + "\n")
    begin = time.monotonic()
    run = subprocess.run([app, "new", path, "--answers", answers, "--json"], capture_output=True, text=True)
    seconds = time.monotonic() - begin
    if run.returncode != 0:
        sys.exit(f"{sheet['name']}: exit {run.returncode}: {run.stderr}{run.stdout[:2000]}")
    result = json.loads(run.stdout)
    suite = os.path.join(folder, "suite.yaml")
    with open(suite, "w", encoding="utf-8") as file:
        file.write(result["suite_yaml"])
    check = subprocess.run([app, "check", suite], capture_output=True, text=True)
    faults = {r["cell"] for r in result["remarks"] if r["weight"] == "fault"}
    said = {r["cell"] for r in result["remarks"]}
    got = stations(result["suite_yaml"])
    left_out = set(sheet["truth"]) - set(got) - sheet["gone"]
    return {**first_answer(app, path, folder), "sheet": sheet, "seconds": seconds, "checks": check.returncode == 0, "result": result,
            "missed": [c for c in sheet["faults"] if c not in faults] + [c for c in sheet["notices"] if c not in said],
            "unlisted": sorted((faults - set(sheet["faults"])) - {None}), "wrong": wrong_of(sheet, got),
            "unwritten": sorted(left_out), "stations": len(got)}


SECONDS_MOST = 10.0  # of `new` and `air` for one list, on a busy machine and with sanitizers too


def page(rows):
    out = io.StringIO()
    out.write("# What a messy list becomes\n\n"
              "Ten invented station lists (tests/intake/messy.py) are written by programs that are not ours, with\n"
              "faults listed beforehand (tests/intake/faults.csv), and read by `inward new`. `make check` does it\n"
              "each time and compares with this page (tests/intake/measure.py --write makes it).\n\n"
              "*Named*: of the cells listed beforehand, those named at that very cell. *Wrong*: values in the suite\n"
              "that are not the truth. *Further*: cells named as faults that were not on the list; each stands in\n"
              "the row of a listed fault and says what that costs the station. *Questions*: asked at a terminal, of\n"
              "five at most. *Typed*: the lines a person types to answer them (a unit for each of three columns is\n"
              "one question). *First answer*: what `inward air` says then, with invented figures of a plant.\n\n"
              "| list | written by | rows | listed | named | wrong | further | stations | questions | typed | first answer |\n"
              "|---|---|---|---|---|---|---|---|---|---|---|\n")
    total = [0] * 8
    for r in rows:
        s = r["sheet"]
        listed = len(s["faults"]) + len(s["notices"])
        figures = [s["rows"], listed, listed - len(r["missed"]), len(r["wrong"]), len(r["unlisted"]), r["stations"],
                   r["questions"], r["typed"]]
        total = [a + b for a, b in zip(total, figures)]
        out.write(f"| {s['name']} | {s['writer']} | " + " | ".join(str(f) for f in figures) + f" | {r['answer']} |\n")
    out.write("| **all** | | " + " | ".join(f"**{f}**" for f in total) + " | |\n")
    same = sum(what in ("id made legal", "no unit") for r in rows
               for cells in ("faults", "notices") for what in r["sheet"][cells].values())
    answered = sum(r["answer"] != "not known" for r in rows)
    out.write("\n## In short\n\n"
              f"{len(rows)} lists, {total[0]} rows: {total[2]} of {total[1]} faults named at the right cell "
              f"({100.0 * total[2] / total[1]:.1f} %), {total[3]} wrong values, {total[4]} named\n"
              f"that were not listed. {min(r['questions'] for r in rows)} to {max(r['questions'] for r in rows)} questions, "
              f"{max(r['typed'] for r in rows)} lines typed at most; {answered} of {len(rows)} lists are answered then, all "
              f"{'coarse' if all(r['tier'] == 'coarse' for r in rows) else 'of several tiers'}.\n"
              f"From list to answer the machine needs under {SECONDS_MOST:.0f} s for each (more is a failure; it is a third "
              "of a second\non two cores).\n"
              f"\nEvery suite passes `check`. {same} of the {total[1]} say one "
              f"thing of every row of a list (an id made legal, a column\nwithout a unit); {total[1] - same} are single faults. "
              "Who wrote the lists also wrote the reader: a list of yours may hold\nwhat neither thought of. If it does, send it.\n")
    return out.getvalue()


def main():
    arguments = sys.argv[1:]
    if arguments[0] == "--list":
        out = csv.writer(sys.stdout, lineterminator="\n")
        out.writerow(["list", "cell", "weight", "what"])
        for sheet in messy.sheets():
            for weight in ("faults", "notices"):
                for cell, what in sheet[weight].items():
                    out.writerow([sheet["name"], cell, weight[:-1], what])
        return
    mode, target, app = arguments if len(arguments) == 3 else (None, None, arguments[0])
    rows = []
    bad = 0
    with tempfile.TemporaryDirectory() as folder:
        for number, sheet in enumerate(messy.sheets()):
            rows.append(measure(os.path.abspath(app), sheet, folder, number))
    for r in rows:
        for what in ("wrong", "missed", "unwritten"):
            for thing in r[what]:
                print(f"{r['sheet']['name']}: {what}: {thing}  {r['sheet']['faults'].get(thing, '')}")
        if "-v" in os.environ.get("MEASURE", ""):
            print(r["sheet"]["name"], "further", r["unlisted"])
        if not r["checks"]:
            print(f"{r['sheet']['name']}: the suite does not pass check")
        for text in r["refused"]:
            print(f"{r['sheet']['name']}: an answer was refused: {text}")
        if r["first_s"] > SECONDS_MOST:
            print(f"{r['sheet']['name']}: {r['first_s']:.1f} s from list to answer")
        bad += len(r["wrong"]) + len(r["missed"]) + len(r["unwritten"]) + (not r["checks"])
        bad += len(r["refused"]) + (r["first_s"] > SECONDS_MOST) + (r["questions"] > 5)
    text = page(rows)
    if mode == "--write":
        with open(target, "w", encoding="utf-8") as file:
            file.write(text)
    elif mode == "--check" and open(target, encoding="utf-8").read() != text:
        print(f"{target} differs from what was measured; tests/intake/measure.py --write {target} APP")
        bad += 1
    print(f"longest {max(r['seconds'] for r in rows):.2f} s, to a first answer {max(r['first_s'] for r in rows):.2f} s; {sum(len(r['wrong']) for r in rows)} wrong")
    sys.exit(1 if bad else 0)


main()
