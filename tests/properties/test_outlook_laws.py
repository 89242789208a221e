"""Laws that every forecast keeps, whatever was seen."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from underoak.model.book import Habitat, Memory, Season, Weight
from underoak.model.ground import Spot
from underoak.model.visits import Find, FlushStage, Search, Visit
from underoak.outlook.drivers import climate_without_station
from underoak.outlook.forecast import ChanceTable, chance_table

TODAY = date(2024, 9, 26)
PLACE = climate_without_station(latitude_deg=41.5, elevation_m=100.0)
SPOTS = [Spot(name, "wood", name, -74.0, 41.5, "oak") for name in ("a", "b")]


@dataclass(frozen=True)
class Kind:
    """An invented taxon."""

    season: Season
    memory: Memory
    habitat: Habitat
    weight: Weight | None = None
    id: str = "kind"


KIND = Kind(
    Season(source="own_judgement", anchor="day_of_year", median=270.0, sd_days=16.0, prime_days=7.0),
    Memory(source="own_judgement", inhabited=0.3, returns=0.6, detection=0.8),
    Habitat(source="own_judgement", hosts={"oak": 1.0}, substrate=("soil",), habit=("single",)),
)
stages: st.SearchStrategy[FlushStage | None] = st.sampled_from([None, None, None, "young", "prime", "past"])
looks = st.tuples(
    st.integers(2021, 2024), st.integers(-50, 0), st.sampled_from(["a", "b"]), stages, st.floats(0.05, 1.0)
)
histories = st.lists(looks, max_size=8)


def visit(season: int, off: int, spot: str, stage: FlushStage | None, thoroughness: float) -> Visit:
    day = TODAY.replace(year=season) + timedelta(days=off)
    name = f"{day}{spot}{stage}{thoroughness}"
    finds = (Find(name, spot, "kind", stage),) if stage else ()
    return Visit(name, day, "wood", searches=(Search(spot, thoroughness),), finds=finds)


def chances(history: list[tuple[int, int, str, FlushStage | None, float]], *more: Visit) -> ChanceTable:
    visits = [visit(*look) for look in history] + list(more)
    days = [TODAY + timedelta(days=n) for n in range(10)]
    return chance_table(SPOTS, [KIND], days, climates={"wood": PLACE}, visits=visits)


@settings(max_examples=25, deadline=None)
@given(histories)
def test_chances_are_chances_and_lie_in_their_interval(
    history: list[tuple[int, int, str, FlushStage | None, float]],
) -> None:
    table = chances(history)
    for part in (table.prime, table.low, table.high, table.found):
        assert np.all(np.isfinite(part))
        assert np.all((part > 0.0) & (part < 1.0))
    assert np.all(table.low <= table.prime)
    assert np.all(table.prime <= table.high)
    assert np.all(table.found <= table.prime)


@settings(max_examples=20, deadline=None)
@given(histories, st.floats(0.1, 1.0))
def test_a_blank_today_never_raises_today_and_a_prime_find_never_lowers_it(
    history: list[tuple[int, int, str, FlushStage | None, float]], thoroughness: float
) -> None:
    before = chances(history).prime[0, 0, 0]
    blank = chances(history, visit(2024, 0, "a", None, thoroughness)).prime[0, 0, 0]
    found = chances(history, visit(2024, 0, "a", "prime", thoroughness)).prime[0, 0, 0]
    assert blank <= before * (1.0 + 1e-9)
    assert found >= before * (1.0 - 1e-9)


@settings(max_examples=15, deadline=None)
@given(histories)
def test_the_order_of_visits_does_not_matter(
    history: list[tuple[int, int, str, FlushStage | None, float]],
) -> None:
    forward, backward = chances(history), chances(history[::-1])
    assert np.allclose(forward.prime, backward.prime, rtol=1e-9)
