"""The household's own calendar by RFC 5545, read by others."""

from __future__ import annotations

from datetime import date

import pytest

from underoak.export.icalendar import Day, calendar_text

DAYS = [
    Day("walk-2026-10-10@x", date(2026, 10, 10), "Walk planned"),
    Day("b@x", date(2026, 10, 9), "Pilze, getrocknet; 3 Gläser \\ ünd " + "ä" * 90, "one\ntwo"),
]


def test_lines_are_folded_at_75_octets_and_end_in_crlf() -> None:
    data = calendar_text(DAYS, date(2026, 10, 1)).encode()
    assert data.count(b"\n") == data.count(b"\r\n")
    assert max(len(line) for line in data.split(b"\r\n")) <= 75
    for line in data.split(b"\r\n"):
        line.decode()  # no letter is cut in two


def test_another_reader_finds_the_same_days() -> None:
    """icalendar, a parser of RFC 5545 by others."""
    icalendar = pytest.importorskip("icalendar")
    calendar = icalendar.Calendar.from_ical(calendar_text(DAYS, date(2026, 10, 1)))
    events = calendar.walk("VEVENT")
    assert [str(event["SUMMARY"]) for event in events] == [DAYS[1].title, DAYS[0].title]
    assert str(events[0]["DESCRIPTION"]) == "one\ntwo"
    assert [event["DTSTART"].dt for event in events] == [date(2026, 10, 9), date(2026, 10, 10)]
    assert [event["DTEND"].dt for event in events] == [date(2026, 10, 10), date(2026, 10, 11)]
