"""Rates count every hour, also those that found nothing."""

from __future__ import annotations

from datetime import date

import pytest

from underoak.model.visits import Find, FlushStage, Visit
from underoak.review.catch_rate import catch_rates, rates_by
from underoak.review.intervals import poisson_interval


def visit(
    name: str, place: str, minutes: float | None, *finds: tuple[str, FlushStage, float | None]
) -> Visit:
    return Visit(
        id=name,
        day=date(2026, 10, 3),
        place_id=place,
        minutes=minutes,
        finds=tuple(
            Find(id=f"{name}{n}", spot_id="s", taxon_id=taxon, stage=stage, fresh_g=grams)
            for n, (taxon, stage, grams) in enumerate(finds)
        ),
    )


def test_hours_of_empty_visits_lower_the_rate() -> None:
    full = visit("a", "hollow", 120.0, ("hen", "prime", 3000.0), ("hen", "past", None))
    empty = visit("b", "hollow", 120.0)
    in_all, hen = catch_rates([full, empty])
    assert (in_all.taxon_id, hen.taxon_id) == (None, "hen")
    assert hen.kg_per_hour is not None
    assert hen.kg_per_hour.value == pytest.approx(0.75)
    assert hen.kg_per_hour.n == 2
    assert hen.prime_finds_per_hour == pytest.approx(0.25)
    assert (hen.visits, hen.visits_with_finds, hen.prime_finds) == (2, 1, 1)


def test_a_visit_without_minutes_counts_weight_but_no_rate() -> None:
    (in_all, _) = catch_rates([visit("a", "hollow", None, ("hen", "prime", 1000.0))])
    assert in_all.kg == 1.0
    assert in_all.kg_per_hour is None
    assert in_all.low is None


def test_places_and_taxa_stay_apart() -> None:
    rates = catch_rates(
        [
            visit("a", "ridge", 60.0, ("hen", "prime", 500.0), ("honey", "prime", 900.0)),
            visit("b", "hollow", 60.0, ("hen", "prime", 200.0)),
        ]
    )
    assert [(rate.key, rate.taxon_id, rate.kg) for rate in rates] == [
        ("hollow", None, 0.2),
        ("hollow", "hen", 0.2),
        ("ridge", None, 1.4),
        ("ridge", "honey", 0.9),
        ("ridge", "hen", 0.5),
    ]


@pytest.mark.parametrize(("count", "confidence"), [(-1, 0.95), (3, 0.0), (3, 1.0)])
def test_impossible_questions_are_refused(count: int, confidence: float) -> None:
    with pytest.raises(ValueError, match="must be"):
        poisson_interval(count, confidence)


def test_months_and_parties_are_told_apart_and_taxa_share_all_hours() -> None:
    pair = Visit("a", date(2026, 9, 30), "ridge", 60.0, ("Ada", "Ben"))
    alone = Visit("b", date(2026, 10, 1), "ridge", 30.0, ("Ada",))
    nobody = visit("c", "ridge", 30.0, ("hen", "prime", 500.0), ("hen", "young", 500.0))
    together = [pair, alone, nobody]
    assert [(r.key, r.hours) for r in rates_by(together, "month")] == [("2026-09", 1.0), ("2026-10", 1.0)]
    assert [(r.key, r.visits) for r in rates_by(together, "party")] == [("1", 1), ("2", 1), ("not noted", 1)]
    (hen,) = rates_by(together, "taxon")
    assert (hen.hours, hen.finds, hen.prime_finds) == (2.0, 2, 1)
    assert hen.prime_share is not None
    assert hen.prime_share.value == 0.5
