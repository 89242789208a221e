"""Hourly tables summed to days."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from underoak.errors import BadData
from underoak.intake.reading import Reading
from underoak.intake.weather_checks import DayTable, checked_series
from underoak.intake.weather_csv import spans
from underoak.intake.weather_table import EXPECTED, Table, TableOptions, read_table
from underoak.model.problem import Problem
from underoak.model.weather import DAILY_QUANTITIES, WeatherSeries

if TYPE_CHECKING:
    import numpy.typing as npt

    FloatArray = npt.NDArray[np.float64]
    IntArray = npt.NDArray[np.int64]

#: A day with fewer hours than this is a gap (the developers' judgement).
FEWEST_HOURS = 20
RULE = (
    "hours summed to local calendar days: rain and energy add up, tmin and tmax are the lowest and highest "
    "hour, dew point, wind and power (W/m2) are means; "
    f"a day with fewer than {FEWEST_HOURS} hours of a quantity is a gap"
)


def read_hourly_csv(text: str, *, file: str, options: TableOptions) -> Reading[tuple[WeatherSeries, ...]]:
    """Daily series of an hourly table.

    Days come from a time column, or from day, or year, month and day columns, with the hour beside.
    Temperature may stand in one column; tmin and tmax columns win over it. An empty rain cell counts
    as an hour without measurement. Hours that stand twice are a problem and count once.

    Raises BadData where the table has no weather or no row.
    """
    table = read_table(text, file=file, options=options)
    problems = list(table.problems)
    keep = _once(table, problems)
    _wild_hours(table, problems)
    key, rows, lines = _days(table, keep)
    values = dict(_daily(table, keep, key, len(rows)))
    if not values:
        raise BadData([Problem("no column holds hourly weather", f"{file}, line 1", EXPECTED)])
    days = table.days[rows]
    daily = DayTable(file, lines, days, table.station[rows], table.stations, values, table.assumed)
    series, faults = checked_series(daily)
    return Reading(series, (*problems, *faults), (table.understood(), RULE, *spans(series)))


def _once(table: Table, problems: list[Problem]) -> IntArray:
    """Rows with a day, each hour once."""
    known = np.flatnonzero(~np.isnat(table.days))
    day = table.days[known].astype(np.int64)
    stamp = (table.station[known] * 4_000_000 + day + 2_000_000) * 25 + np.maximum(table.hours[known], 0)
    first = np.sort(np.unique(stamp, return_index=True)[1])
    if len(first) < len(known) and bool((table.hours >= 0).any()):
        again = np.setdiff1d(np.arange(len(known)), first)
        row = int(known[again[0]])
        problems.append(
            Problem(
                f"{table.days[row]} hour {table.hours[row]} stands here again ({len(again)} such rows)",
                f"{table.file}, line {table.lines[row]}, hour",
                "every hour once",
                "remove them; a clock set back in autumn repeats one hour, use standard time",
            )
        )
        return np.asarray(known[first])
    return np.asarray(known)


def _wild_hours(table: Table, problems: list[Problem]) -> None:
    """Single hours that cannot be; named and made gaps before they spoil a daily mean."""
    limits = {**DAILY_QUANTITIES, "temperature_c": ("degree Celsius", -70.0, 58.0)}
    for name, values in table.values.items():
        unit, low, high = limits[name]
        if name == "radiation_mj_m2":
            continue
        rows = np.flatnonzero((values < low) | (values > high))
        if 0 < len(rows) <= max(5, 0.001 * len(values)):
            problems.extend(
                Problem(
                    f"{values[row]:g} {unit} in one hour cannot be",
                    f"{table.file}, line {table.lines[row]}, {name}",
                    f"{low:g} to {high:g} {unit}",
                    "correct it, or leave the cell empty",
                )
                for row in rows.tolist()
            )
            values[rows] = np.nan


def _days(table: Table, keep: IntArray) -> tuple[IntArray, IntArray, IntArray]:
    """Position of each kept row's day, and the first row and line of each day, days ascending."""
    day = table.days[keep].astype(np.int64)
    stamp = table.station[keep] * 4_000_000 + day + 2_000_000
    _, first, key = np.unique(stamp, return_index=True, return_inverse=True)
    rows = keep[first]
    return np.asarray(key, dtype=np.int64), rows, table.lines[rows]


def _daily(table: Table, keep: IntArray, key: IntArray, days: int) -> list[tuple[str, FloatArray]]:
    values = {name: column[keep] for name, column in table.values.items()}
    temperature = values.get("temperature_c")
    power = {c.name for c in table.found if c.unit in ("w_m2", "wm2")}
    means = {"dewpoint_c", "wind_m_s", *power}
    found: list[tuple[str, FloatArray]] = []
    for name in DAILY_QUANTITIES:
        hourly = values.get(name, temperature if name in ("tmin_c", "tmax_c") else None)
        if hourly is not None:
            found.append((name, _day_value(name, hourly, key, days, mean=name in means)))
    return found


def _day_value(name: str, hourly: FloatArray, key: IntArray, days: int, *, mean: bool) -> FloatArray:
    """Sum, mean, lowest or highest of the hours of each day; NaN with too few hours."""
    known = np.isfinite(hourly)
    count = np.bincount(key[known], minlength=days)
    if name in ("tmin_c", "tmax_c"):
        low = name == "tmin_c"
        value = np.full(days, np.inf if low else -np.inf)
        (np.minimum if low else np.maximum).at(value, key[known], hourly[known])
    else:
        value = np.bincount(key[known], weights=hourly[known], minlength=days).astype(float)
        if mean:
            value = value / np.maximum(count, 1)
    return np.where(count >= FEWEST_HOURS, value, np.nan)
