"""Reads a calendar or a table from standard input with Python's own readers and prints what they understood as JSON."""

import csv
import io
import json
import sys

import icalendar


def calendar(text):
    read = icalendar.Calendar.from_ical(text)
    events = [
        {
            "uid": str(one["UID"]),
            "summary": str(one["SUMMARY"]),
            "start": one["DTSTART"].dt.isoformat(),
            "end": one["DTEND"].dt.isoformat(),
            "stamped": one["DTSTAMP"].dt.isoformat() if "DTSTAMP" in one else None,
            "changed": one["LAST-MODIFIED"].dt.isoformat() if "LAST-MODIFIED" in one else None,
            "sequence": one.get("SEQUENCE"),
            "transparent": str(one.get("TRANSP", "")),
        }
        for one in read.walk("VEVENT")
    ]
    return {"version": str(read["VERSION"]), "name": str(read.get("NAME", "")), "errors": [str(one) for one in read.errors], "events": events}


def table(text):
    return list(csv.reader(io.StringIO(text, newline=""), strict=True))


kind = {"calendar": calendar, "table": table}[sys.argv[1]]
print(json.dumps(kind(sys.stdin.buffer.read().decode())))
