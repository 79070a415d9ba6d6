"""usage: crash_sources.py INWARD NODE DEVICE MODBUS VERIFY      kill -9 of a broker, two devices and the board

A board follows three sources that are not ours (mosquitto, pymodbus, the npm package node-bacnet: see the
scripts handed in) and keeps a record, while somebody writes notes into it.  What must hold:

- a source that was killed makes what it says not known, by name, within its `old after` and a little, and
  nothing else; started again, it is found and its values count again;
- a note that was acknowledged is in the record, once, whatever was killed, the board included;
- what a source says and nobody can take is told in the record;
- of the broker nothing is in the record that was not published at that moment;
- the chain is whole by another program's reading (VERIFY), and so is SQLite's file.
"""
import http.client
import json
import os
import re
import signal
import socket
import sqlite3
import subprocess
import sys
import tempfile
import threading
import time

INWARD, NODE, DEVICE, MODBUS, VERIFY = sys.argv[1:6]
OLD_AFTER_S, SLACK_S, INSTANCE, PATIENCE_S = 4, 6, 20417, 40  # slack: for a machine with much else to do
passed = failed = 0

SUITE = """inward: 1 suite
name: Crash test
label: DEMO
files: {feeds: feeds.yaml}
rooms: {Etch: {}}
mains: {Acid: {capacity: {value: 3000 m3/h}}}
stations:
  A1: {kind: fume hood, room: Etch, main: Acid, flow: {two-state: {parked: 300 m3/h, work: 1100 m3/h}}}
  A2: {kind: fume hood, room: Etch, main: Acid, flow: {two-state: {parked: 300 m3/h, work: 1100 m3/h}}}
  A3: {kind: fume hood, room: Etch, main: Acid, flow: {two-state: {parked: 300 m3/h, work: 1100 m3/h}}}
"""
FEEDS = """inward: 1 feeds
sources:
  bus: {old after: %d s, mqtt: {host: 127.0.0.1, port: %d}}
  panel: {every: 0.5 s, old after: %d s, modbus: {host: 127.0.0.1, port: %d, unit: 1}}
  bms: {every: 0.5 s, old after: %d s, bacnet: {host: 127.0.0.1, port: %d, device: %d}}
points:
  a1: {of: A1, what: opening, from: bus, at: demo/a1, field: v, time field: t, unit: m, resolution: 1 mm}
  a2: {of: A2, what: opening, from: panel, at: 40001, as: u16, unit: mm}
  a3: {of: A3, what: opening, from: bms, at: analog-input 31, unit: m}
"""


def check(what, good, more=""):
    global passed, failed
    passed, failed = passed + bool(good), failed + (not good)
    if not good:
        print(f"FAIL {what}{': ' if more else ''}{more}")


def free_port(kind):
    with socket.socket(socket.AF_INET, kind) as s:
        s.bind(("127.0.0.1", 0))
        return s.getsockname()[1]


def until(what, so):
    """Waits until it is so; what it gave."""
    end = time.monotonic() + PATIENCE_S
    while time.monotonic() < end:
        try:
            found = so()
        except (OSError, http.client.HTTPException):
            found = None
        if found:
            return found
        time.sleep(0.05)
    check(what, False, "it did not come to be")
    return None


def answers(port):
    with socket.create_connection(("127.0.0.1", port), timeout=1):
        return True


# ---- others ----


