"""Visits as columns say what the visits say; what was reckoned of them answers for no other record."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from tests.unit.test_outlook_forecast import KIND, MAPLE, OAK, PLACE, TODAY, Kind, look
from underoak.model.visits import Find, FlushStage, Search, Visit
from underoak.outlook import season_evidence as kept
from underoak.outlook.drivers import Climate, SeasonWeather
from underoak.outlook.forecast import chance_table
from underoak.outlook.looks import NONE, PAST, PRIME, YOUNG, Looks
from underoak.outlook.season import day_number, season_of
from underoak.outlook.sightings import as_sightings, joined, sightings_of

STAGES: tuple[FlushStage, ...] = ("young", "prime", "past")
CODE = {"young": YOUNG, "prime": PRIME, "past": PAST}


def invented(seed: int, count: int = 40) -> list[Visit]:
    """Visits of four years to five spots; some spots give several finds, some are not listed as searched."""
    rng = np.random.default_rng(seed)
    visits = []
    for n in range(count):
        day = date(2021, 1, 10) + timedelta(days=int(rng.integers(0, 1500)))
        searched = rng.permutation(5)[: rng.integers(0, 5)].tolist()
        finds = tuple(
            Find(
                f"{n}-{k}",
                f"s{rng.integers(5)}",
                ("kind", "other")[rng.integers(2)],
                STAGES[rng.integers(3)],
                None,
                float(rng.integers(0, 900)) or None,
            )
            for k in range(int(rng.integers(0, 4)))
        )
        looks = tuple(Search(f"s{s}", float(rng.choice([0.3, 0.6, 0.9]))) for s in searched)
        visits.append(Visit(f"v{n}", day, "wood", searches=looks, finds=finds))
    return sorted(visits, key=lambda visit: visit.day)


def by_hand(taxon_id: str, visits: list[Visit], spots: list[str]) -> list[tuple[int, int, int, int, float]]:
    """The definition of a look, written out: the best stage found there, or nothing."""
    rows = []
    for visit in visits:
        share = {s.spot_id: s.thoroughness for s in visit.searches}
        for find in visit.finds:
            share.setdefault(find.spot_id, 0.6)
        for spot, thoroughness in share.items():
            if spot in spots:
                stages = {f.stage for f in visit.finds if f.spot_id == spot and f.taxon_id == taxon_id}
                best = next((CODE[s] for s in ("prime", "young", "past") if s in stages), NONE)
                day = (season_of(visit.day), day_number(visit.day))
                rows.append((spots.index(spot), *day, best, thoroughness))
    return sorted(rows)


def rows_of(looks: Looks) -> list[tuple[int, int, int, int, float]]:
    columns = (looks.spot, looks.season, looks.day, looks.outcome, looks.thoroughness)
    return sorted(zip(*(column.tolist() for column in columns), strict=True))


@pytest.mark.parametrize("seed", range(5))
def test_columns_say_what_the_visits_say(seed: int) -> None:
    visits, spots = invented(seed), ["s3", "s0", "s4", "nobody's"]
    seen = sightings_of(visits)
    position = {spot: n for n, spot in enumerate(spots)}
    for taxon_id in ("kind", "other", "never found"):
        looks = seen.looks_for(taxon_id, position)
        assert rows_of(looks) == by_hand(taxon_id, visits, spots)
        assert (np.diff(looks.day) >= 0).all()
    assert seen.visits == len(visits)
    weighed = [
        f.fresh_g for v in visits for f in v.finds if (f.taxon_id, f.stage) == ("kind", "prime") and f.fresh_g
    ]
    assert sorted(seen.prime_weights_g("kind")) == sorted(weighed)


def test_seasons_put_together_and_cut_at_a_day_are_the_visits_up_to_it() -> None:
    visits, spots = invented(9), {f"s{n}": n for n in range(5)}
    parts = [sightings_of([v for v in visits if season_of(v.day) == year]) for year in range(2020, 2026)]
    day = date(2023, 10, 1)
    cut = joined(parts).until(season_of(day), day_number(day))
    before = [visit for visit in visits if visit.day <= day]
    assert 0 < len(before) < len(visits)
    assert rows_of(cut.looks_for("kind", spots)) == by_hand("kind", before, list(spots))
    assert joined([]).looks_for("kind", spots).day.tolist() == []
    assert as_sightings(cut) is cut


OLD = (
    look(date(2023, 9, 25), "prime"),
    look(date(2024, 9, 20)),
    look(date(2024, 9, 28), spot="maple"),
    look(date(2025, 9, 20)),
)


def prime(visits: tuple[Visit, ...] = OLD, climate: Climate = PLACE, kind: Kind = KIND) -> list[float]:
    table = chance_table([OAK, MAPLE], [kind], [TODAY], climates={"wood": climate}, visits=visits)
    return [float(p) for p in table.prime[:, 0, 0]]


def changed() -> dict[str, tuple[tuple[Visit, ...], Climate, Kind]]:
    """The record with one thing of an earlier season changed at a time."""
    warm = SeasonWeather(1.5 * PLACE.usual.warmth, PLACE.usual.hard_freeze, PLACE.usual.frost, 365)
    assert KIND.memory is not None
    assert KIND.season is not None
    return {
        "a find becomes past": ((look(date(2023, 9, 25), "past"), *OLD[1:]), PLACE, KIND),
        "a day moves": ((look(date(2023, 9, 12), "prime"), *OLD[1:]), PLACE, KIND),
        "a look less": (OLD[1:], PLACE, KIND),
        "a glance": ((OLD[0], look(date(2024, 9, 20), thoroughness=0.3), *OLD[2:]), PLACE, KIND),
        "the weather of a season": (OLD, replace(PLACE, seasons={2024: warm}), KIND),
        "the book's season": (
            OLD,
            PLACE,
            replace(KIND, season=KIND.season.model_copy(update={"median": 255.0})),
        ),
        "the book's detection": (
            OLD,
            PLACE,
            replace(KIND, memory=KIND.memory.model_copy(update={"detection": 0.6})),
        ),
    }


@pytest.mark.parametrize("name", changed())
def test_kept_evidence_answers_only_what_it_was_reckoned_from(name: str) -> None:
    case = changed()[name]
    prime()
    with_memory = prime(*case)
    kept._KEPT.clear()
    assert prime(*case) == with_memory
    assert with_memory != prime()


def test_a_second_answer_reckons_no_finished_season_anew(monkeypatch: pytest.MonkeyPatch) -> None:
    first = prime()
    monkeypatch.setattr(kept, "leap_likelihood", None)  # calling it would fail
    today = (*OLD, look(TODAY, "young"))
    assert prime(today) != first
