"""The two tables of a week: woods by what they promise, and the spots that promise most."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    from underoak.model.book import Taxon
    from underoak.model.ground import Place, Spot
    from underoak.model.outlook import Chance
    from underoak.outlook.forecast import Basis, ChanceTable

    FloatArray = npt.NDArray[np.float64]
    IntArray = npt.NDArray[np.intp]

#: Spots that are told with their reasons: what fits one screen.
MOST_SPOTS = 8


@dataclass(frozen=True, slots=True)
class WoodOutlook:
    """One place and taxon over the days of the outlook; tuples have one value a day.

    ``best_chance`` is the highest chance of a prime flush at any of its known spots, ``best_low`` to
    ``best_high`` its 90 % interval, ``expected_kg`` the sum over them. ``spots`` is how many are known;
    0 means that a fitting tree stands in for them.
    """

    place_id: str
    place: str
    permission: str
    taxon_id: str
    taxon: str
    spots: int
    best_chance: tuple[float, ...]
    best_low: tuple[float, ...]
    best_high: tuple[float, ...]
    expected_kg: tuple[float, ...]

    @property
    def best_day(self) -> int:
        """Position of the day that promises most: by kilograms, then by chance."""
        return max(range(len(self.expected_kg)), key=lambda d: (self.expected_kg[d], self.best_chance[d]))


@dataclass(frozen=True, slots=True)
class SpotDay:
    """A known spot on its best day."""

    place: str
    spot: str
    taxon: str
    chance: Chance


def wood_rows(
    known: Sequence[Place], spots: Sequence[Spot], own: int, taxa: Sequence[Taxon], table: ChanceTable
) -> tuple[WoodOutlook, ...]:
    """One row for each place and taxon, most kilograms first; the first ``own`` spots are known ones."""
    rows = []
    for place in known:
        at = [n for n, spot in enumerate(spots) if spot.place_id == place.id]
        for t, taxon in enumerate(taxa):
            best = table.prime[at, t].argmax(axis=0)
            rows.append(
                WoodOutlook(
                    place_id=place.id,
                    place=place.name,
                    permission=place.permission.status,
                    taxon_id=taxon.id,
                    taxon=taxon.scientific_name,
                    spots=sum(n < own for n in at),
                    best_chance=_at_best(table.prime[at, t], best),
                    best_low=_at_best(table.low[at, t], best),
                    best_high=_at_best(table.high[at, t], best),
                    expected_kg=tuple(float(x) for x in table.expected_kg[at, t].sum(axis=0)),
                )
            )
    rows.sort(key=lambda row: -max(row.expected_kg))
    return tuple(rows)


def _at_best(values: FloatArray, best: IntArray) -> tuple[float, ...]:
    """Values (spots, days) at the best spot of each day."""
    return tuple(float(values[spot, day]) for day, spot in enumerate(best.tolist()))


def best_spots(
    places: Mapping[str, Place],
    spots: Sequence[Spot],
    taxa: Sequence[Taxon],
    days: Sequence[date],
    *,
    table: ChanceTable,
    basis: Basis,
) -> tuple[SpotDay, ...]:
    """The spots that promise most on their best day, each with its reasons.

    ``table`` may hold further spots after those of ``spots``.
    """
    from underoak.outlook.forecast import chance_record
    from underoak.outlook.reasons import Explanation

    kilograms = table.expected_kg[: len(spots)]
    pairs = [(s, t) for s in range(len(spots)) for t in range(len(taxa))]
    pairs.sort(key=lambda pair: -kilograms[pair].max())
    explained: dict[tuple[int, int], Explanation] = {}
    rows = []
    for s, t in pairs[:MOST_SPOTS]:
        d = int(kilograms[s, t].argmax())
        if (t, d) not in explained:
            explained[t, d] = Explanation(spots, [taxa[t]], [days[d]], basis)
        chance = chance_record(
            table, explained[t, d], spots[s], taxa[t], days[d], at=(s, t, d), explained_at=(s, 0, 0)
        )
        rows.append(SpotDay(places[spots[s].place_id].name, spots[s].name, taxa[t].scientific_name, chance))
    return tuple(rows)
