#!/usr/bin/env python3
"""usage: verify.py FILE      walks the chain of entries by the words of src/record/record.h alone

Shares nothing with the program: Python's sqlite3 and hashlib.  Prints "entry N, HASH" of the head and
exits 0, or names the first entry that is not what was written and exits 1.
"""
import hashlib
import sqlite3
import sys


def sized(text):
    data = text.encode("utf-8")
    return len(data).to_bytes(4, "big") + data


def main():
    db = sqlite3.connect(f"file:{sys.argv[1]}?mode=ro", uri=True)
    number, head = 0, bytes(32)
    named = any(column[1] == "suite" for column in db.execute("PRAGMA table_info(entry)"))
    rows = db.execute("SELECT number, t, written, kind, about, who, text, detail, before, hash, "
                      + ("suite" if named else "''") + " FROM entry ORDER BY number")
    for row in rows:
        data = (b"inward entry 2\0" if row[10] else b"inward entry 1\0") + head
        for value in row[:3]:
            data += value.to_bytes(8, "big", signed=True)
        for text in row[3:8]:
            data += sized(text)
        if row[10]:
            data += sized(row[10])
        wanted = hashlib.sha256(data).digest()
        if row[0] != number + 1 or row[8] != head or row[9] != wanted:
            print(f"entry {row[0]} is not what was written")
            sys.exit(1)
        number, head = row[0], wanted
    print(f"entry {number}, {head.hex()}")


main()
