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
        }
        for one in read.walk("VEVENT")
    ]
    return {"version": str(read["VERSION"]), "errors": [str(one) for one in read.errors], "events": events}


def table(text):
    return list(csv.reader(io.StringIO(text, newline=""), strict=True))


kind = {"calendar": calendar, "table": table}[sys.argv[1]]
print(json.dumps(kind(sys.stdin.buffer.read().decode())))
