"""What a household would have carried home by following a forecast."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from underoak.outlook.flush_weight import mean_flush_g
from underoak.outlook.season import day_number, season_of

if TYPE_CHECKING:
    from underoak.model.visits import Visit
    from underoak.outlook.leave_out import TaxonCase

FloatArray = npt.NDArray[np.float64]

#: Spots of a visit that count as ranked first.
TOP_SPOTS = 3


class Catch:
    """Kilograms found at the spots that a forecast ranks first on each visit, for the time spent there."""

    def __init__(self, cases: Sequence[TaxonCase], visits: Sequence[Visit]) -> None:
        self._cases = cases
        self._visits = [visit for visit in visits if visit.searches and visit.minutes]
        position = cases[0].spots.position if cases else {}
        self._spots = {
            id(visit): [position[s.spot_id] for s in visit.searches if s.spot_id in position]
            for visit in self._visits
        }
        self._position = position

    def kg_per_hour(self, parts: Sequence[FloatArray]) -> float:
        """``parts`` holds one array of chances (looks,) for each case."""
        expected: dict[tuple[int, int, int], float] = {}
        for case, chance in zip(self._cases, parts, strict=True):
            weight = case.known.taxon.weight
            kilograms = mean_flush_g(weight) / 1000.0 if weight else 0.0
            looks = case.looks
            keys = zip(looks.season.tolist(), looks.day.tolist(), looks.spot.tolist(), strict=True)
            for key, p in zip(keys, chance.tolist(), strict=True):
                expected[key] = expected.get(key, 0.0) + p * kilograms
        kilograms_found = hours = 0.0
        for visit in self._visits:
            season, day = season_of(visit.day), day_number(visit.day)
            spots = self._spots[id(visit)]
            ranked = sorted(spots, key=lambda s: -expected.get((season, day, s), 0.0))[:TOP_SPOTS]
            hours += (visit.minutes or 0.0) / 60.0 * len(ranked) / max(len(spots), 1)
            kilograms_found += sum(
                (find.fresh_g or 0.0) / 1000.0
                for find in visit.finds
                if find.stage == "prime" and self._position.get(find.spot_id) in ranked
            )
        return kilograms_found / hours if hours else 0.0
