"""Do two batches differ: triangle and paired tests by the exact binomial, and sheets to taste by."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from underoak.errors import UserMistake
from underoak.model.quantities import percent

TestKind = Literal["triangle", "paired"]
#: Chance of a right answer by guessing.
GUESSING: dict[TestKind, float] = {"triangle": 1.0 / 3.0, "paired": 0.5}
#: Share of tasters who really tell the batches apart that a planned test should not miss; own judgement.
WORTH_FINDING = 0.3
POWER = 0.8
_MOST_TASTINGS = 400
_ORDERS: dict[TestKind, tuple[str, ...]] = {
    "triangle": ("AAB", "ABA", "BAA", "BBA", "BAB", "ABB"),
    "paired": ("AB", "BA"),
}


@dataclass(frozen=True, slots=True)
class ComparisonResult:
    """What a test showed.

    ``chance_alone`` is the probability of so many right answers, or more, by guessing; ``needed`` the
    smallest number of right answers that would have shown a difference, None where none could. ``further``
    is how many more tastings a planned test would take to find what is worth finding.
    """

    kind: TestKind
    correct: int
    tastings: int
    alpha: float
    two_sided: bool
    chance_alone: float
    needed: int | None
    shown: bool
    further: int
    words: str


@dataclass(frozen=True, slots=True)
class Portion:
    """One taster's samples from left to right: three-figure codes, and the batch behind each."""

    taster: str
    codes: tuple[str, ...]
    batches: tuple[str, ...]
    question: str


def tail(correct: int, tastings: int, p: float) -> float:
    """Probability of ``correct`` or more right answers of ``tastings``, each right with ``p``.

    Method: exact binomial, P(X >= correct).
    """
    return math.fsum(
        math.comb(tastings, k) * p**k * (1.0 - p) ** (tastings - k) for k in range(correct, tastings + 1)
    )


def chance_alone(kind: TestKind, correct: int, tastings: int, *, two_sided: bool = False) -> float:
    """Probability of a result at least so far from guessing, when nobody tells the batches apart."""
    if not two_sided:
        return tail(correct, tastings, GUESSING[kind])
    return min(1.0, 2.0 * tail(max(correct, tastings - correct), tastings, 0.5))


def minimum_correct(kind: TestKind, tastings: int, alpha: float, *, two_sided: bool = False) -> int | None:
    """Smallest number of right (or like) answers that shows a difference at level ``alpha``.

    Parameters
    ----------
    kind : "triangle" (guessing 1/3) or "paired" (1/2)
    tastings : 1 to 400
    alpha : 0 to 0.5, the accepted chance of a false alarm
    two_sided : for the paired test when no direction was expected

    Returns
    -------
    right answers, or None where even all of them would not do

    Method
    ------
    Smallest k with P(X >= k | n, p0) <= alpha, exact binomial; two-sided: twice the tail of p0 = 1/2.

    Source
    ------
    fao_v7180e Appendix A (triangle), seen; paired: computed, ISO 5495 not seen. Check:
    tests/published/comparison.toml.
    """
    _check(kind, 0, tastings, alpha, two_sided)
    first = (tastings + 1) // 2 if two_sided else 0
    for k in range(first, tastings + 1):
        if chance_alone(kind, k, tastings, two_sided=two_sided) <= alpha:
            return k
    return None


def tastings_needed(
    kind: TestKind, alpha: float = 0.05, *, tell_apart: float = WORTH_FINDING, two_sided: bool = False
) -> int:
    """Tastings that find, with 80 % chance, a difference that a share ``tell_apart`` of tasters notices.

    Method: right answers come with p1 = p0 + tell_apart (1 - p0); the smallest n from which on the power
    P(X >= minimum_correct | n, p1) is at least 0.8. The power saws up and down with n, so the smallest n that
    reaches it is taken. Source: usual model of discrimination tests, from memory.
    """
    if not 0.0 < tell_apart <= 1.0:
        raise UserMistake(f"a share of {tell_apart:g}", expected="more than 0, at most 1")
    p1 = GUESSING[kind] + tell_apart * (1.0 - GUESSING[kind])
    for tastings in range(3, _MOST_TASTINGS + 1):
        least = minimum_correct(kind, tastings, alpha, two_sided=two_sided)
        if least is not None and tail(least, tastings, p1) >= POWER:
            return tastings
    return _MOST_TASTINGS


