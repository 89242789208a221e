"""One taxon over the household's spots, season by season: what earlier ones leave, what this one shows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from underoak.outlook.memory import Recall, recall
from underoak.outlook.season_evidence import season_evidence
from underoak.outlook.season_prior import SEASON_SHARE
from underoak.outlook.season_rows import SEASON_POINTS, Belief, normal_points, own_points, season_belief

if TYPE_CHECKING:
    from underoak.outlook.drivers import Climate, SeasonWeather
    from underoak.outlook.knowledge import Knowledge
    from underoak.outlook.looks import Looks
    from underoak.outlook.reports import ReportDays
    from underoak.outlook.season_prior import Onset
    from underoak.outlook.taxon_outlook import Spots

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.intp]

#: Fewer past years than this do not stand in for the days ahead.
FEWEST_WAYS = 3


def ways_on(climates: Mapping[str, Climate], season: int, day: int) -> list[Mapping[str, Climate]]:
    """The climates once for each past year that may follow, the same year at all places, up to a season day.

    One way, the climates as they are, where the weather is known so far or too few years may follow.
    """
    years = set.intersection(*(climate.open_years(season, day) for climate in climates.values()))
    if len(years) < FEWEST_WAYS:
        return [climates]
    return [{p: climate.following(year) for p, climate in climates.items()} for year in sorted(years)]


@dataclass(frozen=True, slots=True)
class SeasonEngine:
    """One taxon's knowledge over the household's spots, asked season by season."""

    known: Knowledge
    spots: Spots
    climates: Mapping[str, Climate]

    def recalled(self, looks: Looks, looked: IntArray) -> Recall:
        """What the looks of earlier seasons leave to believe about each spot.

        ``looked`` holds the positions of all spots the household ever looked at, in any shape.
        """
        spots = len(self.spots.ids)
        keys, row = np.unique(looks.season * spots + looks.spot, return_inverse=True)
        season, spot = np.divmod(keys, spots)
        places = self.spots.place_ids
        kinds, kind = np.unique(season * len(places) + self.spots.place[spot], return_inverse=True)
        asked = [(places[k % len(places)], k // len(places)) for k in kinds.tolist()]
        fruited, blank = season_evidence(
            [self.known.onset(self.climates[p], y, p) for p, y in asked],
            [self.climates[p].of(y) for p, y in asked],
            kind,
            looks=looks,
            row_of_look=row,
            detection=self.known.detection,
        )
        return recall(
            self.known.inhabited(self.spots, looked),
            self.known.returns,
            fruited=fruited,
            blank=blank,
            spot=spot,
            log_weight=own_points()[1],
        )

    def this_season(
        self,
        looks: Looks,
        season: int,
        wanted: IntArray,
        *,
        before: Recall,
        reports: ReportDays | None,
        ways: Sequence[Mapping[str, Climate]] = (),
    ) -> tuple[IntArray, Belief]:
        """Row (spots,) of every spot, and what is believed of each row, one block of rows for each way on.

        Rows below the number of places stand for all spots of a place that nobody ever looked at, given
        that they fruit; ``looks`` hold this season and those before it.
        """
        places = len(self.spots.place_ids)
        seen = np.unique(looks.spot)
        row = self.spots.place.copy()
        row[seen] = places + np.arange(len(seen))
        onsets: list[Onset] = []
        weather: list[SeasonWeather] = []
        for climates in ways or [self.climates]:
            for some in (
                self._blank_rows(season, climates),
                self._rows(seen, np.full(len(seen), season), climates),
            ):
                onsets += some[0]
                weather += some[1]
        now = looks.where(looks.season == season)
        points, weights = own_points()
        belief = season_belief(
            onsets,
            weather,
            now,
            row[now.spot],
            wanted,
            detection=self.known.detection,
            active=np.concatenate([np.ones((places, len(points))), before.active[seen]]),
            own_weight=np.concatenate([np.tile(weights, (places, 1)), before.log_weight[seen]]),
            season_says=self._reported(season, wanted, reports),
            ways=max(len(ways), 1),
        )
        return row, belief

    def _blank_rows(
        self, season: int, climates: Mapping[str, Climate]
    ) -> tuple[list[Onset], list[SeasonWeather]]:
        places = self.spots.place_ids
        onsets = [self.known.onset(climates[p], season, p) for p in places]
        return onsets, [climates[p].of(season) for p in places]

    def _rows(
        self, spot: IntArray, season: IntArray, climates: Mapping[str, Climate]
    ) -> tuple[list[Onset], list[SeasonWeather]]:
        onsets, weather = [], []
        known: dict[tuple[str, int], Onset] = {}
        for s, y in zip(spot.tolist(), season.tolist(), strict=True):
            place = self.spots.place_ids[self.spots.place[s]]
            if (place, y) not in known:
                known[place, y] = self.known.onset(climates[place], y, place)
            onsets.append(known[place, y])
            weather.append(climates[place].of(y))
        return onsets, weather

    def _reported(self, season: int, wanted: IntArray, reports: ReportDays | None) -> FloatArray:
        """Log-likelihood (season points, wanted days) of the season's reports so far, region summed out."""
        scores, log_weight = normal_points(SEASON_POINTS)
        says = np.zeros((SEASON_POINTS, len(wanted)))
        if reports is None or not (reports.season == season).any():
            return says
        mean, sd = self.known.region()
        width = SEASON_SHARE * self.known.season.sd_days
        shift = (scores[:, None] * width + mean + sd * scores[None, :]).ravel()
        for at, day in enumerate(wanted.tolist()):
            here = reports.until(season, day).log_likelihood(shift, day).sum(axis=1)
            cells = here.reshape(SEASON_POINTS, SEASON_POINTS) + log_weight
            says[:, at] = np.logaddexp.reduce(cells, axis=1)
        return says
