"""Difference tests against published tables, and what a tasting may and may not be."""

from __future__ import annotations

import tomllib
from collections import Counter
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pypdfium2
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.unit.kitchen_home import DAY, with_finds
from underoak.desk.compare_batches import plan_tasting
from underoak.desk.record_batch import BatchNote, record_batches
from underoak.desk.record_meal import MealNote, record_meal
from underoak.errors import NoAnswer, UserMistake
from underoak.review.comparison import (
    chance_alone,
    evaluate,
    minimum_correct,
    tail,
    tasting_plan,
    tastings_needed,
)
from underoak.settings import Home

CELLS = tomllib.loads((Path(__file__).parents[1] / "published" / "comparison.toml").read_text("utf-8"))[
    "cell"
]


@pytest.mark.parametrize(
    "cell", CELLS, ids=lambda c: f"{c['kind']} {c['two_sided']} {c['tastings']} {c['alpha']}"
)
def test_published_minimum_of_right_answers(cell: dict[str, Any]) -> None:
    found = minimum_correct(cell["kind"], cell["tastings"], cell["alpha"], two_sided=cell["two_sided"])
    assert (found or 0) == cell["correct"], cell["source"]


def test_published_single_examples() -> None:
    # sensR documentation, findcr(25, p0 = 1/3): 13 (seen); P(X >= 13) computed.
    assert minimum_correct("triangle", 25, 0.05) == 13
    assert tail(13, 25, 1 / 3) == pytest.approx(0.0415, abs=5e-5)
    # Byer and Abrams 1953, 25 of 50 right (second-hand); exact chance computed.
    assert chance_alone("triangle", 25, 50) == pytest.approx(0.0108, abs=5e-5)


@pytest.mark.parametrize("tastings", [1, 2, 3, 4])
def test_fewer_than_five_pairs_never_reach_five_percent(tastings: int) -> None:
    assert minimum_correct("paired", tastings, 0.05) is None
    assert "cannot show a difference" in evaluate("paired", tastings, tastings).words


def test_the_tail_agrees_with_a_reference_library() -> None:
    from scipy.stats import binom

    for n in (7, 30, 111):
        for k in (0, 3, n // 2, n):
            assert tail(k, n, 1 / 3) == pytest.approx(float(binom.sf(k - 1, n, 1 / 3)), rel=1e-9)


@given(st.integers(1, 120), st.sampled_from([0.2, 0.05, 0.01]), st.sampled_from(["triangle", "paired"]))
@settings(max_examples=60, deadline=None)
def test_the_minimum_is_the_first_that_reaches_the_level(tastings: int, alpha: float, kind: Any) -> None:
    least = minimum_correct(kind, tastings, alpha)
    if least is not None:
        assert chance_alone(kind, least, tastings) <= alpha
        assert least == 0 or chance_alone(kind, least - 1, tastings) > alpha


def test_no_result_says_that_batches_are_the_same() -> None:
    found = evaluate("triangle", 4, 12)
    assert not found.shown
    assert found.needed == 8
    assert "does not show that there is none" in found.words
    assert found.further == tastings_needed("triangle") - 12
    assert evaluate("triangle", 8, 12).shown


def test_planned_tastings_reach_their_power() -> None:
    for kind, guess in (("triangle", 1 / 3), ("paired", 0.5)):
        n = tastings_needed(kind)  # type: ignore[arg-type]
        least = minimum_correct(kind, n, 0.05)  # type: ignore[arg-type]
        assert least is not None
        assert tail(least, n, guess + 0.3 * (1 - guess)) >= 0.8


@given(st.integers(1, 60), st.sampled_from(["triangle", "paired"]), st.integers(0, 99))
@settings(max_examples=40, deadline=None)
def test_codes_occur_once_and_orders_are_balanced(tasters: int, kind: Any, seed: int) -> None:
    plan = tasting_plan(kind, [f"T{n}" for n in range(tasters)], seed=seed)
    codes = [code for portion in plan for code in portion.codes]
    assert len(set(codes)) == len(codes)
    assert all(len(code) == 3 and code.isdigit() for code in codes)
    orders = Counter("".join(portion.batches) for portion in plan)
    every = 6 if kind == "triangle" else 2
    if tasters >= every:
        assert len(orders) == every
        assert max(orders.values()) - min(orders.values()) <= 1
    assert plan == tasting_plan(kind, [f"T{n}" for n in range(tasters)], seed=seed)


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("triangle", 5, 4), "5 right of 4"),
        (("triangle", -1, 4), "-1 right"),
        (("paired", 0, 0), "0 tastings"),
        (("smelling", 1, 4), "no test"),
    ],
)
def test_impossible_tests_are_refused(arguments: tuple[Any, ...], told: str) -> None:
    with pytest.raises(UserMistake, match=told):
        evaluate(*arguments)
    with pytest.raises(UserMistake, match="a level of 5"):
        evaluate("triangle", 1, 4, alpha=5.0)