def evaluate(
    kind: TestKind, correct: int, tastings: int, *, alpha: float = 0.05, two_sided: bool = False
) -> ComparisonResult:
    """What ``correct`` of ``tastings`` answers show, in figures and words.

    Raises
    ------
    UserMistake   for impossible numbers

    **Fails towards** "not shown": no result ever says that two batches are the same.
    """
    _check(kind, correct, tastings, alpha, two_sided)
    p = chance_alone(kind, correct, tastings, two_sided=two_sided)
    needed = minimum_correct(kind, tastings, alpha, two_sided=two_sided)
    shown = p <= alpha
    further = 0 if shown else max(tastings_needed(kind, alpha, two_sided=two_sided) - tastings, 0)
    return ComparisonResult(
        kind, correct, tastings, alpha, two_sided, p, needed, shown, further,
        _words(correct, tastings, alpha, p, needed, shown=shown, further=further),
    )  # fmt: skip


def _words(
    correct: int, tastings: int, alpha: float, p: float, needed: int | None, *, shown: bool, further: int
) -> str:
    guessed = f"by guessing alone so many or more come with a chance of {percent(p, 1)}."
    head = f"{correct} of {tastings} answers; {guessed}"
    if shown:
        return f"{head} A difference is shown at the {percent(alpha, 1)} level."
    if needed is None:
        level = f"at the {percent(alpha, 1)} level"
        return f"{head} So few cannot show a difference {level}: {further} more are needed."
    more = f" A planned test takes {further} more tastings." if further else ""
    return (
        f"{head} No difference is shown ({needed} would have been needed at the {percent(alpha, 1)} level); "
        f"that does not show that there is none.{more}"
    )


def tasting_plan(kind: TestKind, tasters: Sequence[str], *, seed: int) -> tuple[Portion, ...]:
    """Samples for each taster in balanced random order, under three-figure codes that occur once.

    All orders are used as evenly as the number of tasters lets them. The same seed gives the same plan.

    Raises
    ------
    UserMistake   for no tasters, or more than the codes last for
    """
    orders = _ORDERS[kind]
    size = len(orders[0])
    if not 1 <= len(tasters) <= 900 // size:
        raise UserMistake(f"{len(tasters)} tasters", expected=f"1 to {900 // size}")
    chance = random.Random(seed)  # noqa: S311 - codes on cups, no secrets
    codes = [str(code) for code in chance.sample(range(100, 1000), size * len(tasters))]
    dealt: list[str] = []
    while len(dealt) < len(tasters):
        dealt += chance.sample(orders, len(orders))
    question = "Which one is different?" if kind == "triangle" else "Which one do you mean?"
    return tuple(
        Portion(taster, tuple(codes[n * size : (n + 1) * size]), tuple(dealt[n]), question)
        for n, taster in enumerate(tasters)
    )


def _check(kind: TestKind, correct: int, tastings: int, alpha: float, two_sided: bool) -> None:
    if kind not in GUESSING:
        raise UserMistake(f"there is no test {kind!r}", expected="triangle or paired")
    if two_sided and kind == "triangle":
        raise UserMistake("a triangle test has one side", expected="two sides for the paired test only")
    if not 1 <= tastings <= _MOST_TASTINGS:
        raise UserMistake(f"{tastings} tastings", expected=f"1 to {_MOST_TASTINGS}")
    if not 0 <= correct <= tastings:
        raise UserMistake(f"{correct} right of {tastings}", expected=f"0 to {tastings}")
    if not 0.0 < alpha <= 0.5:
        raise UserMistake(f"a level of {alpha:g}", expected="more than 0, at most 0.5", remedy="5 % is 0.05")
