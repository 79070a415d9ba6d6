#!/usr/bin/env python3
"""usage: bench_table.py BENCH_TABLE      how fast an exported table is read, beside Python's csv module

A made-up month of 40 points every minute, wide, semicolons, decimal commas, local time.  The same
bytes are read by feed_table and by Python's csv module (written in C), which is timed twice: for its
cells alone, and with what makes them values (float, datetime with a zone).  Fails when the two do not
add up to the same.
"""
import csv
import datetime
import io
import os
import statistics
import subprocess
import sys
import tempfile
import time
import zoneinfo

COLUMNS, RUNS = 40, 7
BEGIN = datetime.datetime(2024, 10, 1, tzinfo=datetime.timezone.utc)
MINUTES = 31 * 24 * 60
PARIS = zoneinfo.ZoneInfo("Europe/Paris")

SUITE = """inward: 1 suite
label: DEMO
rooms: {Lab: {}}
leaks: {L: {from: Lab, to: outdoors, area: 1 cm2}}
mains: {M: {}}
stations: {S: {kind: fume hood, room: Lab, main: M, flow: {constant: 900 m3/h}}}
"""


def feeds():
    yield ("inward: 1 feeds\nsources: {t: {csv: {separator: semicolon, decimal: comma, time: Time, "
           "pattern: DD.MM.YYYY hh:mm, zone: Europe/Paris, missing: [No Data]}}}\npoints:\n")
    for c in range(COLUMNS):
        yield f"  P{c}: {{what: other, from: t, at: C{c}, unit: m3/s}}\n"


def table():
    out = io.StringIO()
    out.write("Time;" + ";".join(f"C{c}" for c in range(COLUMNS)) + "\n")
    state = 12345
    for minute in range(MINUTES):
        local = (BEGIN + datetime.timedelta(minutes=minute)).astimezone(PARIS)
        out.write(local.strftime("%d.%m.%Y %H:%M"))
        for _ in range(COLUMNS):
            state = (state * 1103515245 + 12345) % 2147483648
            value = state // 65536 % 20000
            out.write(";No Data" if value < 100 else f";{value // 10},{value % 10}")
        out.write("\n")
    return out.getvalue()


def by_csv_cells(text):
    rows = 0
    for row in csv.reader(io.StringIO(text), delimiter=";"):
        rows += len(row)
    return rows


def by_csv_values(text):
    reader = csv.reader(io.StringIO(text), delimiter=";")
    next(reader)
    count, total, last, fold = 0, 0.0, None, 0
    for row in reader:
        local = datetime.datetime.strptime(row[0], "%d.%m.%Y %H:%M")
        if last and local < last:  # the hour that comes twice
            fold = 1
        last = local
        local.replace(tzinfo=PARIS, fold=fold).timestamp()
        for cell in row[1:]:
            if cell != "No Data":
                count += 1
                total += float(cell.replace(",", "."))
    return count, total


def timed(function, text):
    start = time.perf_counter()
    answer = function(text)
    return time.perf_counter() - start, answer


def row(name, times, size):
    middle = statistics.median(times)
    print(f"{name:34} {middle * 1e3:9.1f} ms  {size / middle / 1e6:7.1f} MB/s  "
          f"{MINUTES * COLUMNS / middle / 1e6:6.2f} M cells/s  (min {min(times) * 1e3:.1f}, "
          f"max {max(times) * 1e3:.1f})")
    return middle


def main():
    text = table()
    with tempfile.TemporaryDirectory() as folder:
        paths = [os.path.join(folder, name) for name in ("suite.yaml", "feeds.yaml", "table.csv")]
        for path, what in zip(paths, (SUITE, "".join(feeds()), text)):
            with open(path, "w", encoding="utf-8") as file:
                file.write(what)
        ours, cells, values = [], [], []
        for _ in range(RUNS):  # in turn, so that a busy machine is busy for all
            run = subprocess.run([sys.argv[1], *paths, "1"], capture_output=True, text=True, check=True)
            first, answer = run.stdout.strip().split("\n")
            ours.append(float(first))
            cells.append(timed(by_csv_cells, text)[0])
            seconds, theirs = timed(by_csv_values, text)
            values.append(seconds)
    count, total = answer.split()
    print(f"{MINUTES} rows of {COLUMNS} columns, {len(text) / 1e6:.1f} MB, {RUNS} runs each, medians")
    mine = row("feed_table: values with time", ours, len(text))
    plain = row("Python csv: cells alone", cells, len(text))
    full = row("Python csv: values with time", values, len(text))
    print(f"feed_table is {plain / mine:.2f} times as fast as Python's csv for cells alone, "
          f"{full / mine:.1f} times for the same work")
    if int(count) != theirs[0] or abs(float(total) - theirs[1]) > 1e-9 * abs(theirs[1]):
        print(f"they differ: {count} values, {total}; Python {theirs[0]}, {theirs[1]}")
        return 1
    return 0


sys.exit(main())
