"""The outlook of one taxon over all spots."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

import numpy as np
import numpy.typing as npt

from underoak.errors import NoAnswer
from underoak.outlook.looks import Looks, looks_for
from underoak.outlook.memory import inhabited_chances, recall
from underoak.outlook.season_prior import Onset, onset_prior
from underoak.outlook.season_rows import RowStates, row_states

if TYPE_CHECKING:
    from underoak.model.book import Habitat, Memory, Season, Weight
    from underoak.model.ground import Spot
    from underoak.model.visits import Visit
    from underoak.outlook.drivers import Climate

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.intp]


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
        position={spot.id: n for n, spot in enumerate(spots)},
        host_groups=tuple(spot.host_group for spot in spots),
        diameters_cm=np.array(
            [np.nan if spot.diameter_cm is None else spot.diameter_cm for spot in spots], dtype=np.float64
        ),
        place_ids=place_ids,
        place=np.array([number[spot.place_id] for spot in spots], dtype=np.intp),
    )


def taxon_chances(
    taxon: Forecastable,
    spots: Spots,
    season: int,
    wanted: IntArray,
    *,
    climates: Mapping[str, Climate],
    visits: Sequence[Visit],
) -> tuple[FloatArray, FloatArray]:
    """Chance of prime (spots, wanted days) of one taxon, and the spread of its logit.

    ``wanted`` holds ascending day numbers of ``season``; see `forecast.chance_table`.

    Raises
    ------
    NoAnswer   when the book has no season or memory for the taxon
    """
    if taxon.season is None or taxon.memory is None:
        raise NoAnswer(
            f"the book has no season or memory for {taxon.id}, so nothing can be said of its days",
            remedy="add the blocks season and memory to its file in book/taxa",
        )
    looks = looks_for(taxon.id, visits, spots.position)
    engine = _Engine(taxon.season, taxon.memory.detection, spots, climates)
    earlier = looks.where(looks.season < season)
    past_spot, _, past = engine.visited(earlier, np.array([365], dtype=np.intp))
    before = recall(
        inhabited_chances(taxon.memory, taxon.habitat, spots.host_groups, spots.diameters_cm),
        taxon.memory.returns,
        past.fruited[:, 0],
        past.blank[:, 0],
        past_spot,
    )
    now = engine.this_season(
        looks.where((looks.season == season) & (looks.day <= wanted[-1])), season, wanted
    )
    odds = (np.log(before.active) - np.log1p(-before.active))[:, None] + now.fruited - now.blank
    active = 1.0 / (1.0 + np.exp(-np.clip(odds, -700.0, 700.0)))
    prime = np.clip(active * now.prime, 1e-9, 1.0 - 1e-9)
    log_sd = np.hypot(
        (1.0 - active) * before.active_logit_sd[:, None], now.prime_sd / np.maximum(now.prime, 1e-12)
    )
    return prime, log_sd / (1.0 - prime)


@dataclass(frozen=True, slots=True)
class _Engine:
    """Prior and climates of one taxon, asked for rows of spots and seasons."""

    prior: Season
    detection: float
    spots: Spots
    climates: Mapping[str, Climate]

    def visited(self, looks: Looks, wanted: IntArray) -> tuple[IntArray, IntArray, RowStates]:
        """Spot, season and states of every spot and season that was looked at."""
        pairs, row_of_look = np.unique(
            np.column_stack([looks.spot, looks.season]), axis=0, return_inverse=True
        )
        spot, season = pairs[:, 0], pairs[:, 1]
        return spot, season, self._rows(self.spots.place[spot], season, looks, row_of_look.ravel(), wanted)

    def this_season(self, looks: Looks, season: int, wanted: IntArray) -> RowStates:
        """States of every spot in one season: one row a place for spots without a look, shared by them."""
        places = len(self.spots.place_ids)
        seen = np.unique(looks.spot)
        row = self.spots.place.copy()
        row[seen] = places + np.arange(len(seen))
        place = np.concatenate([np.arange(places), self.spots.place[seen]])
        seasons = np.full(len(place), season)
        states = self._rows(place, seasons, looks, row[looks.spot], wanted)
        return RowStates(states.prime[row], states.prime_sd[row], states.fruited[row], states.blank[row])

    def _rows(
        self, place: IntArray, season: IntArray, looks: Looks, row_of_look: IntArray, wanted: IntArray
    ) -> RowStates:
        if not len(place):
            none = np.zeros((0, len(wanted)))
            return RowStates(none, none, none, none)
        pairs = [(int(p), int(s)) for p, s in zip(place, season, strict=True)]
        onsets = {pair: self._onset(*pair) for pair in set(pairs)}
        weather = {(p, s): self.climates[self.spots.place_ids[p]].of(s) for p, s in set(pairs)}
        return row_states(
            [onsets[pair] for pair in pairs],
            [weather[pair] for pair in pairs],
            looks,
            row_of_look,
            wanted,
            detection=self.detection,
        )

    def _onset(self, place: int, season: int) -> Onset:
        climate = self.climates[self.spots.place_ids[place]]
        return onset_prior(
            self.prior,
            latitude_deg=climate.latitude_deg,
            elevation_m=climate.elevation_m,
            frost=climate.of(season).frost,
        )
