"""Promises, forecasts, checks, kitchen: what was said against what came."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest
from scipy import stats

from underoak.model.kitchen import Batch, Jar, JarState
from underoak.model.visits import Find, FlushStage, Search, Visit
from underoak.review.calibration import SpotForecast, calibration, count_chances
from underoak.review.expectation import Promise, expectation
from underoak.review.kitchen_losses import (
    ADVICE,
    NOT_PUT_UP,
    NOT_VETTED,
    OPEN,
    PUT_UP,
    REFUSED,
    THROWN,
    PickedFind,
    fates,
)
from underoak.review.own_yields import WeighedBatch, joined_range, own_yields
from underoak.review.skipped_checks import VettedFind, skipped_checks

DAY = date(2026, 10, 3)


def day_out(day: date, grams: float, *, searched: float = 0.9, stage: FlushStage = "prime") -> Visit:
    find = Find(f"f{day}", "oak", "hen", stage, None, grams)
    finds = (find,) if grams else ()
    return Visit(f"v{day}", day, "wood", 60.0, (), (Search("oak", searched), Search("elm", 0.9)), finds)


def test_the_last_promise_made_before_the_day_counts() -> None:
    promises = [
        Promise(date(2026, 10, 1), DAY, "wood", 1.0),
        Promise(date(2026, 10, 2), DAY, "wood", 2.0),
        Promise(DAY, DAY, "wood", 9.0),  # may already know what was found
        Promise(DAY, date(2026, 10, 4), "wood", 5.0),
    ]
    found = expectation(promises, [day_out(DAY, 3000.0)])
    assert [(k.promise.kg, k.brought_kg) for k in found.kept] == [(2.0, 3.0)]
    assert found.unvisited == 1
    assert found.brought_share is not None
    assert (found.brought_share.value, found.brought_share.n, found.brought_share.low) == (1.5, 1, None)


def test_only_prime_is_set_against_a_promise_and_nothing_is_no_ratio() -> None:
    found = expectation([Promise(DAY, DAY, "wood", 2.0)], [day_out(DAY, 3000.0, stage="past")])
    assert found.kept[0].brought_kg == 0.0
    assert expectation([], [day_out(DAY, 1.0)]).brought_share is None
    assert expectation([Promise(DAY, DAY, "wood", 0.0)], [day_out(DAY, 1.0)]).brought_share is None


def forecast(day: date, prime: float, found: float, spot: str = "oak") -> SpotForecast:
    return SpotForecast(day, day, spot, "hen", prime, found)


def test_forecasts_are_scored_for_the_look_that_was_made() -> None:
    days = [date(2026, 10, n) for n in range(1, 5)]
    visits = [day_out(day, 100.0 if n == 0 else 0.0, searched=0.45) for n, day in enumerate(days)]
    got = calibration([forecast(day, 0.5, 0.4) for day in days], visits)
    chance = 0.5 * (1.0 - (1.0 - 0.8) ** 0.5)
    assert (got.looks, got.seen) == (4, 1)
    assert got.expected == pytest.approx(4 * chance)
    assert got.brier == pytest.approx(((1 - chance) ** 2 + 3 * chance**2) / 4)
    assert got.brier_of_rate == pytest.approx(0.25 * 0.75)
    assert got.too_far_p == pytest.approx(min(1.0, 2 * stats.binom.sf(0, 4, chance)))
    assert not got.enough


def test_spots_nobody_searched_that_day_judge_nothing() -> None:
    assert calibration([forecast(DAY, 0.5, 0.4, "ash")], [day_out(DAY, 100.0)]).looks == 0
    assert calibration([], []).brier is None


def test_counts_of_unequal_chances_match_the_reference_library() -> None:
    """Reference: scipy.stats.poisson_binom."""
    p = np.array([0.1, 0.35, 0.8, 0.02, 0.5])
    assert count_chances(p) == pytest.approx(stats.poisson_binom(p).pmf(np.arange(6)))


def test_checks_are_counted_over_open_finds_only() -> None:
    finds = [
        VettedFind("a", "honey", "open", frozenset({"print_colour"})),
        VettedFind("b", "honey", "open", frozenset({"print_colour", "ring"})),
        VettedFind("c", "honey", "refused", frozenset({"ring"})),
        VettedFind("d", "honey", "consistent", frozenset()),
    ]
    found = skipped_checks(finds)
    assert (found.vetted, found.open) == (4, 2)
    assert [(c.character, c.kept_open, c.alone) for c in found.checks] == [
        ("print_colour", 2, 1),
        ("ring", 1, 0),
    ]
    assert skipped_checks([]).checks == ()


def batch(name: str, lots: tuple[tuple[str, float], ...], *against: str) -> Batch:
    return Batch(name, "dry", DAY, "b", lots, against)


def jar(name: str, batch_id: str, net_g: float, note: str | None = None) -> Jar:
    state: JarState = "kept" if note is None else "thrown"
    return Jar(name, batch_id, name, "pint_jar", net_g, DAY, None, None, (), state, None, note or "")


def picked(name: str, grams: float, state: str | None, *lots: str) -> PickedFind:
    return PickedFind(name, "hen", DAY, grams, state, lots)


def test_every_kilogram_has_one_fate() -> None:
    finds = [
        picked("a", 1000.0, "consistent", "la"),
        picked("b", 400.0, "open"),
        picked("c", 300.0, "refused"),
        picked("d", 200.0, None),
        picked("e", 500.0, "confirmed", "le"),
    ]
    batches = {b.id: b for b in (batch("1", (("la", 800.0),)), batch("2", (("le", 500.0),), "kept warm"))}
    jars = [jar("1-1", "1", 30.0), jar("1-2", "1", 10.0, "mould"), jar("2-1", "2", 50.0)]
    rows = {(f.fate, f.why): (round(f.kg, 6), f.records) for f in fates(finds, batches, jars)}
    assert rows == {
        (PUT_UP, ""): (0.6, 1),
        (THROWN, "mould"): (0.2, 1),
        (NOT_PUT_UP, ""): (0.2, 1),
        (OPEN, ""): (0.4, 1),
        (REFUSED, ""): (0.3, 1),
        (NOT_VETTED, ""): (0.2, 1),
        (ADVICE, "kept warm"): (0.5, 1),
    }
    assert sum(f.share for f in fates(finds, batches, jars)) == pytest.approx(1.0)
    assert fates([], {}, []) == ()


def test_own_yields_stand_beside_the_book_and_move_it() -> None:
    weighed = [WeighedBatch(str(n), "hen", "dry", 1000.0, grams) for n, grams in enumerate((120.0, 130.0))]
    (row,) = own_yields(weighed, {("hen", "dry"): (80.0, 100.0)})
    assert (row.batches, row.own, row.book) == (2, (120.0, 130.0), (80.0, 100.0))
    assert row.joined[0] < row.own[0] < row.own[1] < row.joined[1]  # they disagree: wider than either
    assert (row.joined[0] * row.joined[1]) ** 0.5 > (80.0 * 100.0) ** 0.5
    (alone,) = own_yields(weighed, {})
    assert (alone.book, alone.joined) == (None, (120.0, 130.0))
    with pytest.raises(ValueError, match="weighs nothing"):
        own_yields([WeighedBatch("x", "hen", "dry", 0.0, 1.0)], {})


def test_without_own_batches_the_book_stands() -> None:
    assert joined_range((80.0, 100.0), []) == pytest.approx((80.0, 100.0))