@pytest.fixture
def two_batches(home: Home) -> Home:
    with_finds(home, [("f1", "grifola_frondosa", 4000.0, "confirmed")])
    for method, units in (("freeze_steamed", (2, 350.0)), ("dry", (2, 50.0))):
        record_batches(home, BatchNote(method=method, lots=[("lot-f1", 900.0)], units=units), day=DAY)
    return home


def _have_had(home: Home, *people: str) -> None:
    supper = datetime(2026, 10, 17, 20, 0)  # noqa: DTZ001
    record_meal(home, MealNote(supper, people, taxon="grifola_frondosa"), now=supper)


def test_a_first_taste_is_no_comparison(two_batches: Home) -> None:
    _have_had(two_batches, "Ada")
    with pytest.raises(NoAnswer, match="not every taster has had"):
        plan_tasting(
            two_batches,
            ("261017-1", "261017-2"),
            kind="triangle",
            tasters=["Ada", "Ben"],
            today=DAY + timedelta(days=10),
        )


def test_sheets_carry_codes_and_cautions_and_the_key_apart(two_batches: Home) -> None:
    _have_had(two_batches, "Ada", "Ben")
    plan = plan_tasting(
        two_batches,
        ("261017-1", "261017-2"),
        kind="triangle",
        tasters=["Ada", "Ben", "Ada"],
        today=DAY + timedelta(days=10),
    )
    pages = [
        " ".join(p.get_textpage().get_text_range().split()) for p in pypdfium2.PdfDocument(plan.files[0])
    ]
    for portion in plan.portions:
        assert all(code in pages[0] for code in portion.codes)
        assert f"{portion.codes[0]} = " in pages[-1]
    assert "Key" not in pages[0]
    assert plan.cautions[0] in pages[0]


def test_nothing_against_advice_over_its_day_or_for_children(two_batches: Home) -> None:
    _have_had(two_batches, "Ada", "Ben")
    bad = BatchNote(method="pressure_can_cultivated", lots=[("lot-f1", 500.0)], units=(1, 200.0), anyway=True)
    record_batches(two_batches, bad, day=DAY)
    ask: dict[str, Any] = {"kind": "paired", "tasters": ["Ada"], "today": DAY + timedelta(days=10)}
    with pytest.raises(NoAnswer, match="not tasted"):
        plan_tasting(two_batches, ("261017-1", "261017-3"), **ask)
    with pytest.raises(NoAnswer, match="within its day"):
        plan_tasting(two_batches, ("261017-1", "261017-2"), **{**ask, "today": DAY + timedelta(days=100)})
    with pytest.raises(UserMistake, match="Cleo cannot taste"):
        plan_tasting(two_batches, ("261017-1", "261017-2"), **{**ask, "tasters": ["Cleo"]})
    with pytest.raises(UserMistake, match="with itself"):
        plan_tasting(two_batches, ("261017-1", "261017-1"), **ask)
