"""Gaps in daily weather are filled by one stated rule, and marked."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from underoak.weather.daylight import days_of_year

if TYPE_CHECKING:
    import numpy.typing as npt

    from underoak.model.weather import WeatherSeries

    FloatArray = npt.NDArray[np.float64]
    BoolArray = npt.NDArray[np.bool_]
    IntArray = npt.NDArray[np.int64]

RULE = (
    "Temperature, dew point and wind: a gap of up to 3 days between measured days is filled on a straight "
    "line; a longer one by the station's mean of that time of year (7 days either side, all its years). "
    "Rain and radiation: the station's mean of that time of year (15 days either side). "
    "What the station never measured stays empty. Filled days are marked."
)

LONGEST_LINE_DAYS = 3
#: Quantities that change smoothly from day to day; the rest come in pulses.
SMOOTH = ("tmin_c", "tmax_c", "dewpoint_c", "wind_m_s")
WINDOW_DAYS = {True: 7, False: 15}


def fill_gaps(series: WeatherSeries) -> WeatherSeries:
    """The series with gaps filled by `RULE` and marked in ``filled``; measured values never change.

    A gap stays where the station's years hold nothing for that time of year. Filling twice
    changes nothing. A filled maximum never lies below the minimum of its day.
    """
    values: dict[str, FloatArray] = {}
    filled: dict[str, BoolArray] = {}
    day_of_year = days_of_year(series.first_day, series.days)
    for name, measured in series.values.items():
        known = np.isfinite(measured)
        before = series.filled.get(name, np.zeros(series.days, dtype=bool))
        if known.all() or not known.any():
            values[name], filled[name] = measured, before
            continue
        seen = known & ~before & ~series.forecast
        patch = _usual(measured, seen if seen.any() else known, day_of_year, WINDOW_DAYS[name in SMOOTH])
        if name in SMOOTH:
            patch = _lines(measured, known, patch)
        values[name] = np.where(known, measured, patch)
        filled[name] = before | (~known & np.isfinite(patch))
    _hold_order(values, filled)
    return replace(series, values=values, filled=filled)


def usual_by_day(values: FloatArray, known: BoolArray, day_of_year: IntArray, window_days: int) -> FloatArray:
    """Mean of the known values within ``window_days`` of each day of the year; (366,), NaN where none."""
    place = (day_of_year - 1)[known]
    total = np.bincount(place, weights=values[known], minlength=366).astype(float)
    count = np.bincount(place, minlength=366).astype(float)

    def around(a: FloatArray) -> FloatArray:
        wide = np.concatenate([a[-window_days:], a, a[:window_days]])
        return np.convolve(wide, np.ones(2 * window_days + 1), mode="valid")

    counts = around(count)
    return np.where(counts > 0.5, around(total) / np.maximum(counts, 1.0), np.nan)


def _usual(values: FloatArray, known: BoolArray, day_of_year: IntArray, window_days: int) -> FloatArray:
    return usual_by_day(values, known, day_of_year, window_days)[day_of_year - 1]


def _lines(values: FloatArray, known: BoolArray, patch: FloatArray) -> FloatArray:
    """The patch, with short inner gaps replaced by the straight line between their neighbours."""
    days = np.arange(len(values))
    at = np.flatnonzero(known)
    after = np.searchsorted(at, days)
    inner = (after > 0) & (after < len(at)) & ~known
    previous = at[np.clip(after - 1, 0, len(at) - 1)]
    following = at[np.clip(after, 0, len(at) - 1)]
    short = inner & (following - previous - 1 <= LONGEST_LINE_DAYS)
    return np.where(short, np.interp(days, at, values[at]), patch)


def _hold_order(values: dict[str, FloatArray], filled: dict[str, BoolArray]) -> None:
    """Move a filled extreme so that tmin <= tmax."""
    if "tmin_c" not in values or "tmax_c" not in values:
        return
    crossed = values["tmin_c"] > values["tmax_c"]
    if crossed.any():
        low, high = values["tmin_c"], values["tmax_c"]
        values["tmin_c"] = np.where(crossed & filled["tmin_c"], np.minimum(low, high), low)
        values["tmax_c"] = np.where(crossed & filled["tmax_c"], np.maximum(low, high), high)
