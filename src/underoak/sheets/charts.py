"""Two pictures of the outlook as SVG text: a fan over the coming days and a strip over the season.

Both carry a title and a description for those who cannot see them, use no colour alone for a meaning,
and are the same text for the same numbers.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil
from xml.sax.saxutils import escape

_FONT = "font-family='system-ui, sans-serif' font-size='11'"
_INK, _SOFT, _FAN, _LINE = "#22201b", "#5a554a", "#b9c8a8", "#3d5a2a"
_LEFT, _RIGHT, _TOP, _BOTTOM = 44, 12, 26, 34


@dataclass(frozen=True, slots=True)
class Mark:
    """A day to point out on a strip, with one letter above it and its meaning in words."""

    day: date
    letter: str
    words: str


def fan_chart(
    title: str,
    days: Sequence[date],
    middle: Sequence[float],
    low: Sequence[float],
    high: Sequence[float],
    *,
    width: int = 420,
    height: int = 180,
) -> str:
    """SVG of a chance over some days, with its 90 % range as a band.

    Parameters
    ----------
    title : what the chance is of
    days, middle, low, high : equal lengths, at least one; chances 0 to 1, low <= middle <= high
    width, height : px

    Raises
    ------
    ValueError   when lengths differ or are zero
    """
    if not days or not len(days) == len(middle) == len(low) == len(high):
        raise ValueError("days, middle, low and high must be of one length, at least one")
    top = _round_up(max(high))
    frame = _Frame(width, height, len(days), top)
    band = [frame.point(n, value) for n, value in enumerate(high)]
    band += [frame.point(n, low[n]) for n in reversed(range(len(days)))]
    line = [frame.point(n, value) for n, value in enumerate(middle)]
    best = max(range(len(days)), key=lambda n: middle[n])
    said = (
        f"Chance from {days[0]:%d %b %Y} to {days[-1]:%d %b %Y}: highest on {days[best]:%a %d %b} with "
        f"{_percent(middle[best])}, nine times in ten between {_percent(low[best])} and "
        f"{_percent(high[best])}."
    )
    parts = [
        *_opening(title, said, width, height),
        *frame.grid(),
        f"<polygon points='{' '.join(band)}' fill='{_FAN}' stroke='none'/>",
        f"<polyline points='{' '.join(line)}' fill='none' stroke='{_LINE}' stroke-width='2'/>",
        *[f"<circle cx='{p.split(',')[0]}' cy='{p.split(',')[1]}' r='2.5' fill='{_LINE}'/>" for p in line],
        *[frame.label(n, f"{day:%a}", f"{day.day}") for n, day in enumerate(days)],
        "</svg>",
    ]
    return "\n".join(parts) + "\n"


def season_strip(
    title: str,
    first_day: date,
    chances: Sequence[float],
    *,
    marks: Sequence[Mark] = (),
    width: int = 640,
    height: int = 130,
) -> str:
    """SVG of a chance over a season, cut to the days on which it is at least a hundredth of its top.

    Parameters
    ----------
    title : what the chance is of
    first_day, chances : one chance (0 to 1) for each day from ``first_day`` on, at least one
    marks : days to point out, such as today, visits and finds; those outside the strip are left out

    Raises
    ------
    ValueError   without a single chance
    """
    if not chances:
        raise ValueError("a strip needs at least one day")
    peak = max(range(len(chances)), key=lambda n: chances[n])
    shown = [n for n, chance in enumerate(chances) if chance >= chances[peak] / 100.0]
    start, stop = shown[0], shown[-1] + 1
    days = [first_day + timedelta(days=n) for n in range(start, stop)]
    frame = _Frame(width, height, len(days), _round_up(chances[peak]))
    bars = [frame.bar(n, chances[start + n]) for n in range(len(days))]
    at = {day: n for n, day in enumerate(days)}
    here = [mark for mark in marks if mark.day in at]
    said = f"Highest on {days[peak - start]:%d %b %Y} with {_percent(chances[peak])}."
    said += "".join(f" {mark.letter}: {mark.words}, {mark.day:%d %b}." for mark in here)
    parts = [
        *_opening(title, said, width, height),
        *frame.grid(),
        f"<path d='{' '.join(bars)}' fill='{_LINE}'/>",
        *[frame.mark(at[mark.day], mark.letter) for mark in here],
        *[frame.label(n, f"{day:%b}", "1") for n, day in enumerate(days) if day.day == 1],
        "</svg>",
    ]
    return "\n".join(parts) + "\n"


@dataclass(frozen=True, slots=True)
class _Frame:
    """The plotting area: ``count`` days side by side, 0 to ``top`` upward."""

    width: int
    height: int
    count: int
    top: float

    @property
    def step(self) -> float:
        return (self.width - _LEFT - _RIGHT) / self.count

    def x(self, n: int) -> float:
        return _LEFT + (n + 0.5) * self.step

    def y(self, value: float) -> float:
        return self.height - _BOTTOM - value / self.top * (self.height - _TOP - _BOTTOM)

    def point(self, n: int, value: float) -> str:
        return f"{self.x(n):.1f},{self.y(value):.1f}"

    def bar(self, n: int, value: float) -> str:
        left = self.x(n) - 0.45 * self.step
        return f"M{left:.1f} {self.y(0):.1f}V{self.y(value):.1f}h{0.9 * self.step:.1f}V{self.y(0):.1f}z"

    def grid(self) -> list[str]:
        lines = []
        for share in (0.0, 0.5, 1.0):
            value = share * self.top
            y = self.y(value)
            lines.append(
                f"<line x1='{_LEFT}' x2='{self.width - _RIGHT}' y1='{y:.1f}' y2='{y:.1f}' "
                f"stroke='{_SOFT}' stroke-width='0.5'/>"
            )
            lines.append(
                f"<text x='{_LEFT - 4}' y='{y + 4:.1f}' text-anchor='end' fill='{_SOFT}'>"
                f"{_percent(value)}</text>"
            )
        return lines

    def label(self, n: int, upper: str, lower: str) -> str:
        middle = f"x='{self.x(n):.1f}' text-anchor='middle' fill='{_INK}'"
        return (
            f"<text {middle} y='{self.height - 20}'>{escape(upper)}</text>"
            f"<text {middle} y='{self.height - 7}'>{escape(lower)}</text>"
        )

    def mark(self, n: int, letter: str) -> str:
        x = self.x(n)
        return (
            f"<line x1='{x:.1f}' x2='{x:.1f}' y1='{_TOP}' y2='{self.y(0):.1f}' stroke='{_INK}' "
            f"stroke-dasharray='2 2'/>"
            f"<text x='{x:.1f}' y='{_TOP - 2}' text-anchor='middle' fill='{_INK}'>{escape(letter)}</text>"
        )


def _opening(title: str, said: str, width: int, height: int) -> list[str]:
    return [
        f"<svg xmlns='http://www.w3.org/2000/svg' width='{width}' height='{height}' "
        f"viewBox='0 0 {width} {height}' role='img' {_FONT}>",
        f"<title>{escape(title)}</title>",
        f"<desc>{escape(said)}</desc>",
        f"<text x='{_LEFT}' y='13' fill='{_INK}' font-weight='bold'>{escape(title)}</text>",
    ]


def _round_up(value: float) -> float:
    """The next of 2 %, 5 %, 10 %, then full tens, above a chance."""
    for step in (0.02, 0.05, 0.1):
        if value <= step:
            return step
    return min(1.0, ceil(value * 10.0 - 1e-9) / 10.0)


def _percent(chance: float) -> str:
    return f"{100.0 * chance:.0f} %" if chance >= 0.095 or chance == 0.0 else f"{100.0 * chance:.1f} %"
