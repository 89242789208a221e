"""Pictures of the review as SVG text: rates with whiskers, trees over the years, sides of the trunk.

Black on white with shapes and hatching, so that they print; each has a title and a description, and the
same numbers give the same text.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from xml.sax.saxutils import escape

from underoak.model.quantities import percent

_INK, _SOFT = "#1d1b18", "#6a655c"
_WIDTH, _LEFT, _ROW = 680, 270, 24
_HATCH = (
    "<defs><pattern id='before' width='6' height='6' patternUnits='userSpaceOnUse' "
    "patternTransform='rotate(45)'><line x1='0' y1='0' x2='0' y2='6' stroke='#1d1b18'/></pattern></defs>"
)


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar: its name, value and interval, and the value of the year before (None: no record)."""

    name: str
    value: float
    low: float | None
    high: float | None
    before: float | None


def rate_bars(title: str, unit: str, bars: Sequence[Bar]) -> str:
    """SVG of bars with 95 % whiskers; hatched below each the year before. ValueError without a bar.

    A whisker that runs out of the picture ends in an arrow head: the scale follows the bars.
    """
    if not bars:
        raise ValueError("a picture of rates needs a bar")
    top = 1.6 * max(max(bar.value, bar.before or 0.0) for bar in bars) or 1.0
    scale = (_WIDTH - _LEFT - 70) / top
    height = 56 + 2 * _ROW * len(bars)
    parts = [*_opening(title, _bars_said(bars, unit), height), _HATCH]
    for number, bar in enumerate(bars):
        parts += _bar(bar, 36 + 2 * _ROW * number, scale)
    parts.append(
        f"<text x='{_LEFT}' y='{height - 8}' fill='{_SOFT}'>{escape(unit)}; "
        "line: 95 % interval; hatched: the year before</text>"
    )
    return "\n".join([*parts, "</svg>\n"])


def _bar(bar: Bar, y: int, scale: float) -> list[str]:
    most = float(_WIDTH - 70)
    parts = [
        f"<text x='{_LEFT - 8}' y='{y + 14}' text-anchor='end'>{escape(bar.name)}</text>",
        f"<rect x='{_LEFT}' y='{y}' width='{max(bar.value * scale, 0.5):.1f}' height='18' fill='#c9c4b8' "
        f"stroke='{_INK}'/>",
    ]
    if bar.before is not None:
        parts.append(
            f"<rect x='{_LEFT}' y='{y + 21}' width='{max(bar.before * scale, 0.5):.1f}' height='10' "
            f"fill='url(#before)' stroke='{_INK}'/>"
        )
    end = bar.value * scale
    if bar.low is not None and bar.high is not None:
        start, end = max(bar.low, 0.0) * scale, bar.high * scale
        cut = _LEFT + end > most
        end = min(end, most - _LEFT)
        parts.append(
            f"<path d='M{_LEFT + start:.1f} {y + 9}H{_LEFT + end:.1f}' stroke='{_INK}' stroke-width='1.5'/>"
        )
        head = f"M{most - 6:.1f} {y + 5}l6 4l-6 4" if cut else f"M{_LEFT + end:.1f} {y + 4}v10"
        parts.append(f"<path d='M{_LEFT + start:.1f} {y + 4}v10{head}' fill='none' stroke='{_INK}'/>")
    parts.append(f"<text x='{min(_LEFT + end + 6, most + 6):.1f}' y='{y + 14}'>{bar.value:.2f}</text>")
    return parts


def _bars_said(bars: Sequence[Bar], unit: str) -> str:
    def one(bar: Bar) -> str:
        whisker = (
            f" ({bar.low:.2f} to {bar.high:.2f})" if bar.low is not None and bar.high is not None else ""
        )
        return f"{bar.name}: {bar.value:.2f} {unit}{whisker}"

    return "; ".join(map(one, bars)) + "."


@dataclass(frozen=True, slots=True)
class TreeRow:
    """One tree and kind: seasons looked at, and those in which it fruited."""

    name: str
    looked: frozenset[int]
    fruited: frozenset[int]


def tree_years(title: str, seasons: Sequence[int], trees: Sequence[TreeRow]) -> str:
    """SVG of trees (rows) over seasons (columns): full disc fruited, ring nothing, empty not looked at.

    Raises ValueError without seasons or trees.
    """
    if not seasons or not trees:
        raise ValueError("a picture of trees needs seasons and trees")
    step = min(60.0, (_WIDTH - 340.0) / len(seasons))
    height = 60 + _ROW * len(trees)
    said = "; ".join(f"{t.name}: {len(t.fruited)} of {len(t.looked)} seasons" for t in trees) + "."
    parts = _opening(title, said, height)
    for n, season in enumerate(seasons):
        parts.append(
            f"<text x='{340 + step * (n + 0.5) - 12:.1f}' y='36' text-anchor='middle'>{season}</text>"
        )
    for row, tree in enumerate(trees):
        y = 52 + _ROW * row
        parts.append(f"<text x='320' y='{y + 4}' text-anchor='end'>{escape(tree.name)}</text>")
        for n, season in enumerate(seasons):
            if season in tree.looked:
                fill = _INK if season in tree.fruited else "none"
                x = 340 + step * (n + 0.5) - 12
                parts.append(f"<circle cx='{x:.1f}' cy='{y}' r='6' fill='{fill}' stroke='{_INK}'/>")
    parts.append(
        f"<text x='0' y='{height - 6}' fill='{_SOFT}'>"
        "full: fruited · ring: looked, nothing found · empty: not looked at</text>"
    )
    return "\n".join([*parts, "</svg>\n"])


