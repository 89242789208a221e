"""Invented flushes: how a taxon truly behaves, where it lives, and what stood when."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from math import exp, log
from typing import TYPE_CHECKING

import numpy as np

from underoak.outlook.flush_model import ageing_chance, waiting_left
from underoak.outlook.season import SEASON_DAYS
from underoak.outlook.season_prior import PLACE_SHARE, SEASON_SHARE, SPOT_SHARE, onset_prior

if TYPE_CHECKING:
    from underoak.model.ground import Spot
    from underoak.outlook.drivers import Climate
    from underoak.outlook.taxon_outlook import Forecastable


@dataclass(frozen=True, slots=True)
class Habit:
    """How a taxon truly behaves in an invented world.

    ``record_sd`` is the spread from which season, place and spot take their shares; ``mean_day`` is the
    mean onset as a season day number; ``term_effects`` act on the log of the daily hazard, one for each of
    the first weather terms.
    """

    taxon_id: str
    inhabited: float
    returns: float
    mean_day: float
    residual_sd: float
    record_sd: float
    young_days: float
    prime_days: float
    detection: float
    median_g: float = 500.0
    log_weight_sd: float = 0.8
    term_effects: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Flush:
    """One flush that truly stood: first days (season day numbers) of young, of prime and of past."""

    spot_id: str
    taxon_id: str
    season: int
    young: int
    prime: int
    past: int


def habit_of(taxon: Forecastable, climate: Climate, *, season: int = 2020) -> Habit:
    """The habit that the book expects of a taxon at a place."""
    if taxon.season is None or taxon.memory is None:
        raise ValueError(f"{taxon.id} has no season or memory in the book")
    onset = onset_prior(
        taxon.season,
        latitude_deg=climate.latitude_deg,
        elevation_m=climate.elevation_m,
        frost=climate.of(season).frost,
    )
    weight = taxon.weight
    return Habit(
        taxon_id=taxon.id,
        inhabited=taxon.memory.inhabited,
        returns=taxon.memory.returns,
        mean_day=onset.mean_day,
        residual_sd=onset.residual_sd,
        record_sd=taxon.season.sd_days,
        young_days=onset.young_days,
        prime_days=onset.prime_days,
        detection=taxon.memory.detection,
        median_g=weight.median_g if weight else 500.0,
        log_weight_sd=log(weight.p90_g / weight.median_g) / 1.2815515655446004 if weight else 0.8,
    )


def varied(habit: Habit, rng: np.random.Generator, sds: Mapping[str, float]) -> Habit:
    """A habit drawn around another, by the names and standard deviations of `parameters.layout`."""
    draw = {name: float(rng.normal(0.0, sd)) for name, sd in sds.items()}
    prime = exp(draw.get("log_prime", 0.0))
    return replace(
        habit,
        inhabited=_moved(habit.inhabited, draw.get("inhabited", 0.0)),
        returns=_moved(habit.returns, draw.get("returns", 0.0)),
        mean_day=habit.mean_day + draw.get("timing", 0.0),
        residual_sd=habit.residual_sd * exp(draw.get("log_spread", 0.0)),
        young_days=max(habit.young_days * prime, 1.0),
        prime_days=max(habit.prime_days * prime, 1.0),
        detection=_moved(habit.detection, draw.get("detection", 0.0)),
    )


@dataclass(slots=True)
class Truth:
    """What an invented world holds: true shifts in days, inhabited (spot id, taxon id), all flushes."""

    spots: Sequence[Spot]
    seasons: Sequence[int]
    climates: Mapping[str, Climate]
    rng: np.random.Generator
    returns_spread: float
    shifts: dict[tuple[str, str], float] = field(default_factory=dict)
    inhabited: set[tuple[str, str]] = field(default_factory=set)
    flushes: list[Flush] = field(default_factory=list)

    def grow(self, habit: Habit) -> None:
        """Where one taxon lives, when it fruits, and every flush of it."""
        places = dict.fromkeys(spot.place_id for spot in self.spots)
        self._draw(habit, [f"place:{place}" for place in places], PLACE_SHARE)
        self._draw(habit, [f"season:{season}" for season in self.seasons], SEASON_SHARE)
        self._draw(habit, [f"spot:{spot.id}" for spot in self.spots], SPOT_SHARE)
        a = habit.returns * self.returns_spread
        for spot in self.spots:
            returns = self.rng.beta(a, self.returns_spread - a)
            if self.rng.random() >= habit.inhabited:
                continue
            self.inhabited.add((spot.id, habit.taxon_id))
            for season in self.seasons:
                flush = self._flush(habit, spot, season) if self.rng.random() < returns else None
                if flush is not None:
                    self.flushes.append(flush)

    def _draw(self, habit: Habit, names: Sequence[str], share: float) -> None:
        for name in names:
            self.shifts[habit.taxon_id, name] = float(self.rng.normal(0.0, share * habit.record_sd))

    def _flush(self, habit: Habit, spot: Spot, season: int) -> Flush | None:
        """One flush, or None when its season ends before it begins."""
        names = (f"place:{spot.place_id}", f"season:{season}", f"spot:{spot.id}")
        mean = habit.mean_day + sum(self.shifts[habit.taxon_id, name] for name in names)
        weather = self.climates[spot.place_id].of(season)
        left = waiting_left(np.array([mean]), np.array([habit.residual_sd]), SEASON_DAYS, 0)[:, 0]
        effects = np.array(habit.term_effects)
        integrated = -np.log(left[1:] / left[:-1]) * np.exp(weather.terms[:, : len(effects)] @ effects)
        young = int(np.searchsorted(np.cumsum(integrated), self.rng.exponential()))
        if young >= SEASON_DAYS:
            return None
        prime = young + int(self.rng.geometric(1.0 / habit.young_days))
        ageing = ageing_chance(
            np.array([habit.prime_days]), weather.warmth[:, None], weather.hard_freeze[:, None]
        )
        ends = np.flatnonzero(self.rng.random(SEASON_DAYS) < ageing[:, 0])
        past = int(next((day for day in ends if day > prime), SEASON_DAYS))
        return Flush(spot.id, habit.taxon_id, season, young, prime, past)


def _moved(chance: float, offset: float) -> float:
    """Chance whose logit is moved by ``offset``."""
    odds = chance / (1.0 - chance) * exp(offset)
    return odds / (1.0 + odds)
