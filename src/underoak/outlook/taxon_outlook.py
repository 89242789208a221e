"""The outlook of one taxon over all spots."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Protocol

import numpy as np
import numpy.typing as npt

from underoak.outlook.looks import Looks
from underoak.outlook.memory import Recall, recall
from underoak.outlook.season_evidence import season_evidence
from underoak.outlook.season_prior import SEASON_SHARE
from underoak.outlook.season_rows import SEASON_POINTS, Belief, normal_points, own_points, season_belief

if TYPE_CHECKING:
    from underoak.model.book import Habitat, Memory, Season, Weight
    from underoak.model.ground import Spot
    from underoak.outlook.drivers import Climate, SeasonWeather
    from underoak.outlook.knowledge import Knowledge
    from underoak.outlook.reports import ReportDays
    from underoak.outlook.season_prior import Onset
    from underoak.outlook.weather_terms import Bound

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.intp]

#: Fewer past years than this do not stand in for the days ahead.
FEWEST_WAYS = 3


class Forecastable(Protocol):
    """What the outlook needs of a taxon of the book."""

    @property
    def id(self) -> str:
        """Key of the taxon."""

    @property
    def season(self) -> Season | None:
        """When it fruits."""

    @property
    def memory(self) -> Memory | None:
        """How its spots behave over the years."""

    @property
    def habitat(self) -> Habitat:
        """Where it grows."""

    @property
    def weight(self) -> Weight | None:
        """What a prime flush weighs."""


@dataclass(frozen=True, slots=True)
class Spots:
    """Spots as columns, for many taxa at once; ``place`` (spots,) is a position in ``place_ids``."""

    ids: tuple[str, ...]
    position: Mapping[str, int]
    host_groups: tuple[str, ...]
    diameters_cm: FloatArray
    place_ids: tuple[str, ...]
    place: IntArray


def spot_columns(spots: Sequence[Spot]) -> Spots:
    """Columns of the spots, in their order."""
    place_ids = tuple(dict.fromkeys(spot.place_id for spot in spots))
    number = {place_id: n for n, place_id in enumerate(place_ids)}
    return Spots(
        ids=tuple(spot.id for spot in spots),
        position={spot.id: n for n, spot in enumerate(spots)},
        host_groups=tuple(spot.host_group for spot in spots),
        diameters_cm=np.array(
            [np.nan if spot.diameter_cm is None else spot.diameter_cm for spot in spots], dtype=np.float64
        ),
        place_ids=place_ids,
        place=np.array([number[spot.place_id] for spot in spots], dtype=np.intp),
    )


@dataclass(frozen=True, slots=True)
class TaxonChances:
    """Chance of prime (spots, wanted days), the spread of its logit, and the chance to fruit this season.

    ``logit_down`` and ``logit_up``, 0 or more, are how far the logit may lie below and above because gaps
    in the rain leave the ground open.
    """

    prime: FloatArray
    logit_sd: FloatArray
    active: FloatArray
    logit_down: FloatArray | float = 0.0
    logit_up: FloatArray | float = 0.0


def taxon_chances(
    known: Knowledge,
    spots: Spots,
    season: int,
    wanted: IntArray,
    *,
    climates: Mapping[str, Climate],
    looks: Looks,
    reports: ReportDays | None = None,
) -> TaxonChances:
    """Chance of prime of one taxon at every spot on the wanted days of a season; see `forecast.chance_table`.

    ``looks`` may hold all seasons; those after the last wanted day are not used.

    Method for gaps in this season's rain, where a weather term is on: the same chance again on the driest
    and on the wettest ground that they leave open; the farthest of them bound it.
    """
    engine = SeasonEngine(known, spots, climates)
    until = (looks.season < season) | ((looks.season == season) & (looks.day <= wanted[-1]))
    looks = looks.where(until)
    before = engine.recalled(looks.where(looks.season < season), looks.spot)
    ways = ways_on({p: climates[p] for p in spots.place_ids}, season, int(wanted[-1]))

    def believed(bound: Bound) -> tuple[IntArray, Belief]:
        at_bound = [{p: climate.at_bound(season, bound) for p, climate in way.items()} for way in ways]
        return engine.this_season(looks, season, wanted, before=before, reports=reports, ways=at_bound)

    row, belief = believed("")
    chance, spread = belief.over_ways(belief.active * belief.prime)
    fruits, _ = belief.over_ways(belief.active)
    unseen = row < len(spots.place_ids)
    own = np.where(unseen, before.mean_active, 1.0)[:, None]
    prime = np.clip(own * chance[row], 1e-9, 1.0 - 1e-9)
    active = own * fruits[row]
    log_sd = np.hypot(
        (1.0 - active) * before.active_logit_sd[:, None], spread[row] / np.maximum(chance[row], 1e-12)
    )
    plain = TaxonChances(prime, log_sd / (1.0 - prime), active)
    terms = [name for name, _ in known.term_effects]
    if not terms or not any(c.of(season).open_by(int(wanted[-1]), terms) for w in ways for c in w.values()):
        return plain
    bounds: tuple[Bound, ...] = ("_low", "_high")
    beliefs = [believed(bound)[1] for bound in bounds]
    dry_wet = [b.over_ways(b.active * b.prime)[0][row] for b in beliefs]
    apart = [_logit(np.clip(own * chances, 1e-9, 1.0 - 1e-9)) - _logit(prime) for chances in dry_wet]
    up, down = np.maximum(*apart), np.minimum(*apart)
    return replace(plain, logit_down=np.maximum(-down, 0.0), logit_up=np.maximum(up, 0.0))


def _logit(chance: FloatArray) -> FloatArray:
    odds: FloatArray = np.log(chance) - np.log1p(-chance)
    return odds


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
