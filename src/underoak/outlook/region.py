"""A region too large for one table: cut into parts that give the same numbers wherever they are reckoned."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from underoak.outlook.forecast import chance_table
from underoak.outlook.sightings import Sightings, as_sightings

if TYPE_CHECKING:
    from underoak.model.ground import Spot
    from underoak.model.visits import Report, Visit
    from underoak.outlook.drivers import Climate
    from underoak.outlook.learned import Learned
    from underoak.outlook.taxon_outlook import Forecastable

FloatArray = npt.NDArray[np.float64]

#: Spots in one part at most: bounds the memory of a worker to some tens of megabytes a taxon.
MOST_SPOTS = 5000


@dataclass(frozen=True, slots=True)
class RegionPart:
    """Spots of one place, and every spot that was looked at anywhere: what they show of the season counts.

    ``climates`` holds the places of both. Others' reports are read against this place's own latitude,
    height and frost, not against one climate for all.
    """

    place_id: str
    spots: tuple[Spot, ...]
    looked_at: tuple[Spot, ...]
    climates: Mapping[str, Climate]


@dataclass(frozen=True, slots=True)
class PartOutlook:
    """One place's share of the answer: how many spots, and arrays of shape (taxa, days).

    ``expected_kg`` is summed over the spots, ``best_chance`` the highest chance of a prime flush.
    """

    place_id: str
    spots: int
    expected_kg: FloatArray
    best_chance: FloatArray


def region_parts(
    spots: Sequence[Spot],
    *,
    climates: Mapping[str, Climate],
    visits: Sequence[Visit] | Sightings = (),
    most_spots: int = MOST_SPOTS,
) -> Iterator[RegionPart]:
    """Cut a region by place, and large places into pieces of at most ``most_spots``."""
    seen = as_sightings(visits)
    looked = {seen.spot_ids[spot] for spot in np.unique(seen.spot).tolist()}
    looked_at = tuple(spot for spot in spots if spot.id in looked)
    by_place: dict[str, list[Spot]] = {}
    for spot in spots:
        by_place.setdefault(spot.place_id, []).append(spot)
    for place_id, mine in by_place.items():
        needed = {place_id} | {spot.place_id for spot in looked_at}
        for start in range(0, len(mine), most_spots):
            piece = tuple(mine[start : start + most_spots])
            inside = {spot.id for spot in piece}
            yield RegionPart(
                place_id=place_id,
                spots=piece,
                looked_at=tuple(spot for spot in looked_at if spot.id not in inside),
                climates={p: climates[p] for p in needed},
            )


def part_outlook(
    part: RegionPart,
    taxa: Sequence[Forecastable],
    days: Sequence[date],
    *,
    visits: Sequence[Visit] | Sightings = (),
    reports: Sequence[Report] = (),
    learned: Mapping[str, Learned] | None = None,
) -> PartOutlook:
    """The outlook of one part; equal to its share of one table over all places, read at its own place."""
    table = chance_table(
        [*part.spots, *part.looked_at],
        taxa,
        days,
        climates=part.climates,
        visits=visits,
        reports=reports,
        learned=learned,
        region=part.climates[part.place_id],
        with_interval=False,
    )
    own = slice(0, len(part.spots))
    return PartOutlook(
        place_id=part.place_id,
        spots=len(part.spots),
        expected_kg=table.expected_kg[own].sum(axis=0),
        best_chance=table.prime[own].max(axis=0),
    )


def joined(parts: Sequence[PartOutlook]) -> dict[str, PartOutlook]:
    """Pieces of the same place put together, by place id in their order."""
    whole: dict[str, PartOutlook] = {}
    for part in parts:
        before = whole.get(part.place_id)
        whole[part.place_id] = (
            part
            if before is None
            else PartOutlook(
                place_id=part.place_id,
                spots=before.spots + part.spots,
                expected_kg=before.expected_kg + part.expected_kg,
                best_chance=np.maximum(before.best_chance, part.best_chance),
            )
        )
    return whole
