"""What the weather of a place does to flushes: frost, freezing and warmth, season by season."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from underoak.outlook.season import AUTUMN_STARTS, SEASON_DAYS, day_number, season_of
from underoak.outlook.season_prior import Frost, frost_not_before, usual_frost
from underoak.outlook.weather_terms import TERMS, standardised, term_days

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
    while the place has fewer than three seasons of weather.
    """

    name: str
    value: float
    usual: float | None


@dataclass(frozen=True, slots=True)
class Climate:
    """A place and its seasons; a season without weather of its own is the ``usual`` one."""

    latitude_deg: float
    elevation_m: float
    usual: SeasonWeather
    seasons: Mapping[int, SeasonWeather] = field(default_factory=dict)
    facts: tuple[GroundFact, ...] = ()

    def of(self, season: int) -> SeasonWeather:
        """Weather of a season, or the usual one."""
        return self.seasons.get(season, self.usual)

    def without_weather(self) -> Climate:
        """The same place as if no weather were known: what is usual there."""
        return Climate(self.latitude_deg, self.elevation_m, self.usual)


def climate_without_station(*, latitude_deg: float, elevation_m: float) -> Climate:
    """Climate of a place nobody measures: usual frost by latitude and elevation, no warmth, no wetness."""
    frost = usual_frost(latitude_deg, elevation_m)
    return Climate(latitude_deg, elevation_m, _usual_season(frost, np.full(SEASON_DAYS, np.nan)))


def climate(ground: GroundState, *, latitude_deg: float, elevation_m: float, today: date) -> Climate:
    """Climate of a place from the daily state of its ground.

    Parameters
    ----------
    ground : GroundState
        Of all years on record, forecast days included.
    latitude_deg, elevation_m : degrees north, metres
        The place (not the station).
    today : day
        The season of this day has its frost still to come unless the weather shows it.

    Method
    ------
    Usual values are means over the place's own seasons within a week of the date, once there are three.
    Warmth is 2^(anomaly/10): a rate that doubles with 10 degrees of soil temperature at 10 cm above the
    usual, between 0.5 and 2.5 (rule of thumb for ageing produce, from memory). First frost: mean and
    deviation of the station's autumns, shrunk to the latitude's as if that were three more autumns.
    """
    first_day = ground.first_day
    years, freezes = season_table(first_day, ground.hard_freeze.astype(np.float64))
    _, soil = season_table(first_day, ground.soil_temp_10cm_c)
    _, frosty = season_table(first_day, np.where(ground.filled & ~ground.forecast, np.nan, ground.frost))
    firsts = [_first_frost(row) for row in frosty]
    frost = _own_frost(usual_frost(latitude_deg, elevation_m), [f for f in firsts if f is not None])
    usual = _usual_season(frost, usual_day(freezes))
    usual_soil = usual_day(soil)
    terms = _terms(ground)
    seasons = {}
    for row, season in enumerate(years):
        seen = firsts[row]
        left = frost_not_before(frost, _last_known(soil[row])) if season == season_of(today) else frost
        seasons[season] = SeasonWeather(
            warmth=_warmth(soil[row] - usual_soil),
            hard_freeze=np.where(np.isnan(freezes[row]), usual.hard_freeze, freezes[row]),
            frost=Frost(float(seen), 0.0, seen=True) if seen is not None else left,
            known_to=_last_known(soil[row]),
            terms=terms[row],
        )
    return Climate(latitude_deg, elevation_m, usual, seasons, _facts(ground, today))


def _terms(ground: GroundState) -> FloatArray:
    """Standardised weather terms, (seasons, 366, terms)."""
    tables = [season_table(ground.first_day, values)[1] for values in term_days(ground).values()]
    return np.stack([standardised(table, usual_day(table)) for table in tables], axis=2)


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
        facts.append(GroundFact(name, float(values[at]), None if np.isnan(usual) else usual))
    return tuple(facts)
