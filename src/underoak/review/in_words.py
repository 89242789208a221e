"""Figures of the review in words, with no more digits than they have."""

from __future__ import annotations

import math

from underoak.review.intervals import Estimate


def span(estimate: Estimate, digits: int = 1, *, least: float = -math.inf) -> str:
    """The interval of an estimate, cut at what it cannot fall below, or that there is none yet."""
    if estimate.low is None or estimate.high is None:
        return "no interval yet"
    return f"{max(estimate.low, least):.{digits}f} to {max(estimate.high, least):.{digits}f}"


def percents(estimate: Estimate) -> str:
    """The interval of a share."""
    if estimate.low is None or estimate.high is None:
        return "no interval yet"
    return f"{100.0 * estimate.low:.0f}–{100.0 * estimate.high:.0f} %"


def small(p: float) -> str:
    """A chance p, never printed as nothing."""
    return "below 0.001" if p < 0.001 else f"{p:.3f}"


def of_all(p: float | None) -> str:
    """A chance p after Holm's correction, in words."""
    return f"p {'not known' if p is None else small(p)} with all that was tried allowed for (Holm)"


def signed(value: float, digits: int = 0) -> str:
    """A number with its sign; what rounds to nothing is 0."""
    told = f"{value:+.{digits}f}"
    return told.lstrip("+-") if float(told) == 0.0 else told


def counted(number: int, word: str) -> str:
    """A number of things, such as 1 find, 2 finds."""
    return f"{number} {word}" if number == 1 else f"{number} {word}s"
