"""What usually comes: a place's own years, laid on from where the forecast ends."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

import numpy as np

from underoak.errors import NoAnswer
from underoak.weather.gaps import fill_gaps
from underoak.weather.ground_state import GroundState, ground_state
from underoak.weather.soils import USUAL_SOIL, Soil

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy.typing as npt

    from underoak.model.weather import WeatherSeries

    FloatArray = npt.NDArray[np.float64]

#: Days of the record before the end that still shape the ground.
MEMORY_DAYS = 400
#: Fewer years than this make no fan.
FEWEST_YEARS = 3
MOST_YEARS = 40
#: A year with a larger share of missing days in the span is left out.
MOST_MISSING = 0.1
LEVELS = (0.05, 0.25, 0.5, 0.75, 0.95)
NEEDED = ("rain_mm", "tmin_c", "tmax_c")
#: Weather that ended longer ago says nothing about the ground (the developers' judgement).
MOST_BRIDGED_DAYS = 60
#: A summer with fewer days than this tells no mean.
FEWEST_SUMMER_DAYS = 50


@dataclass(frozen=True, slots=True)
class Continuation:
    """The record as it stands, then the days that followed the same date in ``year``."""

    year: int
    series: WeatherSeries


@dataclass(frozen=True, slots=True)
class Fan:
    """What usually comes, as quantiles over past years.

    ``known_days`` of the span stand on record or forecast, the rest on past years. ``quantiles`` maps a
    name of a `GroundState` array to floats (levels, days); ``years`` are those that made it.
    """

    first_day: date
    known_days: int
    levels: tuple[float, ...]
    years: tuple[int, ...]
    quantiles: Mapping[str, FloatArray]


def continuations(series: WeatherSeries, days: int) -> tuple[Continuation, ...]:
    """The series carried on for ``days`` days by each past year of its own, oldest first.

    A year serves when its days after the same date were observed, with at most a tenth missing; gaps
    are filled by `gaps.RULE`. The days laid on are marked as forecast. At most the last 40 years.

    Raises NoAnswer with fewer than three such years.
    """
    whole = fill_gaps(series)
    usable = []
    following = series.last_day + timedelta(days=1)
    for year in range(series.first_day.year, following.year):
        first = _same_day(following, year)
        start = (first - series.first_day).days
        if start < 0 or start + days > series.days or series.forecast[start : start + days].any():
            continue
        if _missing(series, slice(start, start + days)) <= MOST_MISSING:
            usable.append((year, start))
    if len(usable) < FEWEST_YEARS:
        raise NoAnswer(
            f"{series.station.name} has {len(usable)} past years for the days after {series.last_day}",
            expected=f"at least {FEWEST_YEARS} years",
            remedy="load more years of the station",
        )
    return tuple(Continuation(year, _laid_on(whole, start, days)) for year, start in usable[-MOST_YEARS:])


def ground_fan(
    series: WeatherSeries,
    first_day: date,
    days: int,
    *,
    latitude_deg: float,
    elevation_m: float,
    soil: Soil = USUAL_SOIL,
    names: Sequence[str] = ("litter_wetness", "root_wetness", "soil_temp_10cm_c", "tmin_c", "rain_mm"),
) -> Fan:
    """Quantiles of the ground from ``first_day`` on: known days first, then what past years brought.

    Parameters
    ----------
    series         observed days and forecast
    first_day      first day of the fan; days between the end of the weather and it come from past years too
    days           length of the fan, 1 to 366
    latitude_deg, elevation_m, soil   of the wood
    names          `GroundState` arrays to give

    Method: the water balance and soil temperature run on through each past year's days; quantiles over
    years (numpy's linear rule) at 5, 25, 50, 75 and 95 percent.

    Raises NoAnswer with fewer than three past years, or where the weather ended more than 60 days before.
    """
    known = (series.last_day - first_day).days + 1
    if known < -MOST_BRIDGED_DAYS:
        raise NoAnswer(
            f"the weather ends on {series.last_day}, {-known} days before {first_day}",
            expected=f"weather that ends at most {MOST_BRIDGED_DAYS} days before",
            remedy="load newer days",
        )
    states: list[GroundState] = []
    runs = continuations(series, days - known) if days > known else ()
    for run in runs or (Continuation(series.last_day.year, series),):
        states.append(ground_state(run.series, latitude_deg=latitude_deg, elevation_m=elevation_m, soil=soil))
    quantiles = {}
    for name in names:
        rows = [_from(state, name, first_day, days) for state in states]
        quantiles[name] = np.quantile(np.array(rows, dtype=float), LEVELS, axis=0)
    return Fan(first_day, min(max(known, 0), days), LEVELS, tuple(run.year for run in runs), quantiles)


def summer_anomaly_c(series: WeatherSeries, year: int, months: tuple[int, ...] = (7, 8)) -> float:
    """How much warmer July and August of ``year`` were than in the station's other years, degrees.

    Raises NoAnswer where that summer or three others are not on record.
    """
    means = summer_means_c(series, months)
    others = [mean for other, mean in means.items() if other != year]
    if year not in means or len(others) < FEWEST_YEARS:
        raise NoAnswer(
            f"{series.station.name} has no summer of {year} to compare with {FEWEST_YEARS} others",
            expected=f"{FEWEST_SUMMER_DAYS} days of that summer and of {FEWEST_YEARS} others",
            remedy="load more years of the station",
        )
    return means[year] - float(np.mean(others))


def summer_means_c(series: WeatherSeries, months: tuple[int, ...] = (7, 8)) -> dict[int, float]:
    """Mean temperature of the summer months by year, for summers with at least 50 observed days."""
    days = np.datetime64(series.first_day, "D") + np.arange(series.days)
    month = days.astype("datetime64[M]").astype(np.int64) % 12 + 1
    years = days.astype("datetime64[Y]").astype(np.int64) + 1970
    mean = 0.5 * (series.values["tmin_c"] + series.values["tmax_c"])
    summer = np.isin(month, months) & np.isfinite(mean) & ~series.forecast
    return {
        int(year): float(mean[here].mean())
        for year in np.unique(years[summer])
        if (here := summer & (years == year)).sum() >= FEWEST_SUMMER_DAYS
    }


def _same_day(day: date, year: int) -> date:
    """The day in another year; 29 February becomes 28."""
    return day.replace(year=year, day=min(day.day, 28) if day.month == 2 else day.day)


def _missing(series: WeatherSeries, span: slice) -> float:
    """Largest share of missing days among the quantities that the ground needs."""
    return max(
        float(np.isnan(series.values[name][span]).mean()) if name in series.values else 1.0 for name in NEEDED
    )


def _laid_on(series: WeatherSeries, start: int, days: int) -> WeatherSeries:
    """The last days of the series, then ``days`` of its own from position ``start``."""
    tail = slice(max(series.days - MEMORY_DAYS, 0), series.days)
    then = slice(start, start + days)

    def both(column: npt.NDArray[Any]) -> npt.NDArray[Any]:
        return np.concatenate([column[tail], column[then]])

    return replace(
        series,
        first_day=series.first_day + timedelta(days=tail.start),
        values={name: both(column) for name, column in series.values.items()},
        filled={name: both(column) for name, column in series.filled.items()},
        forecast=np.concatenate([series.forecast[tail], np.ones(days, dtype=bool)]),
    )


def _from(state: GroundState, name: str, first_day: date, days: int) -> FloatArray:
    start = (first_day - state.first_day).days
    values: FloatArray = getattr(state, name)
    return values[start : start + days]