def side_rose(title: str, bearings_deg: Sequence[float], mean_deg: float, resultant: float) -> str:
    """SVG of a trunk from above, north up: a petal for each of sixteen directions, and the mean vector.

    A petal's area is its number of finds; the mean vector reaches the circle if all lie one way. Raises
    ValueError without a bearing.
    """
    if not bearings_deg:
        raise ValueError("a picture of sides needs a side")
    cx, cy, radius, height = _WIDTH / 2, 150.0, 100.0, 290
    counts = [0] * 16
    for bearing in bearings_deg:
        counts[round(bearing / 22.5) % 16] += 1
    said = f"{len(bearings_deg)} sides; mean direction {mean_deg:.0f} degrees, length {resultant:.2f}."
    parts = _opening(title, said, height)
    parts.append(f"<circle cx='{cx}' cy='{cy}' r='{radius}' fill='none' stroke='{_INK}'/>")
    for word, toward in (("N", 0.0), ("E", 90.0), ("S", 180.0), ("W", 270.0)):
        x, y = _on_ring(cx, cy, radius + 18.0, toward)
        parts.append(f"<text x='{x:.1f}' y='{y + 5:.1f}' text-anchor='middle'>{word}</text>")
    for number, count in enumerate(counts):
        if count:
            reach = radius * math.sqrt(count / max(counts))
            (x1, y1), (x2, y2) = (_on_ring(cx, cy, reach, 22.5 * (number + side)) for side in (-0.4, 0.4))
            parts.append(
                f"<path d='M{cx} {cy}L{x1:.1f} {y1:.1f}A{reach:.1f} {reach:.1f} 0 0 1 {x2:.1f} {y2:.1f}z' "
                f"fill='#c9c4b8' stroke='{_INK}'><title>{count}</title></path>"
            )
    x, y = _on_ring(cx, cy, radius * resultant, mean_deg)
    parts.append(f"<line x1='{cx}' y1='{cy}' x2='{x:.1f}' y2='{y:.1f}' stroke='{_INK}' stroke-width='4'/>")
    return "\n".join([*parts, "</svg>\n"])


def _on_ring(cx: float, cy: float, radius: float, bearing_deg: float) -> tuple[float, float]:
    turn = math.radians(bearing_deg)
    return cx + radius * math.sin(turn), cy - radius * math.cos(turn)


def _opening(title: str, said: str, height: int) -> list[str]:
    return [
        f"<svg xmlns='http://www.w3.org/2000/svg' width='{_WIDTH}' height='{height}' "
        f"viewBox='0 0 {_WIDTH} {height}' role='img' font-family='Libertinus Serif, Georgia, serif' "
        f"font-size='13'>",
        f"<title>{escape(title)}</title>",
        f"<desc>{escape(said)}</desc>",
        f"<rect width='{_WIDTH}' height='{height}' fill='#fff'/>",
        f"<text x='0' y='15' font-weight='bold'>{escape(title)}</text>",
    ]


@dataclass(frozen=True, slots=True)
class Forecasts:
    """Forecasts of about one chance: how many, their mean, the share that came true and its interval."""

    count: int
    chance: float
    true: float
    low: float
    high: float


def reliability_dots(title: str, groups: Sequence[Forecasts]) -> str:
    """SVG of chances given (to the right) against what came true (upward), with 95 % whiskers.

    On the dotted line chances are what they say. Both axes are square-root scales, for most chances are
    small. Raises ValueError without forecasts.
    """
    if not groups:
        raise ValueError("a picture of forecasts needs forecasts")
    side, left, top = 230.0, 90.0, 34.0

    def at(chance: float, true: float) -> tuple[float, float]:
        return left + side * math.sqrt(chance), top + side * (1.0 - math.sqrt(true))

    said = (
        "; ".join(
            f"given {percent(g.chance, 1)}, came true {percent(g.true, 1)} of {g.count}" for g in groups
        )
        + "."
    )
    parts = _opening(title, said, 300)
    for value in (0.0, 0.01, 0.05, 0.2, 0.5, 1.0):
        (x, _), (_, y) = at(value, 0.0), at(0.0, value)
        parts.append(
            f"<path d='M{left} {y:.1f}h{side}M{x:.1f} {top}v{side}' stroke='{_SOFT}' stroke-width='0.4'/>"
            f"<text x='{left - 6}' y='{y + 4:.1f}' text-anchor='end'>{percent(value)}</text>"
            f"<text x='{x:.1f}' y='{top + side + 16:.1f}' text-anchor='middle'>{percent(value)}</text>"
        )
    parts.append(
        f"<path d='M{left} {top + side}l{side} -{side}' stroke='{_INK}' stroke-dasharray='2 4' fill='none'/>"
    )
    for group in groups:
        x, y = at(group.chance, group.true)
        (_, low), (_, high) = at(0.0, group.low), at(0.0, group.high)
        parts.append(f"<path d='M{x:.1f} {low:.1f}V{high:.1f}' stroke='{_INK}'/>")
        parts.append(f"<circle cx='{x:.1f}' cy='{y:.1f}' r='4' fill='{_INK}'/>")
    words = (
        "to the right: chance given",
        "upward: share that came true",
        "dotted: a chance that is what it says",
        "line: 95 % interval of the share",
    )
    for number, line in enumerate(words):
        parts.append(f"<text x='{left + side + 30}' y='{top + 20 + 20 * number}'>{line}</text>")
    return "\n".join([*parts, "</svg>\n"])
