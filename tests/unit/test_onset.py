"""Every published window from meal to first symptom, and the rules that never reassure."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from underoak.book.load import load_book
from underoak.book.onsets import load_onsets
from underoak.errors import UserMistake
from underoak.kitchen.onset import NEVER_RULED_OUT, OnsetAnswer, onset_answer

MEAL = datetime(2026, 10, 17, 20, 0)  # noqa: DTZ001 - local time of a meal
#: harm class, hours of one published window, where it stands.
#: G: Graeme 2014 J Med Toxicol Table 1 (seen). P: a clinical poisoning handbook's table (seen).
#: N: a North American club's table (copy, second-hand). B: Beug on orellanine (seen). R: from memory.
PUBLISHED = [
    ("amatoxin", 6, 24, "P"),
    ("amatoxin", 6, 12, "second-hand, longest 24"),
    ("gyromitrin", 4, 12, "G"),
    ("gyromitrin", 2, 4, "G, rarely"),
    ("gyromitrin", 5, 10, "P"),
    ("gyromitrin", 2, 24, "second-hand"),
    ("gyromitrin", 6, 12, "second-hand"),
    ("orellanine", 24, 36, "P"),
    ("orellanine", 36, 14 * 24, "B"),
    ("orellanine", 24, 21 * 24, "B and N"),
    ("orellanine", 2 * 24, 20 * 24, "R"),
    ("early_kidney", 0.5, 12, "P, Amanita smithiana"),
    ("early_kidney", 4, 11, "N, Amanita smithiana"),
    ("muscarine", 0.25, 5, "G"),
    ("muscarine", 0.25, 2, "P"),
    ("muscarine", 0.25, 0.5, "N"),
    ("ibotenic", 0.5, 3, "G"),
    ("ibotenic", 0.5, 2, "P"),
    ("psilocybin", 0.25, 0.5, "G"),
    ("gut_severe", 20 / 60, 4, "N"),
    ("gut_mild", 20 / 60, 4, "N"),
    ("rhabdomyolysis", 24, 72, "R, delayed; Diaz 2005 says delayed"),
    ("rhabdomyolysis", 0.5, 2, "R, rapid"),
    ("encephalopathy", 24, 31 * 24, "G: 1 to 31 days"),
]


def answer(hours: float, **more: object) -> OnsetAnswer:
    return onset_answer(load_onsets(), began_at=MEAL + timedelta(hours=hours), meals=[MEAL], **more)  # type: ignore[arg-type]


def fitting(hours: float, **more: object) -> set[str]:
    return {fit.harm for fit in answer(hours, **more).fits}


@pytest.mark.parametrize(("harm", "first", "last", "where"), PUBLISHED)
def test_a_class_fits_at_both_ends_and_inside_every_published_window(
    harm: str, first: float, last: float, where: str
) -> None:
    for hours in (first, (first + last) / 2.0, last):
        assert harm in fitting(hours), where


@pytest.mark.parametrize("harm", sorted({row[0] for row in PUBLISHED}))
def test_a_class_does_not_fit_outside_its_widest_window(harm: str) -> None:
    rows = [row for row in PUBLISHED if row[0] == harm]
    first, last = min(row[1] for row in rows), max(row[2] for row in rows)
    assert harm not in fitting(first * 0.9)
    assert harm not in fitting(last + 1.0)


@pytest.mark.parametrize("hours", [0.0, 0.5, 24.0, 119.9])
def test_coprine_fits_only_with_alcohol_and_up_to_five_days(hours: float) -> None:
    # P: alcohol within half an hour to hours; sensitivity up to 5 days after the meal.
    began = MEAL + timedelta(hours=hours)
    assert "coprine" in fitting(hours, alcohol_at=began)
    assert "coprine" not in fitting(hours)
    assert "coprine" not in fitting(hours, alcohol_at=began + timedelta(hours=1))
    assert "coprine" not in fitting(121.0, alcohol_at=began)


@pytest.mark.parametrize("hours", [6.0, 6.1, 10.0, 15.0, 23.9, 24.0])
def test_six_to_twenty_four_hours_always_raise_the_amatoxin_warning(hours: float) -> None:
    assert answer(hours).amatoxin_warning


@pytest.mark.parametrize("hours", [0.1, 0.5, 1.0, 3.0, 5.9])
def test_early_symptoms_never_rule_it_out(hours: float) -> None:
    found = answer(hours)
    assert "amatoxin" in found.never_ruled_out
    earlier = MEAL - timedelta(hours=9)
    began = MEAL + timedelta(hours=hours)
    assert onset_answer(load_onsets(), began_at=began, meals=[MEAL, earlier]).amatoxin_warning


def test_an_empty_log_never_reassures() -> None:
    found = onset_answer(load_onsets(), began_at=MEAL, meals=[])
    assert found.amatoxin_warning
    assert found.never_ruled_out == NEVER_RULED_OUT


def test_without_a_beginning_the_warning_stands() -> None:
    assert onset_answer(load_onsets(), began_at=None, meals=[MEAL]).amatoxin_warning


def test_meals_older_than_a_month_are_as_good_as_none() -> None:
    found = onset_answer(load_onsets(), began_at=MEAL, meals=[MEAL - timedelta(days=32)])
    assert found.meals == 0
    assert found.amatoxin_warning


def test_more_meals_never_take_a_class_away() -> None:
    for hours in (0.3, 2.0, 8.0, 30.0, 200.0):
        began = MEAL + timedelta(hours=hours)
        one = onset_answer(load_onsets(), began_at=began, meals=[MEAL])
        two = onset_answer(load_onsets(), began_at=began, meals=[MEAL, MEAL - timedelta(hours=7)])
        assert {f.harm for f in one.fits} <= {f.harm for f in two.fits}
        assert two.amatoxin_warning or not one.amatoxin_warning


def test_a_clock_that_goes_backwards_is_refused() -> None:
    with pytest.raises(UserMistake, match="later than the first symptom"):
        onset_answer(load_onsets(), began_at=MEAL, meals=[MEAL + timedelta(hours=1)])


def test_every_harm_class_of_the_book_has_a_window_and_every_window_a_known_source() -> None:
    known = {onset.harm for onset in load_onsets()}
    carried = {harm for taxon in load_book().taxa.values() for harm in taxon.harm.classes}
    assert carried - {"none", "inedible"} <= known
    for onset in load_onsets():
        assert {window.source for window in onset.windows} <= set(load_book().sources)
