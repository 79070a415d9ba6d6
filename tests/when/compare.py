#!/usr/bin/env python3
"""usage: compare.py ANSWERS      local time against Python's zoneinfo, on the machine's own zones

Two readers of the same files that share no code: every zone at moments spread over centuries, and
the seconds around each change of offset, in both directions.  Prints "N compared, N differ".
"""
import datetime
import random
import subprocess
import sys
import zoneinfo

EPOCH = datetime.datetime(1970, 1, 1)
UTC = datetime.timezone.utc
SECOND = datetime.timedelta(seconds=1)
# Looked at closely: north, south, half and quarter hours, half an hour of summer time, summer time
# counted backwards, a day left out, Ramadan, two changes of the base.
CLOSELY = ("Europe/Paris", "Europe/London", "Europe/Dublin", "America/New_York", "America/St_Johns",
           "America/Santiago", "Australia/Adelaide", "Australia/Lord_Howe", "Asia/Kolkata",
           "Asia/Kathmandu", "Pacific/Chatham", "Pacific/Apia", "Africa/Casablanca", "Asia/Gaza",
           "America/Caracas", "Asia/Pyongyang", "Antarctica/Troll", "Europe/Lisbon", "America/Nuuk",
           "Africa/Cairo", "Asia/Tehran", "America/Sao_Paulo", "Pacific/Auckland", "Etc/GMT+12")


def naive_utc(seconds):
    return EPOCH + datetime.timedelta(seconds=seconds)


def local_at(zone, seconds):
    return naive_utc(seconds).replace(tzinfo=UTC).astimezone(zone)


def offset_at(zone, seconds):
    return int(local_at(zone, seconds).utcoffset().total_seconds())


def time_line(zone, seconds):
    t = local_at(zone, seconds)
    offset = int(t.utcoffset().total_seconds())
    return f"{t.year} {t.month} {t.day} {t.hour} {t.minute} {t.second} {offset} {t.weekday()}"


def moments_line(zone, local):
    found = set()
    for fold in (0, 1):
        seconds = (local - local.replace(tzinfo=zone, fold=fold).utcoffset() - EPOCH) // SECOND
        if local_at(zone, seconds).replace(tzinfo=None) == local:
            found.add(seconds)
    word = ("never", "once", "twice")[len(found)]
    return " ".join([word] + [str(s * 1000) for s in sorted(found)])


def changes(zone, begin, end):
    """Seconds at which the offset changes: found day by day, then by halving."""
    at = begin
    while at < end:
        after = at + 86400
        if offset_at(zone, at) != offset_at(zone, after):
            low, high = at, after
            while high - low > 1:
                middle = (low + high) // 2
                if offset_at(zone, middle) == offset_at(zone, low):
                    low = middle
                else:
                    high = middle
            yield high
        at = after


def bytes_of(name):
    for folder in zoneinfo.TZPATH:
        try:
            with open(f"{folder}/{name}", "rb") as file:
                return file.read()
        except OSError:
            continue
    return None


def questions(name, zone, rng):
    """(line to ask, line expected)"""
    year = 31556952
    for _ in range(60):
        s = rng.randrange(-60 * year, 530 * year)
        yield f"T{s * 1000}", time_line(zone, s)
        local = naive_utc(s).replace(microsecond=0)
        yield (f"L{local.year} {local.month} {local.day} {local.hour} {local.minute} {local.second}",
               moments_line(zone, local))
    spans = [(2026, 2027)] if name not in CLOSELY else [(1915, 1919), (1975, 2046), (2399, 2401), (9990, 9992)]
    for first, last in spans:
        begin = (datetime.datetime(first, 1, 1) - EPOCH) // SECOND
        end = (datetime.datetime(last, 1, 1) - EPOCH) // SECOND
        for change in changes(zone, begin, end):
            for s in (change - 1, change):
                yield f"T{s * 1000}", time_line(zone, s)
            before, after = offset_at(zone, change - 1), offset_at(zone, change)
            for offset in (before, after):
                for shift in (-1, 0, 1, 1799, 3599, 3600):
                    local = naive_utc(change + offset + shift)
                    yield (f"L{local.year} {local.month} {local.day} {local.hour} {local.minute} "
                           f"{local.second}", moments_line(zone, local))


def main():
    rng = random.Random(20261025)
    asked, wanted = [], []
    for name in sorted(zoneinfo.available_timezones()):
        data = bytes_of(name)
        if data is None or name.startswith("right/"):
            continue
        zone = zoneinfo.ZoneInfo(name)
        asked.append(f"Z {name} {data.hex()}")
        wanted.append(None)
        for question, answer in questions(name, zone, rng):
            asked.append(question)
            wanted.append((name, question, answer))
    run = subprocess.run(sys.argv[1:], input="\n".join(asked) + "\n", capture_output=True, text=True,
                         check=False)
    said = run.stdout.split("\n")[:-1]
    wanted = [w for w in wanted if w]
    differ = [f"{w[0]} {w[1]}: {got}, zoneinfo {w[2]}" for w, got in zip(wanted, said) if got != w[2]]
    zones = len({w[0] for w in wanted})
    if run.returncode or len(said) != len(wanted):
        print(f"{len(wanted)} asked, {len(said)} answered: {run.stderr.strip()}")
        return 1
    print("\n".join(differ[:40]))
    print(f"{zones} zones, {len(wanted)} compared, {len(differ)} differ")
    return 1 if differ or len(wanted) < 10000 else 0


sys.exit(main())
