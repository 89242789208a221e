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
from underoak.outlook.weather_terms import TERMS, departure_sd, standardised, term_days

if TYPE_CHECKING:
    from underoak.weather.ground_state import GroundState

FloatArray = npt.NDArray[np.float64]

#: Fewest seasons that make a climate of the place's own.
FEWEST_SEASONS = 3
#: The usual first frost counts as this many autumns against the station's own.
_FROST_PRIOR_AUTUMNS = 3.0
#: Days without a reading before the first frost that make an autumn useless (utah_climate_center, seen).
_MOST_MISSING_DAYS = 10
#: Days after the usual first frost at which hard freezes begin, and how often they come then (memory).
_HARD_FREEZE_AFTER_DAYS, _HARD_FREEZE_SHARE = 20.0, 0.3


@dataclass(frozen=True, slots=True)
class SeasonWeather:
    """One season at one place; arrays have shape (366,), one value for each day from 1 March.

    ``warmth`` multiplies how fast a prime flush ages, ``hard_freeze`` is the chance of a hard freeze on
    the day (0 or 1 where it was observed). ``terms`` (366, k) are the standardised `weather_terms.TERMS`,
    0 where nothing is known. ``known_to`` is the last day number with weather, -1 for none.
    """

    warmth: FloatArray
    hard_freeze: FloatArray
    frost: Frost
    known_to: int = -1
    terms: FloatArray = field(default_factory=lambda: np.zeros((SEASON_DAYS, len(TERMS))))

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

    def without_weather(self) -> Climate:
        """The same place as if no weather were known: what is usual there."""
        return Climate(self.latitude_deg, self.elevation_m, self.usual)


def climate_without_station(*, latitude_deg: float, elevation_m: float) -> Climate:
    """Climate of a place nobody measures: usual frost by latitude and elevation, no warmth, no wetness."""
    frost = usual_frost(latitude_deg, elevation_m)
    return Climate(latitude_deg, elevation_m, _usual_season(frost, np.full(SEASON_DAYS, np.nan)))


@dataclass(frozen=True, slots=True)
class _SeasonTables:
    """Ground by season: (seasons, 366), and terms (seasons, 366, terms); NaN where nothing is known."""

    seasons: list[int]
    hard_freeze: FloatArray
    soil_c: FloatArray
    frost: FloatArray
    terms: FloatArray

    def carried_on_by(self, season: int, later: _SeasonTables) -> _SeasonTables:
        """One season of this table, its days after the last known one taken from another."""
        here, there = self.seasons.index(season), later.seasons.index(season)
        after = np.arange(SEASON_DAYS) > _last_known(self.soil_c[here])

        def row(mine: FloatArray, other: FloatArray) -> FloatArray:
            mask = after if mine.ndim == 2 else after[:, None]
            joined: FloatArray = np.where(mask, other[there], mine[here])[None]
            return joined

        return _SeasonTables(
            [season],
            row(self.hard_freeze, later.hard_freeze),
            row(self.soil_c, later.soil_c),
            row(self.frost, later.frost),
            row(self.terms, later.terms),
        )


@dataclass(frozen=True, slots=True)
class _Usual:
    """The usual season, its soil temperature (366,), and the usual and deviation of each term."""

    season: SeasonWeather
    soil_c: FloatArray
    terms: list[tuple[FloatArray, float]]

    def season_weather(self, tables: _SeasonTables, row: int, *, running: bool) -> SeasonWeather:
        """A season of the tables beside the usual one."""
        freeze, known_to = tables.hard_freeze[row], _last_known(tables.soil_c[row])
        seen = _first_frost(tables.frost[row])
        left = frost_not_before(self.season.frost, known_to) if running else self.season.frost
        columns = zip(tables.terms[row].T, self.terms, strict=True)
        return SeasonWeather(
            warmth=_warmth(tables.soil_c[row] - self.soil_c),
            hard_freeze=np.where(np.isnan(freeze), self.season.hard_freeze, freeze),
            frost=Frost(float(seen), 0.0, seen=True) if seen is not None else left,
            known_to=known_to,
            terms=np.stack([standardised(column, *usual) for column, usual in columns], axis=1),
        )


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
    tables = _tables(ground)
    firsts = [_first_frost(row) for row in tables.frost]
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
            later = tables.carried_on_by(now, _tables(state))
            futures[year] = usual.season_weather(later, 0, running=True)
    return Climate(latitude_deg, elevation_m, usual.season, seasons, _facts(ground, today), now, futures)


def _usual_term(table: FloatArray) -> tuple[FloatArray, float]:
    usual = usual_day(table)
    return usual, departure_sd(table, usual)


def _tables(ground: GroundState) -> _SeasonTables:
    first_day = ground.first_day
    seasons, freezes = season_table(first_day, ground.hard_freeze.astype(np.float64))
    frost = np.where(ground.filled & ~ground.forecast, np.nan, ground.frost)
    terms = [season_table(first_day, values)[1] for values in term_days(ground).values()]
    return _SeasonTables(
        seasons,
        freezes,
        season_table(first_day, ground.soil_temp_10cm_c)[1],
        season_table(first_day, frost)[1],
        np.stack(terms, axis=2),
    )


def season_table(first_day: date, values: FloatArray) -> tuple[list[int], FloatArray]:
    """Seasons, and a table (seasons, 366) of daily values with NaN where the series has no day."""
    seasons = list(range(season_of(first_day), season_of(first_day + timedelta(days=len(values) - 1)) + 1))
    table = np.full((len(seasons), SEASON_DAYS), np.nan)
    for row, season in enumerate(seasons):
        start = (date(season, 3, 1) - first_day).days
        length = (date(season + 1, 3, 1) - date(season, 3, 1)).days
        low, high = max(start, 0), min(start + length, len(values))
        table[row, low - start : high - start] = values[low:high]
    return seasons, table


def usual_day(table: FloatArray, *, half_window: int = 7) -> FloatArray:
    """Mean (366,) over seasons and ``half_window`` days to both sides; NaN under three seasons of a day."""
    known = np.isfinite(table)
    totals = np.where(known, table, 0.0).sum(axis=0)
    counts = known.sum(axis=0).astype(np.float64)
    kernel = np.ones(2 * half_window + 1)
    wide = np.concatenate([totals[-half_window:], totals, totals[:half_window]])
    wide_counts = np.concatenate([counts[-half_window:], counts, counts[:half_window]])
    total, count = np.convolve(wide, kernel, "valid"), np.convolve(wide_counts, kernel, "valid")
    enough = count >= FEWEST_SEASONS * len(kernel) * 0.9
    return np.where(enough, total / np.maximum(count, 1.0), np.nan)


def _first_frost(row: FloatArray) -> int | None:
    """Season day of the first frost after 24 July; None without one, or with too many gaps before it."""
    frosts = np.flatnonzero(row[AUTUMN_STARTS:] == 1.0)
    if not len(frosts):
        return None
    first = AUTUMN_STARTS + int(frosts[0])
    missing = int(np.isnan(row[AUTUMN_STARTS:first]).sum())
    return first if missing <= _MOST_MISSING_DAYS else None


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


def _last_known(row: FloatArray) -> int:
    known = np.flatnonzero(np.isfinite(row))
    return int(known[-1]) if len(known) else -1


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
