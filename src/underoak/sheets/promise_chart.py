"""What walks of different goals may bring, as one small picture: kilograms over the chance of any."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING
from xml.sax.saxutils import escape

from underoak.model.quantities import chance_words, counted

if TYPE_CHECKING:
    from underoak.walk.robust import Goal, Promise

#: What each goal is called on paper and screen.
GOAL_WORDS: dict[Goal, str] = {
    "expected": "most expected",
    "something": "most surely something",
    "poor_day": "best poor day",
}
_WIDTH, _HEIGHT, _LEFT, _RIGHT, _TOP, _BOTTOM = 110.0, 52.0, 16.0, 6.0, 6.0, 12.0
#: Marks stand at least so far apart [mm].
_BESIDE = 5.0


@dataclass(frozen=True, slots=True)
class OneWalk:
    """What a walk may bring, and all goals that it is the walk for."""

    goals: tuple[Goal, ...]
    promise: Promise

    @property
    def names(self) -> str:
        """The goals in words."""
        words = [GOAL_WORDS[goal] for goal in self.goals]
        return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)


def different(promises: Sequence[Promise]) -> tuple[OneWalk, ...]:
    """The walks that differ in what people read of them, in the order of the first goal of each."""
    found: dict[str, list[Promise]] = {}
    for one in promises:
        found.setdefault(_told(one), []).append(one)
    return tuple(OneWalk(tuple(one.goal for one in own), own[0]) for own in found.values())


def promise_lines(promises: Sequence[Promise]) -> list[str]:
    """What surety costs, then one line on each walk that differs, numbered where there are several."""
    walks = different(promises)
    if len(walks) == 1:
        alike = f"The same for every goal ({walks[0].names}): " if len(promises) > 1 else ""
        return [alike + _told(walks[0].promise)]
    lines = [f"{n}, {walk.names}: {_told(walk.promise)}" for n, walk in enumerate(walks, start=1)]
    return [trade_off(promises), *lines]


def _told(promise: Promise) -> str:
    poor, good = f"{promise.poor_kg:.2f}", f"{promise.good_kg:.2f}"
    if poor == good:
        days = f"{good} kg on at least four days in five"
    else:
        least = f"at most {poor} kg" if promise.poor_kg >= 0.005 else "nothing"
        days = f"{least} on the poorest day in five, at least {good} kg on the best"
    any_ = f"something on {chance_words(promise.something)} of days"
    return f"{promise.expected_kg:.2f} kg expected, {any_}, {days}"


def trade_off(promises: Sequence[Promise]) -> str:
    """What surety costs, in one sentence; empty with fewer than two walks."""
    if len(promises) < 2:
        return ""
    rich = max(promises, key=lambda p: (round(p.expected_kg, 3), p.goal == "expected", p.something))
    sure = max(promises, key=lambda p: (p.something, p.expected_kg))
    points, kg = 100.0 * (sure.something - rich.something), rich.expected_kg - sure.expected_kg
    if points < 0.5:
        return "No other walk brings something more surely than the one with most expected."
    less = f"{kg:.2f} kg less" if kg >= 0.005 else "as much"
    days = counted(round(points), "day")
    return f"The surest walk brings something on {days} in a hundred more, and {less} is expected."


def promise_chart(promises: Sequence[Promise], chosen: Goal) -> str:
    """SVG text: across the chance of at least something, up the expected kilograms, one mark a walk.

    Goals whose walks promise alike share a mark (`different`). The chosen walk's mark is full, the others
    are open; a line joins each walk's poor and good day. ``promises`` holds at least one.
    """
    walks = different(promises)
    told = [walk.promise for walk in walks]
    # none stands on the axis
    least = math.floor(10.0 * min(p.something for p in promises) - 0.5) / 10.0
    low = min(max(least, 0.0), 0.9)
    high_kg = max(*(p.good_kg for p in promises), *(p.expected_kg for p in promises), 0.1)
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDTH:g} {_HEIGHT:g}" width="{_WIDTH:g}mm" '
        f'height="{_HEIGHT:g}mm" font-family="Libertinus Serif, serif" font-size="3.2" role="img">',
        "<title>Expected kilograms against the chance of at least something</title>",
        f"<desc>{escape('; '.join(promise_lines(promises)))}</desc>",
        f'<rect width="{_WIDTH:g}" height="{_HEIGHT:g}" fill="white"/>',
        *_axes(low, high_kg),
    ]
    for number, (walk, x) in enumerate(zip(walks, _apart(told, low), strict=True), start=1):
        parts += _mark(number, walk.promise, x, high_kg, full=chosen in walk.goals)
    return "\n".join([*parts, "</svg>"]) + "\n"


def _across(share: float, low: float) -> float:
    return _LEFT + (share - low) / (1.0 - low) * (_WIDTH - _LEFT - _RIGHT)


def _apart(promises: Sequence[Promise], low: float) -> list[float]:
    """Where each walk's mark stands: such as are alike beside each other, in the order of their numbers."""
    where = [_across(promise.something, low) for promise in promises]
    order = sorted(range(len(where)), key=lambda k: (round(where[k]), k))
    for before, k in pairwise(order):
        where[k] = max(where[k], where[before] + _BESIDE)
    most = _WIDTH - _RIGHT / 3.0
    for k in reversed(order):
        where[k] = min(where[k], most)
        most = where[k] - _BESIDE
    return where


def _up(kg: float, high_kg: float) -> float:
    return _HEIGHT - _BOTTOM - kg / high_kg * (_HEIGHT - _TOP - _BOTTOM)


def _axes(low: float, high_kg: float) -> list[str]:
    floor = _HEIGHT - _BOTTOM
    parts = [
        f'<path d="M{_LEFT} {_TOP}V{floor}H{_WIDTH - _RIGHT}" fill="none" stroke="black" stroke-width="0.3"/>'
    ]
    for share in (low, (low + 1.0) / 2.0, 1.0):
        x = _across(share, low)
        parts.append(
            f'<text x="{x:.1f}" y="{floor + 4.5:.1f}" text-anchor="middle">{100 * share:.0f} %</text>'
        )
    for kg in (0.0, high_kg / 2.0, high_kg):
        y = _up(kg, high_kg) + 1.0
        parts.append(f'<text x="{_LEFT - 1.5}" y="{y:.1f}" text-anchor="end">{kg:.1f} kg</text>')
    middle = (_LEFT + _WIDTH - _RIGHT) / 2.0
    words = "chance of at least something; the line goes from a poor day to a good one"
    return [*parts, f'<text x="{middle}" y="{floor + 9.5:.1f}" text-anchor="middle">{words}</text>']


def _mark(number: int, promise: Promise, x: float, high_kg: float, *, full: bool) -> list[str]:
    bottom, middle, top = (_up(kg, high_kg) for kg in (promise.poor_kg, promise.expected_kg, promise.good_kg))
    fill = "black" if full else "white"
    return [
        f'<path d="M{x:.2f} {bottom:.2f}V{top:.2f}" stroke="black" stroke-width="0.25"/>',
        f'<circle class="walk" cx="{x:.2f}" cy="{middle:.2f}" r="1.1" fill="{fill}" stroke="black" '
        f'stroke-width="0.3"/><text x="{x - 1.8:.2f}" y="{middle - 1.4:.2f}" '
        f'text-anchor="end">{number}</text>',
    ]
