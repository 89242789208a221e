"""The outlook over all inventoried trees, on this machine or on a Dask cluster."""

from __future__ import annotations

import csv
import importlib
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, timedelta
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from underoak.errors import NoAnswer, UserMistake

if TYPE_CHECKING:
    from underoak.ledger.connection import Ledger
    from underoak.model.ground import Place, Spot
    from underoak.outlook.region import PartOutlook, RegionPart
    from underoak.settings import Home

Reckon = Callable[[Callable[["RegionPart"], "PartOutlook"], Sequence["RegionPart"]], list["PartOutlook"]]


@dataclass(frozen=True, slots=True)
class PlaceRow:
    """One place and taxon: trees and spots, and for every day the kilograms and the best chance."""

    place: str
    taxon: str
    spots: int
    expected_kg: tuple[float, ...]
    best_chance: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class RegionOutlook:
    """All places, most kilograms first."""

    days: tuple[date, ...]
    rows: tuple[PlaceRow, ...]
    spots: int
    parts: int


def region_outlook(home: Home, *, today: date, reckon: Reckon) -> RegionOutlook:
    """Ten days over every known spot and every inventoried tree inside a known place.

    ``reckon`` maps a function over the parts: `on_this_machine`, or one of `dask_cluster`; both give the
    same numbers.

    Raises
    ------
    NoAnswer   when no place has a spot or a tree
    """
    from underoak.book.load import load_book
    from underoak.desk.place_weather import place_climates
    from underoak.desk.season_record import gathered_taxa
    from underoak.desk.track_record import track_record
    from underoak.ledger.database import open_ledger
    from underoak.ledger.places import places
    from underoak.ledger.reports import reports
    from underoak.ledger.visits import visits
    from underoak.outlook.region import joined, part_outlook, region_parts
    from underoak.outlook.season import season_of
    from underoak.outlook.sightings import sightings_of

    book = load_book()
    taxa = gathered_taxa(book)
    days = [today + timedelta(days=n) for n in range(10)]
    days = [day for day in days if season_of(day) == season_of(today)]
    connection = open_ledger(home.ledger)
    try:
        known = places(connection)
        spots = _all_spots(connection, known)
        if not spots:
            raise NoAnswer("no place has a spot or a tree", remedy="load trees: underoak load trees FILE")
        climates, _ = place_climates(connection, home.settings.where, known, today=today)
        learned, _ = track_record(connection, book, today=today)
        seen = sightings_of(visits(connection, until=today))
        told = reports(connection, until=today)
    finally:
        connection.close()
    parts = list(region_parts(spots, climates=climates, visits=seen))
    job = partial(part_outlook, taxa=taxa, days=days, visits=seen, reports=told, learned=learned)
    whole = joined(reckon(job, parts))
    names = {place.id: place.name for place in known}
    rows = [
        PlaceRow(
            place=names[place_id],
            taxon=taxon.scientific_name,
            spots=part.spots,
            expected_kg=tuple(part.expected_kg[t].tolist()),
            best_chance=tuple(part.best_chance[t].tolist()),
        )
        for place_id, part in whole.items()
        for t, taxon in enumerate(taxa)
    ]
    rows.sort(key=lambda row: -max(row.expected_kg))
    return RegionOutlook(tuple(days), tuple(rows), len(spots), len(parts))


def on_this_machine(job: Callable[[Any], Any], parts: Sequence[Any]) -> list[Any]:
    """Reckon the parts one after the other."""
    return [job(part) for part in parts]


@contextmanager
def dask_cluster(*, scheduler: str | None, workers: int) -> Iterator[Reckon]:
    """Reckon the parts on a running Dask cluster, or on ``workers`` processes started for it here.

    A part whose worker is lost is reckoned again elsewhere.

    Raises
    ------
    UserMistake   when Dask is not installed, or no scheduler answers at the address
    """
    try:
        dask = importlib.import_module("distributed")
    except ImportError as error:
        raise UserMistake(
            "a cluster needs Dask, which is not installed", remedy="pip install 'dask[distributed]'"
        ) from error
    if scheduler is None:
        cluster = dask.LocalCluster(n_workers=workers, threads_per_worker=1, dashboard_address=None)
        with cluster, dask.Client(cluster) as client:
            yield partial(_on_client, client)
        return
    try:
        client = dask.Client(scheduler, timeout=10)
    except OSError as error:
        raise UserMistake(f"no Dask scheduler answers at {scheduler}", remedy="check the address") from error
    with client:
        yield partial(_on_client, client)


def _on_client(client: Any, job: Callable[[Any], Any], parts: Sequence[Any]) -> list[Any]:
    return list(client.gather(client.map(job, parts, pure=False, retries=3)))


def write_region(outlook: RegionOutlook, path: Path) -> None:
    """One line for each place, taxon and day: kilograms expected and the best chance."""
    with path.open("w", newline="", encoding="utf-8") as file:
        table = csv.writer(file)
        table.writerow(["place", "taxon", "day", "spots", "expected_kg", "best_chance"])
        for row in outlook.rows:
            for day, kg, chance in zip(outlook.days, row.expected_kg, row.best_chance, strict=True):
                table.writerow([row.place, row.taxon, day, row.spots, f"{kg:.6g}", f"{chance:.6g}"])


def _all_spots(connection: Ledger, known: Sequence[Place]) -> list[Spot]:
    """Known spots, and every tree that is none of them and stands inside a place."""
    import numpy as np
    import shapely

    from underoak.ledger.ground import trees
    from underoak.ledger.places import spots
    from underoak.model.ground import Spot

    named = spots(connection)
    taken = {spot.tree_id for spot in named}
    standing = [tree for tree in trees(connection) if tree.id not in taken]
    lon = np.array([tree.longitude_deg for tree in standing])
    lat = np.array([tree.latitude_deg for tree in standing])
    free = np.ones(len(standing), dtype=bool)
    everything = list(named)
    for place in known:
        rings = [shapely.Polygon(polygon[0], polygon[1:]) for polygon in place.polygons]
        inside = free & shapely.contains_xy(shapely.union_all(rings), lon, lat)
        free &= ~inside
        everything += [
            Spot(
                f"tree:{tree.id}",
                place.id,
                "",
                tree.longitude_deg,
                tree.latitude_deg,
                tree.host_group,
                tree.diameter_cm,
            )
            for tree in (standing[n] for n in np.flatnonzero(inside).tolist())
        ]
    return everything
