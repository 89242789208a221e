"""What people noted of a find in its note: side of the trunk, shade, colour, age.

A note may hold marked facts, such as ``side: NE; shade: deep; colour: brown; age: young``, beside any
other words. Only what is marked like that counts; nothing is guessed from free text.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

#: Shade as noted, from none to most.
SHADES = ("open", "half", "deep")
#: Age as noted and as the vetting asks for it, from first to last.
AGES = ("button", "young", "mature", "old")
#: Colours from pale to dark; others are taken as they are and have no order.
DARKNESS: Mapping[str, int] = {
    "white": 0, "pale": 1, "cream": 1, "light": 1, "yellow": 1, "tan": 2, "grey": 2, "gray": 2, "orange": 2,
    "brown": 3, "dark": 4, "black": 4,
}  # fmt: skip
#: What a marked fact may say, for messages.
FACTS_EXPECTED = (
    "side: a compass point or degrees; shade: open, half or deep; age: button, young, mature or old; "
    "colour: a word"
)
_POINTS = ("N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE", "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW")
_WORDS = {"north": "N", "east": "E", "south": "S", "west": "W", "northeast": "NE", "southeast": "SE",
          "southwest": "SW", "northwest": "NW"}  # fmt: skip
_FACT = re.compile(r"\b(side|shade|colour|color|age)\s*[:=]\s*([^;,\n]+)", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Noted:
    """Marked facts of one note; None where there is none. ``unread`` holds those that make no sense."""

    side_deg: float | None = None
    shade: str | None = None
    colour: str | None = None
    age: str | None = None
    unread: tuple[str, ...] = ()


@lru_cache(maxsize=8192)
def noted(note: str) -> Noted:
    """The marked facts of a note.

    ``side`` is a compass point of sixteen, one of its four or eight words, or degrees from 0 to 360
    clockwise from north; ``shade`` one of `SHADES`, ``age`` one of `AGES`, ``colour`` any word.

    Example
    -------
    >>> noted("under the fork; side: NE; shade: deep").side_deg
    45.0
    """
    side, shade, colour, age, unread = None, None, None, None, []
    for key, raw in _FACT.findall(note):
        value = raw.strip().casefold()
        if key.casefold() == "side" and (degrees := _degrees(value)) is not None:
            side = degrees
        elif key.casefold() == "shade" and value in SHADES:
            shade = value
        elif key.casefold() == "age" and value in AGES:
            age = value
        elif key.casefold() in ("colour", "color") and re.fullmatch(r"[a-z][a-z -]*", value):
            colour = "grey" if value == "gray" else value
        else:
            unread.append(f"{key}: {raw.strip()}")
    return Noted(side, shade, colour, age, tuple(unread))


def _degrees(value: str) -> float | None:
    point = _WORDS.get(re.sub(r"[ -]", "", value), value.upper())
    if point in _POINTS:
        return 22.5 * _POINTS.index(point)
    if re.fullmatch(r"\d{1,3}(\.\d+)?\s*(°|deg)?", value):
        degrees = float(re.sub(r"[^\d.]", "", value))
        return degrees % 360.0 if degrees <= 360.0 else None
    return None


def compass_point(bearing_deg: float) -> str:
    """The nearest of eight compass points."""
    return _POINTS[::2][round(bearing_deg / 45.0) % 8]
