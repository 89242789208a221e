"""Days to remember as an iCalendar file."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta


@dataclass(frozen=True, slots=True)
class Day:
    """A whole day with a title and a few lines. ``uid`` stays the same when the day is written again."""

    uid: str
    on: date
    title: str
    words: str = ""


def calendar_text(days: Iterable[Day], made_on: date) -> str:
    """An iCalendar object with one event for each day, all-day and not busy.

    Source: RFC 5545: lines end in CR LF and are folded at 75 octets (3.1), text is escaped (3.3.11), an
    all-day event has DATE values and ends on the next day (3.6.1), UID and DTSTAMP are required.
    """
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//underoak//underoak//EN", "CALSCALE:GREGORIAN"]
    for day in sorted(days, key=lambda each: (each.on, each.uid)):
        lines += [
            "BEGIN:VEVENT",
            f"UID:{_escaped(day.uid)}",
            f"DTSTAMP:{made_on:%Y%m%d}T000000Z",
            f"DTSTART;VALUE=DATE:{day.on:%Y%m%d}",
            f"DTEND;VALUE=DATE:{day.on + timedelta(days=1):%Y%m%d}",
            f"SUMMARY:{_escaped(day.title)}",
            *([f"DESCRIPTION:{_escaped(day.words)}"] if day.words else []),
            "TRANSP:TRANSPARENT",
            "END:VEVENT",
        ]
    return "".join(f"{_folded(line)}\r\n" for line in [*lines, "END:VCALENDAR"])


def _escaped(text: str) -> str:
    kept = "".join(c for c in text if c == "\n" or c >= " ")
    for sign, written in (("\\", "\\\\"), (";", "\\;"), (",", "\\,"), ("\n", "\\n")):
        kept = kept.replace(sign, written)
    return kept


def _folded(line: str) -> str:
    """The line in pieces of at most 75 octets, never cut inside a letter."""
    pieces, piece, size = [], "", 0
    for letter in line:
        octets = len(letter.encode())
        if size + octets > 75:
            pieces.append(piece)
            piece, size = " ", 1
        piece += letter
        size += octets
    return "\r\n".join([*pieces, piece])
