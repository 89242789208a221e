"""All that visits saw, of every taxon at once: read once, asked taxon by taxon."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from underoak.model.visits import Visit
from underoak.outlook.looks import NONE, PAST, PRIME, UNLISTED_LOOK, YOUNG, Looks
from underoak.outlook.season import day_number, season_of

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.intp]
BoolArray = npt.NDArray[np.bool_]

_STAGE = {"young": YOUNG, "prime": PRIME, "past": PAST}
#: What a look counts as when a spot gave several: the first of these.
_BEST = np.array([PRIME, YOUNG, PAST, NONE], dtype=np.intp)
_RANK = np.argsort(_BEST)


@dataclass(frozen=True, slots=True, eq=False)
class Sightings:
    """Looks at spots, and what they found, as columns.

    ``spot`` (looks,) is a position in ``spot_ids``; ``season`` and ``day`` (looks,) a year and a season day
    number, ``thoroughness`` (looks,) 0 to 1. Finds: ``look`` (finds,) is the position of their look,
    ``taxon`` a position in ``taxon_ids``, ``stage`` an outcome of `looks`, ``fresh_g`` NaN where nobody
    weighed. ``visits`` is how many there were.
    """

    spot_ids: tuple[str, ...]
    taxon_ids: tuple[str, ...]
    spot: IntArray
    season: IntArray
    day: IntArray
    thoroughness: FloatArray
    look: IntArray
    taxon: IntArray
    stage: IntArray
    fresh_g: FloatArray
    visits: int

    def until(self, season: int, day: int) -> Sightings:
        """What was seen up to and with a season day."""
        keep = (self.season < season) | ((self.season == season) & (self.day <= day))
        return self if keep.all() else self._where(keep)

    def looks_for(self, taxon_id: str, position: Mapping[str, int]) -> Looks:
        """The looks at the spots of ``position`` for one taxon, by day: what was found, or that nothing was.

        ``position`` maps spot id to position among the spots of a forecast; other spots are left out.
        """
        at = np.array([position.get(spot_id, -1) for spot_id in self.spot_ids], dtype=np.intp)
        spot = at[self.spot] if len(at) else self.spot
        rank = np.full(len(self.spot), _RANK[NONE])
        if taxon_id in self.taxon_ids:
            mine = self.taxon == self.taxon_ids.index(taxon_id)
            np.minimum.at(rank, self.look[mine], _RANK[self.stage[mine]])
        keep = np.flatnonzero(spot >= 0)
        keep = keep[np.argsort(self.day[keep].astype(np.int16), kind="stable")]
        return Looks(
            spot[keep], self.season[keep], self.day[keep], _BEST[rank[keep]], self.thoroughness[keep]
        )

    def prime_weights_g(self, taxon_id: str) -> FloatArray:
        """What finds of prime flushes of a taxon weighed, g; those that were weighed."""
        if taxon_id not in self.taxon_ids:
            return np.zeros(0)
        mine = (self.taxon == self.taxon_ids.index(taxon_id)) & (self.stage == PRIME)
        weighed: FloatArray = self.fresh_g[mine & (self.fresh_g > 0.0)]
        return weighed

    def picked_on(self, taxon_id: str, position: Mapping[str, int], season: int, spots: int) -> FloatArray:
        """Season day (spots,) on which a prime flush of a taxon was weighed at each spot; infinite without.

        What was weighed was picked. ``position`` is as in `looks_for`.
        """
        first = np.full(spots, np.inf)
        if taxon_id not in self.taxon_ids:
            return first
        mine = (self.taxon == self.taxon_ids.index(taxon_id)) & (self.stage == PRIME) & (self.fresh_g > 0.0)
        look = self.look[mine]
        look = look[self.season[look] == season]
        at = np.array([position.get(spot_id, -1) for spot_id in self.spot_ids], dtype=np.intp)[
            self.spot[look]
        ]
        np.minimum.at(first, at[at >= 0], self.day[look[at >= 0]])
        return first

    def _where(self, keep: BoolArray) -> Sightings:
        found = keep[self.look]
        return replace(
            self,
            spot=self.spot[keep],
            season=self.season[keep],
            day=self.day[keep],
            thoroughness=self.thoroughness[keep],
            look=(np.cumsum(keep) - 1)[self.look[found]],
            taxon=self.taxon[found],
            stage=self.stage[found],
            fresh_g=self.fresh_g[found],
        )


def sightings_of(visits: Iterable[Visit]) -> Sightings:
    """The visits as columns.

    A find at a spot that its visit did not list as searched was seen by a look around (`UNLISTED_LOOK`).
    """
    spots, taxa = _Numbers(), _Numbers()
    looks: list[tuple[int, int, int, float]] = []
    finds: list[tuple[int, int, int, float]] = []
    count = 0
    for visit in visits:
        count += 1
        season, day = season_of(visit.day), day_number(visit.day)
        thoroughness = {search.spot_id: search.thoroughness for search in visit.searches}
        for find in visit.finds:
            thoroughness.setdefault(find.spot_id, UNLISTED_LOOK)
        row = {spot_id: len(looks) + n for n, spot_id in enumerate(thoroughness)}
        looks += [(spots.of(spot_id), season, day, share) for spot_id, share in thoroughness.items()]
        finds += [
            (row[f.spot_id], taxa.of(f.taxon_id), _STAGE[f.stage], f.fresh_g or np.nan) for f in visit.finds
        ]
    look, found = (np.array(rows, dtype=np.float64).reshape(-1, 4).T for rows in (looks, finds))
    spot, season_, day_ = look[:3].astype(np.intp)
    of_look, taxon, stage = found[:3].astype(np.intp)
    return Sightings(
        spots.names, taxa.names, spot, season_, day_, look[3], of_look, taxon, stage, found[3], count
    )


def joined(parts: Sequence[Sightings]) -> Sightings:
    """Several households' or seasons' sightings as one, in their order."""
    if not parts:
        return sightings_of(())
    spots, taxa = _Numbers(), _Numbers()
    spot = [np.array([spots.of(s) for s in p.spot_ids], dtype=np.intp)[p.spot] for p in parts]
    taxon = [np.array([taxa.of(t) for t in p.taxon_ids], dtype=np.intp)[p.taxon] for p in parts]
    starts = np.cumsum([0, *(len(p.spot) for p in parts)])
    return Sightings(
        spots.names,
        taxa.names,
        np.concatenate(spot),
        np.concatenate([p.season for p in parts]),
        np.concatenate([p.day for p in parts]),
        np.concatenate([p.thoroughness for p in parts]),
        np.concatenate([p.look + start for p, start in zip(parts, starts, strict=False)]),
        np.concatenate(taxon),
        np.concatenate([p.stage for p in parts]),
        np.concatenate([p.fresh_g for p in parts]),
        sum(p.visits for p in parts),
    )


def as_sightings(visits: Sequence[Visit] | Sightings) -> Sightings:
    """Visits as columns, whichever way they come."""
    return visits if isinstance(visits, Sightings) else sightings_of(visits)


class _Numbers:
    """Names numbered in the order in which they first come."""

    def __init__(self) -> None:
        self._number: dict[str, int] = {}

    def of(self, name: str) -> int:
        return self._number.setdefault(name, len(self._number))

    @property
    def names(self) -> tuple[str, ...]:
        return tuple(self._number)