class Peers:
    def __init__(self, work):
        self.work, self.running = work, {}
        self.broker_port, self.modbus_port = free_port(socket.SOCK_STREAM), free_port(socket.SOCK_STREAM)
        self.bacnet_port = free_port(socket.SOCK_DGRAM)
        with open(os.path.join(work, "broker.conf"), "w", encoding="ascii") as conf:
            conf.write(f"listener {self.broker_port} 127.0.0.1\nuser root\nallow_anonymous true\n")

    def start(self, name):
        argv = {"bus": ["mosquitto", "-c", os.path.join(self.work, "broker.conf")],
                "panel": ["/usr/bin/python3", MODBUS, str(self.modbus_port)],
                "bms": [NODE, DEVICE, str(self.bacnet_port), str(INSTANCE), "127.0.0.1"]}[name]
        self.running[name] = peer = subprocess.Popen(argv, stdin=subprocess.PIPE, stdout=subprocess.PIPE,
                                                     stderr=subprocess.DEVNULL, text=True)
        if name == "bms":
            peer.stdout.readline()
            for command in ("set 0 31 85 4 0.05", "set 0 31 111 8 0", "set 0 31 117 9 31"):  # 31: metres
                peer.stdin.write(command + "\n")
                peer.stdin.flush()
                peer.stdout.readline()
        else:
            until(f"{name} starts", lambda: answers(self.broker_port if name == "bus" else self.modbus_port))

    def kill(self, *names):
        for name in names:
            self.running[name].kill()
            self.running.pop(name).wait()


def publish(port, text):
    subprocess.run(["mosquitto_pub", "-h", "127.0.0.1", "-p", str(port), "-t", "demo/a1", "-q", "1", "-m", text],
                   stderr=subprocess.DEVNULL, check=False)


class Publisher(threading.Thread):
    """A value a second, each with its moment; what was said."""

    def __init__(self, port):
        super().__init__(daemon=True)
        self.port, self.over, self.said = port, False, {}

    def run(self):
        i = 0
        while not self.over:
            t, mm = int(time.time()), 100 + i % 400
            if t not in self.said:
                self.said[t] = mm
                publish(self.port, json.dumps({"v": mm / 1000, "t": t}))
                i += 1
            time.sleep(0.1)


# ---- the board ----


class Board:
    def __init__(self, work):
        self.record, self.suite = os.path.join(work, "record"), os.path.join(work, "suite.yaml")
        self.process, self.port = None, 0

    def start(self):
        self.process = subprocess.Popen([INWARD, "serve", self.suite, "--record", self.record, "--port", "0"],
                                        stdout=subprocess.PIPE, text=True)
        self.port = int(re.search(r":(\d+)/", self.process.stdout.readline()).group(1))

    def ask(self, method, path, body=None):
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=5)
        connection.request(method, path, body, {"Content-Type": "application/json"} if body else {})
        answer = connection.getresponse()
        found = answer.status, json.loads(answer.read())
        connection.close()
        return found

    def view(self):
        status, view = self.ask("GET", "/api/live")
        return view if status == 200 else None

    def knows_all(self):
        view = self.view()
        return view if view and view["state"] != "not_known" else None

    def knows_not(self, *stations):
        view = self.view()
        if not view or view["state"] != "not_known":
            return None
        return view if all(any(gap["about"] == s for gap in view["not_known"]) for s in stations) else None

    def connected(self, name):
        return next(s["connected"] for s in self.view()["sources"] if s["id"] == name)


class Writer(threading.Thread):
    """Writes notes whenever the board is there; keeps what was acknowledged."""

    def __init__(self, board):
        super().__init__(daemon=True)
        self.board, self.over, self.kept, self.tried = board, False, {}, 0

    def run(self):
        while not self.over:
            self.tried += 1
            text = f"note {self.tried}"
            note = {"kind": "note", "about": "A1", "who": "crash test", "text": text}
            try:
                status, answer = self.board.ask("POST", "/api/entry", json.dumps(note))
                if status == 200:
                    self.kept[answer["number"]] = text
            except (OSError, http.client.HTTPException):
                time.sleep(0.02)


# ---- what happens ----


def kill_and_start(peers, board, names, stations, others):
    began = time.monotonic()
    peers.kill(*names)
    view = until(f"{names}: what it says is not known", lambda: board.knows_not(*stations))
    check(f"{names}: noticed in time", time.monotonic() - began < OLD_AFTER_S + SLACK_S)
    if view:
        check(f"{names}: no number is shown", view["act"] == "NOT KNOWN: TREAT AS NO" and view["air"] is None, view["act"])
        check(f"{names}: the others are known",
              not any(gap["about"] in others for gap in view["not_known"]), str(view["not_known"]))
        until(f"{names}: told as lost", lambda: not any(board.connected(name) for name in names))
    for name in names:
        peers.start(name)
    until(f"{names}: found again", board.knows_all)


