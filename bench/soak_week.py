#!/usr/bin/env python3
"""usage: soak_week.py INWARD QUILLMERE [DAYS [SPEED]]      weeks of the demo suite in minutes, with bad company

The board replays day.csv of the folder QUILLMERE day after day into a record, SPEED times as fast or as
fast as it can judge every moment: one week to warm up, for the record's caches fill by then, and one that
counts.  Meanwhile FAST screens read everything, SLOW ones a little now and then, some come and go, people
write notes, and plots, entries and trials are asked for.  The board's memory (resident, of
/proc/PID/statm) is looked at all the time: the median of the last seventh of the second half may be at
most 2 MB or 5 % above that of its first, whichever is more (common practice, no source).  With fewer than
ten days only the rest counts: no stream ends, every view's number is above the one before, every note
that was acknowledged stands in the record once, and the record verifies.
"""
import datetime
import http.client
import json
import os
import re
import selectors
import signal
import socket
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import threading
import time

FAST, SLOW, PASSING = 20, 15, 3
GROWTH_MOST_MB, GROWTH_MOST_RATIO = 2.0, 0.05
SOURCE = "trend"


def write_week(day_path, week_path, days):
    """The rows of the day again and again, local times shifted; an hour that comes twice does so once."""
    with open(day_path, encoding="utf-8") as table:
        head, *rows = table.read().splitlines()
    shape, count = "%d.%m.%Y %H:%M", 0
    first = datetime.datetime.strptime(rows[0].split(";")[0], shape)
    end, last = first + datetime.timedelta(days=days), None
    with open(week_path, "w", encoding="utf-8") as out:
        out.write(head + "\n")
        for day in range(int(days) + 1):
            for row in rows:
                time_text, rest = row.split(";", 1)
                t = datetime.datetime.strptime(time_text, shape) + datetime.timedelta(days=day)
                if (day > 0 and last is not None and t <= last) or t > end:
                    continue
                last = t if last is None else max(last, t)
                out.write(f"{t.strftime(shape)};{rest}\n")
                count += 1
    return count, first, last


def ask_stream(port):
    s = socket.create_connection(("127.0.0.1", port), timeout=10)
    s.sendall(b"GET /api/stream HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n")
    return s


class Company(threading.Thread):
    """Everybody who looks: one thread, so that what is measured is the board."""

    def __init__(self, port):
        super().__init__(daemon=True)
        self.port, self.over, self.views, self.passed = port, False, 0, 0
        self.faults, self.now, self.last = [], "", {}
        self.select = selectors.DefaultSelector()

    def run(self):
        slow = [ask_stream(self.port) for _ in range(SLOW)]
        for i in range(FAST):
            s = ask_stream(self.port)
            s.setblocking(False)
            self.last[i] = 0
            self.select.register(s, selectors.EVENT_READ, i)
        next_slow = 0.0
        while not self.over:
            for key, _ in self.select.select(0.05):
                self.read_fast(key)
            if time.monotonic() >= next_slow:
                next_slow = time.monotonic() + 0.2
                self.read_slow(slow)
                self.pass_by()

    def read_fast(self, key):
        try:
            got = key.fileobj.recv(1 << 20)
        except BlockingIOError:
            return
        if not got:
            self.faults.append(f"the stream of screen {key.data} ended")
            self.select.unregister(key.fileobj)
            return
        for number in re.findall(rb"id: (\d+)\nevent: live\n", got):
            self.views += 1
            if int(number) <= self.last[key.data]:
                self.faults.append(f"screen {key.data} got view {int(number)} after {self.last[key.data]}")
            self.last[key.data] = int(number)
        if key.data == 0:
            moment = re.search(rb'"now": "([^"]+)"', got)
            self.now = moment.group(1).decode() if moment else self.now

    def read_slow(self, slow):
        for s in slow:
            if not s.recv(512):
                self.faults.append("a slow screen's stream ended")

    def pass_by(self):
        for i in range(PASSING):
            s = ask_stream(self.port)
            if i > 0:
                s.recv(100 * i)
            s.close()
            self.passed += 1


def ask(connection, method, path, body=None):
    connection.request(method, path, body, {"Content-Type": "application/json"} if body else {})
    answer = connection.getresponse()
    return answer.status, json.loads(answer.read())


def write_and_ask(port, i, notes, faults):
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=20)
    note = {"kind": "note", "about": "A1", "who": "soak (DEMO)", "text": f"note {i}"}
    status, answer = ask(connection, "POST", "/api/entry", json.dumps(note))
    if status == 200:
        notes[answer["number"]] = note["text"]
    else:
        faults.append(f"note {i}: {status} {answer}")
    for path in ("/api/entries?most=50", "/api/plot?point=A1-flow&most=200", f"/api/air?sash=S3=0.{10 + i % 30}m"):
        status, answer = ask(connection, "GET", path)
        if status != 200:
            faults.append(f"{path}: {status} {answer}")
    connection.close()


