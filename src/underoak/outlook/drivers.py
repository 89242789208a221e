"""What the weather of a place does to flushes: frost, freezing and warmth, season by season."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from underoak.outlook.season import AUTUMN_STARTS, SEASON_DAYS, day_number, season_of
from underoak.outlook.season_prior import Frost, frost_not_before, usual_frost
from underoak.outlook.season_tables import (
    SeasonTables,
    first_frost,
    last_known,
    season_table,
    season_tables,
    usual_day,
)
from underoak.outlook.weather_terms import TERMS, Bound, departure_sd, standardised

if TYPE_CHECKING:
    from underoak.weather.ground_state import GroundState

FloatArray = npt.NDArray[np.float64]

#: Weather terms that differ by less, in standard deviations, leave nothing open.
LEAST_OPEN = 1e-6
#: The usual first frost counts as this many autumns against the station's own.
_FROST_PRIOR_AUTUMNS = 3.0
#: Days after the usual first frost at which hard freezes begin, and how often they come then (memory).
_HARD_FREEZE_AFTER_DAYS, _HARD_FREEZE_SHARE = 20.0, 0.3


@dataclass(frozen=True, slots=True)
class SeasonWeather:
    """One season at one place; arrays have shape (366,), one value for each day from 1 March.

    ``warmth`` multiplies how fast a prime flush ages, ``hard_freeze`` is the chance of a hard freeze on
    the day (0 or 1 where it was observed). ``terms`` (366, k) are the standardised `weather_terms.TERMS`,
    0 where nothing is known. ``known_to`` is the last day number with weather, -1 for none. ``dry`` and
    ``wet`` (366, k) are the terms on the driest and wettest ground that gaps in the rain leave open, None
    where they leave nothing open.
    """

    warmth: FloatArray
    hard_freeze: FloatArray
    frost: Frost
    known_to: int = -1
    terms: FloatArray = field(default_factory=lambda: np.zeros((SEASON_DAYS, len(TERMS))))
    dry: FloatArray | None = None
    wet: FloatArray | None = None

    def at_bound(self, bound: Bound) -> SeasonWeather:
        """The same season on the driest ("_low") or wettest ("_high") ground that gaps leave open."""
        terms = {"": None, "_low": self.dry, "_high": self.wet}[bound]
        return self if terms is None else replace(self, terms=terms, dry=None, wet=None)

    def open_by(self, day: int, names: Sequence[str]) -> bool:
        """Whether gaps in the rain leave any of the named terms open up to a season day."""
        if self.dry is None or self.wet is None:
            return False
        at = [TERMS.index(name) for name in names]
        return bool((np.abs(self.wet - self.dry)[: day + 1, at] > LEAST_OPEN).any())

    def terms_named(self, names: Sequence[str]) -> FloatArray:
        """The named terms, (366, names)."""
        return self.terms[:, [TERMS.index(name) for name in names]]


@dataclass(frozen=True, slots=True)
class GroundFact:
    """How the ground stands on the last day with weather, and what is usual there for the date.

    ``name`` is litter_wetness (0 to 1), root_wetness (0 to 1) or soil_temp_10cm_c; ``usual`` is None
    while the place has fewer than three seasons of weather. ``low`` to ``high`` is what gaps in the rain
    leave open.
    """

    name: str
    value: float
    usual: float | None
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Climate:
    """A place and its seasons; a season without weather of its own is the ``usual`` one.

    ``futures`` maps a past year to the ``running`` season as it goes on if that year's days follow.
    """

    latitude_deg: float
    elevation_m: float
    usual: SeasonWeather
    seasons: Mapping[int, SeasonWeather] = field(default_factory=dict)
    facts: tuple[GroundFact, ...] = ()
    running: int | None = None
    futures: Mapping[int, SeasonWeather] = field(default_factory=dict)

    def of(self, season: int) -> SeasonWeather:
        """Weather of a season, or the usual one."""
        return self.seasons.get(season, self.usual)

    def open_years(self, season: int, day: int) -> set[int]:
        """Past years that stand in for the weather up to a season day; none where it is known so far."""
        known = season != self.running or day <= self.of(season).known_to
        return set() if known else set(self.futures)

    def following(self, year: int) -> Climate:
        """The same place as if the days of a past year were sure to follow."""
        if self.running is None:
            return self
        return replace(self, seasons={**self.seasons, self.running: self.futures[year]}, futures={})

    def at_bound(self, season: int, bound: Bound) -> Climate:
        """The same place with one season on the driest or wettest ground that gaps in the rain leave open."""
        if season not in self.seasons:
            return self
        return replace(self, seasons={**self.seasons, season: self.of(season).at_bound(bound)})

    def without_weather(self) -> Climate:
        """The same place as if no weather were known: what is usual there."""
        return Climate(self.latitude_deg, self.elevation_m, self.usual)


def climate_without_station(*, latitude_deg: float, elevation_m: float) -> Climate:
    """Climate of a place nobody measures: usual frost by latitude and elevation, no warmth, no wetness."""
    frost = usual_frost(latitude_deg, elevation_m)
    return Climate(latitude_deg, elevation_m, _usual_season(frost, np.full(SEASON_DAYS, np.nan)))


@dataclass(frozen=True, slots=True)
class _Usual:
    """The usual season, its soil temperature (366,), and the usual and deviation of each term."""

    season: SeasonWeather
    soil_c: FloatArray
    terms: list[tuple[FloatArray, float]]

    def season_weather(self, tables: SeasonTables, row: int, *, running: bool) -> SeasonWeather:
        """A season of the tables beside the usual one."""
        freeze, known_to = tables.hard_freeze[row], last_known(tables.soil_c[row])
        seen = first_frost(tables.frost[row])
        left = frost_not_before(self.season.frost, known_to) if running else self.season.frost
        terms, dry, wet = (self._standardised(t[row]) for t in (tables.terms, tables.dry, tables.wet))
        is_open = bool((np.abs(wet - dry) > LEAST_OPEN).any())
        return SeasonWeather(
            warmth=_warmth(tables.soil_c[row] - self.soil_c),
            hard_freeze=np.where(np.isnan(freeze), self.season.hard_freeze, freeze),
            frost=Frost(float(seen), 0.0, seen=True) if seen is not None else left,
            known_to=known_to,
            terms=terms,
            dry=dry if is_open else None,
            wet=wet if is_open else None,
        )

    def _standardised(self, row: FloatArray) -> FloatArray:
        columns = zip(row.T, self.terms, strict=True)
        return np.stack([standardised(column, *usual) for column, usual in columns], axis=1)


def climate(
    ground: GroundState,
    *,
    latitude_deg: float,
    elevation_m: float,
    today: date,
    carried_on: Mapping[int, GroundState] | None = None,
) -> Climate:
    """Climate of a place from the daily state of its ground.

    Parameters
    ----------
    ground : GroundState
        Of all years on record, forecast days included.
    latitude_deg, elevation_m : degrees north, metres
        The place (not the station).
    today : day
        The season of this day has its frost still to come unless the weather shows it.
    carried_on : past year -> GroundState
        The last 400 days and those that follow if the past year's weather does.

    Method
    ------
    Usual values are means over the place's own seasons within a week of the date, once there are three.
    Warmth is 2^(anomaly/10): a rate that doubles with 10 degrees of soil temperature at 10 cm above the
    usual, between 0.5 and 2.5 (rule of thumb for ageing produce, from memory). First frost: mean and
    deviation of the station's autumns, shrunk to the latitude's as if that were three more autumns.
    """
    tables = season_tables(ground)
    firsts = [first_frost(row) for row in tables.frost]
    frost = _own_frost(usual_frost(latitude_deg, elevation_m), [f for f in firsts if f is not None])
    terms = [_usual_term(table) for table in np.moveaxis(tables.terms, 2, 0)]
    usual = _Usual(_usual_season(frost, usual_day(tables.hard_freeze)), usual_day(tables.soil_c), terms)
    now = season_of(today)
    seasons = {
        season: usual.season_weather(tables, row, running=season == now)
        for row, season in enumerate(tables.seasons)
    }
    futures = {}
    if now in seasons:
        for year, state in (carried_on or {}).items():
            later = tables.carried_on_by(now, season_tables(state))
            futures[year] = usual.season_weather(later, 0, running=True)
    return Climate(latitude_deg, elevation_m, usual.season, seasons, _facts(ground, today), now, futures)


def _usual_term(table: FloatArray) -> tuple[FloatArray, float]:
    usual = usual_day(table)
    return usual, departure_sd(table, usual)


def _own_frost(prior: Frost, firsts: list[int]) -> Frost:
    if not firsts:
        return prior
    n, k = len(firsts), _FROST_PRIOR_AUTUMNS
    mean = (k * prior.mean_day + sum(firsts)) / (k + n)
    around = sum((first - mean) ** 2 for first in firsts)
    return Frost(mean, float(np.sqrt((k * prior.sd_days**2 + around) / (k + n))))


def _usual_season(frost: Frost, hard_freeze: FloatArray) -> SeasonWeather:
    from scipy.special import ndtr

    number = np.arange(SEASON_DAYS)
    z = (number - frost.mean_day - _HARD_FREEZE_AFTER_DAYS) / frost.sd_days
    by_rule = _HARD_FREEZE_SHARE * ndtr(z) * (number >= AUTUMN_STARTS)
    return SeasonWeather(np.ones(SEASON_DAYS), np.where(np.isnan(hard_freeze), by_rule, hard_freeze), frost)


def _warmth(anomaly_c: FloatArray) -> FloatArray:
    factor = np.clip(np.exp2(anomaly_c / 10.0), 0.5, 2.5)
    return np.where(np.isnan(factor), 1.0, factor)


def _facts(ground: GroundState, today: date) -> tuple[GroundFact, ...]:
    observed = np.flatnonzero(~ground.forecast)
    if not len(observed):
        return ()
    at = min(int(observed[-1]), max((today - ground.first_day).days, 0))
    number = day_number(ground.first_day + timedelta(days=at))
    facts = []
    for name in ("litter_wetness", "root_wetness", "soil_temp_10cm_c"):
        values = getattr(ground, name)
        usual = float(usual_day(season_table(ground.first_day, values)[1])[number])
        low, high = (float(getattr(ground, name + bound, values)[at]) for bound in ("_low", "_high"))
        facts.append(GroundFact(name, float(values[at]), None if np.isnan(usual) else usual, low, high))
    return tuple(facts)