def kill_board(board):
    board.process.send_signal(signal.SIGKILL)
    board.process.wait()
    board.start()
    until("the board, killed and started again, knows all", board.knows_all)


def told_of(db, name):
    return [row[0] for row in db.execute("SELECT text FROM entry WHERE about = ? ORDER BY number", (name,))]


def look_at_record(board, writer, publisher):
    db = sqlite3.connect(f"file:{board.record}?mode=ro", uri=True)
    notes = dict(db.execute("SELECT number, text FROM entry WHERE text LIKE 'note %'"))
    lost = [n for n, text in writer.kept.items() if notes.get(n) != text]
    check("no acknowledged note is lost", not lost and len(writer.kept) > 20, f"{lost} of {len(writer.kept)}")
    check("no note stands twice", len(set(notes.values())) == len(notes))
    samples = dict(db.execute("SELECT s.t, s.v FROM sample s JOIN series USING(series) WHERE point = 'a1' AND q = 0"))
    wrong = {t: v for t, v in samples.items() if t % 1000 or publisher.said.get(t // 1000) != v}
    check("nothing of the broker's was invented or moved", len(samples) > 3 and not wrong, str(wrong)[:200])
    for name in ("bus", "panel", "bms"):
        told = told_of(db, name)
        turns = [" is lost" in text for text in told if " is lost" in text or " is connected" in text]
        check(f"{name}: a loss and a return are told, and no loss twice",
              True in turns and False in turns and not any(a and b for a, b in zip(turns, turns[1:])), str(told))
    check("what could not be taken is told once", sum("not taken, the last: " in t for t in told_of(db, "bus")) == 1,
          str(told_of(db, "bus")))
    check("SQLite finds its file whole", db.execute("PRAGMA integrity_check").fetchone() == ("ok",))
    db.close()
    for argv in ([INWARD, "past", board.suite, "--record", board.record, "--verify"],
                 ["/usr/bin/python3", VERIFY, board.record]):
        done = subprocess.run(argv, capture_output=True, text=True, check=False)
        check(f"{os.path.basename(argv[1])} verifies the record", done.returncode == 0, done.stdout + done.stderr)


def run(work):
    peers, board = Peers(work), Board(work)
    for name, text in (("suite", SUITE), ("feeds", FEEDS % (OLD_AFTER_S, peers.broker_port, OLD_AFTER_S,
                                                            peers.modbus_port, OLD_AFTER_S, peers.bacnet_port, INSTANCE))):
        with open(os.path.join(work, f"{name}.yaml"), "w", encoding="ascii") as out:
            out.write(text)
    for name in ("bus", "panel", "bms"):
        peers.start(name)
    publisher, writer = Publisher(peers.broker_port), Writer(board)
    try:
        board.start()
        publisher.start()
        writer.start()
        until("all is known", board.knows_all)
        publish(peers.broker_port, "{")
        kill_and_start(peers, board, ("bus",), ("A1",), ("A2", "A3"))
        kill_and_start(peers, board, ("panel", "bms"), ("A2", "A3"), ("A1",))
        kill_board(board)
        writer.over = publisher.over = True
        writer.join(10)
        publisher.join(10)
        board.process.send_signal(signal.SIGTERM)
        status = board.process.wait(20)
        check("the board stops as asked", status == 0, f"it ended with {status}")
        look_at_record(board, writer, publisher)
        print(f"     {len(writer.kept)} notes acknowledged of {writer.tried} tried")
    finally:
        for process in [board.process, *peers.running.values()]:
            if process and process.poll() is None:
                process.kill()


with tempfile.TemporaryDirectory() as folder:
    run(folder)
print(f"{passed} passed, {failed} failed")
sys.exit(failed > 0 or passed == 0)