def resident_mb(pid):
    with open(f"/proc/{pid}/statm", encoding="ascii") as statm:
        return int(statm.read().split()[1]) * os.sysconf("SC_PAGE_SIZE") / 2**20


def judge_memory(samples, faults):
    """samples: (share of the weeks that is over, MB)"""
    parts = [[mb for share, mb in samples if i / 14 <= share < (i + 1) / 14] for i in range(14)]
    if not all(parts[:13]):
        faults.append("memory was looked at too rarely")
        return
    medians = [statistics.median(part) for part in parts if part]
    print("  memory by fourteenths: " + " ".join(f"{mb:.1f}" for mb in medians) + " MB")
    first, last = medians[7], medians[-1]
    most = max(GROWTH_MOST_MB, GROWTH_MOST_RATIO * first)
    print(f"  memory: {first:.1f} MB after the warm-up, {last:.1f} MB in the end, "
          f"{last - first:+.1f} MB; at most {most:+.1f} MB")
    if last - first > most:
        faults.append("the board's memory grows")


def look_at_record(inward, suite, path, notes, faults):
    found = dict(sqlite3.connect(f"file:{path}?mode=ro", uri=True).execute(
        "SELECT number, text FROM entry WHERE kind = (SELECT kind FROM entry WHERE number = ?)", (min(notes),)))
    for number, text in notes.items():
        if found.get(number) != text:
            faults.append(f"entry {number} was acknowledged and is not in the record")
    if len(set(found.values())) != len(found):
        faults.append("a note stands twice in the record")
    verify = subprocess.run([inward, "past", suite, "--record", path, "--verify"], capture_output=True, text=True,
                            check=False)
    if verify.returncode != 0:
        faults.append(f"the record does not verify: {verify.stdout}{verify.stderr}")


def share_gone(now, first, last):
    """Of the span of the table; local times, so UTC is up to two hours behind: only where samples belong."""
    if not now:
        return 0.0
    return (datetime.datetime.fromisoformat(now[:19]) - first) / (last - first)


def follow(board, port, span, patience_s):
    """Until the week is over; what was seen."""
    company, notes, faults, samples = Company(port), {}, [], []
    company.start()
    began, i = time.monotonic(), 0
    while share_gone(company.now, *span) < 1 - datetime.timedelta(hours=2) / (span[1] - span[0]):
        if board.poll() is not None or time.monotonic() - began > patience_s or not company.is_alive():
            faults.append(f"the board stopped or stood still at {company.now or 'the beginning'}")
            break
        samples.append((share_gone(company.now, *span), resident_mb(board.pid)))
        try:
            write_and_ask(port, i, notes, faults)
        except OSError as why:
            faults.append(f"question {i}: {why!r}")
        i += 1
        time.sleep(0.25)
    company.over = True
    company.join(10)
    return company, notes, faults + company.faults, samples


def main():
    inward, folder = os.path.abspath(sys.argv[1]), sys.argv[2]
    days = float(sys.argv[3]) if len(sys.argv) > 3 else 14.0
    speed = int(sys.argv[4]) if len(sys.argv) > 4 else 20000
    suite = os.path.join(folder, "suite.yaml")
    with tempfile.TemporaryDirectory() as work:
        week, record = os.path.join(work, "week.csv"), os.path.join(work, "record")
        rows, *span = write_week(os.path.join(folder, "day.csv"), week, days)
        board = subprocess.Popen([inward, "serve", suite, "--replay", week, "--source", SOURCE, "--speed", str(speed),
                                  "--record", record, "--port", "0"], stdout=subprocess.PIPE, text=True)
        port = int(re.search(r":(\d+)/", board.stdout.readline()).group(1))
        began = time.monotonic()
        try:
            company, notes, faults, samples = follow(board, port, span, 60 + 300 * days)
        finally:
            board.send_signal(signal.SIGTERM)
        if board.wait(30) != 0:
            faults.append(f"the board ended with {board.returncode}")
        print(f"soak: {days:g} days of {rows} rows in {time.monotonic() - began:.0f} s; {company.views} views to {FAST} "
              f"screens, {SLOW} slow ones, {company.passed} that came and went; {len(notes)} notes")
        if not company.views or not notes:
            faults.append("nothing was seen")
        else:
            look_at_record(inward, suite, record, notes, faults)
        if days >= 10:
            judge_memory(samples, faults)
    for fault in faults[:20]:
        print(f"  FAULT: {fault}")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
