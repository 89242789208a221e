"""A region in parts gives the numbers of one table, on a cluster too, and survives a lost worker."""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import partial
from typing import Any

import numpy as np
import pytest

from underoak.desk.region_outlook import dask_cluster, on_this_machine
from underoak.errors import UserMistake
from underoak.model.book import Habitat, Memory, Season, Weight
from underoak.model.ground import Spot
from underoak.model.visits import Find, Report, Search, Visit
from underoak.outlook.drivers import Climate, climate_without_station
from underoak.outlook.forecast import ChanceTable, chance_table
from underoak.outlook.region import PartOutlook, RegionPart, joined, part_outlook, region_parts

DAYS = [date(2025, 9, 20) + timedelta(days=n) for n in range(10)]
PLACES = [f"wood {n}" for n in range(4)]


@dataclass(frozen=True)
class Kind:
    """An invented taxon."""

    season: Season
    memory: Memory
    habitat: Habitat
    weight: Weight
    id: str = "kind"


KIND = Kind(
    Season(source="own_judgement", anchor="day_of_year", median=270.0, sd_days=14.0, prime_days=8.0),
    Memory(source="own_judgement", inhabited=0.2, returns=0.6, detection=0.9),
    Habitat(source="own_judgement", hosts={"oak": 1.0}, substrate=("roots",), habit=("rosette",)),
    Weight(source="own_judgement", median_g=2000.0, p90_g=6000.0),
)
CLIMATES: dict[str, Climate] = {
    place: climate_without_station(latitude_deg=41.0 + n, elevation_m=100.0 + 90.0 * n)
    for n, place in enumerate(PLACES)
}
SPOTS = [Spot(f"{place}-{n}", place, "", -74.0, 41.0, "oak", 20.0 + n) for place in PLACES for n in range(30)]
VISITS = [
    Visit(
        f"v{year}",
        date(year, 9, 18),
        "wood 1",
        searches=tuple(Search(f"wood 1-{n}", 0.8) for n in range(6)),
        finds=(Find(f"f{year}", "wood 1-2", "kind", "prime"),),
    )
    for year in (2023, 2024, 2025)
]
REPORTS = [Report(f"r{n}", date(2025, 9, 1 + n), "kind", "kind", None, None) for n in range(12)]
JOB = partial(part_outlook, taxa=[KIND], days=DAYS, visits=VISITS, reports=REPORTS)


def parts(most_spots: int = 11) -> list[RegionPart]:
    return list(region_parts(SPOTS, climates=CLIMATES, visits=VISITS, most_spots=most_spots))


def whole_table(place: str) -> ChanceTable:
    """One table over all places, with the reports read against the climate of one of them."""
    return chance_table(
        SPOTS, [KIND], DAYS, climates=CLIMATES, visits=VISITS, reports=REPORTS, region=CLIMATES[place]
    )


def assert_equals_one_table(answer: list[PartOutlook]) -> None:
    whole = joined(answer)
    assert list(whole) == PLACES
    for n, place in enumerate(PLACES):
        table = whole_table(place)
        mine = slice(30 * n, 30 * (n + 1))
        assert whole[place].spots == 30
        assert np.allclose(
            whole[place].expected_kg, table.expected_kg[mine].sum(axis=0), rtol=1e-12, atol=0.0
        )
        assert np.allclose(whole[place].best_chance, table.prime[mine].max(axis=0), rtol=1e-12, atol=0.0)


@pytest.fixture(scope="module")
def cluster() -> Iterator[Any]:
    distributed = pytest.importorskip("distributed", reason="Dask is an extra and not installed here")
    with distributed.LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as two:
        yield two


def test_parts_give_the_numbers_of_one_table() -> None:
    assert len(parts()) == 12
    assert_equals_one_table(on_this_machine(JOB, parts()))
    assert_equals_one_table(on_this_machine(JOB, parts(most_spots=1000)))


def test_each_place_reads_the_reports_against_its_own_climate() -> None:
    """Autumn comes earlier in the north and on the heights: the same days of reports are late there."""
    south, north = (whole_table(place).prime[119, 0, 0] for place in (PLACES[0], PLACES[3]))
    assert abs(north / south - 1.0) > 0.02
    last = joined(on_this_machine(JOB, parts()))["wood 3"]
    assert last.best_chance[0, 0] == pytest.approx(whole_table("wood 3").prime[90:, 0, 0].max(), rel=1e-12)


def test_every_part_knows_all_looks_once() -> None:
    for part in parts():
        ids = [spot.id for spot in (*part.spots, *part.looked_at)]
        assert len(ids) == len(set(ids))
        assert {f"wood 1-{n}" for n in range(6)} <= set(ids)


@pytest.mark.filterwarnings("ignore")
def test_two_workers_give_the_same(cluster: Any) -> None:
    with dask_cluster(scheduler=cluster.scheduler_address, workers=0) as reckon:
        assert_equals_one_table(reckon(JOB, parts()))


def slow(part: RegionPart) -> PartOutlook:
    time.sleep(0.4)
    return JOB(part)


@pytest.mark.filterwarnings("ignore")
def test_a_killed_worker_is_survived(cluster: Any) -> None:
    distributed = pytest.importorskip("distributed")
    with distributed.Client(cluster) as client:
        pids = list(client.run(os.getpid).values())
        futures = client.map(slow, parts(), pure=False, retries=3)
        time.sleep(0.6)
        os.kill(pids[0], signal.SIGKILL)
        assert_equals_one_table(client.gather(futures))


def test_without_dask_the_person_is_told_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    import sys

    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(UserMistake, match="Dask"), dask_cluster(scheduler=None, workers=2):
        pass


def test_a_part_is_cut_by_place() -> None:
    assert {
        spot.place_id for part in parts() for spot in part.spots if part.place_id != spot.place_id
    } == set()
    lonely = replace(SPOTS[0], id="lonely", place_id="wood 3")
    last = list(region_parts([lonely], climates=CLIMATES))
    assert [part.place_id for part in last] == ["wood 3"]
