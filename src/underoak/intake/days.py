"""Days as people write them, and the mistakes they make."""

from __future__ import annotations

import re
from datetime import date

from underoak.model.problem import Problem

#: No household's notes are older.
EARLIEST = date(1950, 1, 1)
_SLASHED = re.compile(r"\d{1,4}[./]\d{1,2}[./]\d{1,4}$")


def parse_day(text: str, where: str, today: date) -> date | Problem:
    """The day written YYYY-MM-DD, or what is wrong with it: another order, no such day, the future."""
    expected = "a day written YYYY-MM-DD"
    if not re.fullmatch(r"\d{4}-\d{2}-\d{2}", text):
        what = (
            f"{text!r} can be read in more than one order" if _SLASHED.match(text) else f"{text!r} is no day"
        )
        return Problem(what, where, expected)
    try:
        day = date.fromisoformat(text)
    except ValueError:
        return Problem(f"{text} is not in the calendar", where, expected, "check month and day")
    if day > today:
        return Problem(f"{day} lies in the future", where, f"a day up to {today}", "check the year")
    if day < EARLIEST:
        return Problem(f"{day} is too long ago", where, f"a day from {EARLIEST} on", "check the year")
    return day
