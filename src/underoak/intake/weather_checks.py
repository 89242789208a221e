"""Is a table of daily weather plausible? All its faults, and the series that can be trusted."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from underoak.intake.weather_suspicion import suspicion
from underoak.model.problem import Problem
from underoak.model.weather import DAILY_QUANTITIES, Station, WeatherSeries

if TYPE_CHECKING:
    from collections.abc import Iterator

    import numpy.typing as npt

    FloatArray = npt.NDArray[np.float64]
    IntArray = npt.NDArray[np.int64]
    BoolArray = npt.NDArray[np.bool_]
    DayArray = npt.NDArray[np.datetime64]

#: A column with more single faults than this gets one problem for all of them.
MOST_SINGLE = 20
FIRST_YEAR, LAST_YEAR = 1750, 2150
ONE_DAY = np.timedelta64(1, "D")


@dataclass(slots=True)
class DayTable:
    """Days of one or many stations in file order, metric, before any check.

    ``station`` holds positions in ``stations``; ``lines`` the line of the file of each row;
    ``assumed`` the quantities whose unit the file did not state; ``unit_of_place`` what is counted where a
    file has no lines that matter.
    """

    file: str
    lines: IntArray
    days: DayArray
    station: IntArray
    stations: tuple[Station, ...]
    values: dict[str, FloatArray]
    assumed: frozenset[str] = frozenset()
    unit_of_place: str = "line"

    def where(self, row: int, column: str = "") -> str:
        """File, line and column of a row."""
        place = f"{self.file}, {self.unit_of_place} {self.lines[row]}"
        return f"{place}, {column}" if column else place


def checked_series(table: DayTable) -> tuple[tuple[WeatherSeries, ...], list[Problem]]:
    """One series a station, and every fault of the table.

    Faulty cells become gaps, faulty rows are left out, so that what remains can be taken in by a
    person who accepts the good part.
    """
    problems = [p for name in table.values for p in _implausible(table, name)]
    problems += _crossed(table)
    keep = np.ones(len(table.days), dtype=bool)
    problems += _bad_years(table, keep)
    problems += _bad_order(table, keep)
    series = tuple(
        s for rows, station in _blocks(table, keep) if (s := _series(table, rows, station)) is not None
    )
    if not problems and not series:
        problems.append(Problem("no day was found", table.file, "at least one day of weather"))
    return series, problems


def _implausible(table: DayTable, name: str) -> Iterator[Problem]:
    values = table.values[name]
    doubt = suspicion(name, values, assumed=name in table.assumed)
    if doubt is not None:
        row = int(np.nanargmax(np.where(np.isfinite(values), values, -np.inf)))
        table.values[name] = np.full_like(values, np.nan)
        yield Problem(doubt.what, table.where(row, name), doubt.expected, doubt.remedy)
        return
    unit, low, high = DAILY_QUANTITIES[name]
    with np.errstate(invalid="ignore"):
        rows = np.flatnonzero((values < low) | (values > high))
    if not len(rows):
        return
    for row, count in _grouped(rows):
        kind = "is negative" if values[row] < low == 0.0 else "is outside what has ever been measured"
        what = f"{values[row]:g} {unit} {kind}"
        yield Problem(
            what if count == 1 else f"{count} values are implausible, the first: {what}",
            table.where(row, name),
            f"{low:g} to {high:g} {unit}",
            "correct it, or leave the cell empty",
        )
    table.values[name] = values.copy()
    table.values[name][rows] = np.nan


def _crossed(table: DayTable) -> Iterator[Problem]:
    if "tmin_c" not in table.values or "tmax_c" not in table.values:
        return
    low, high = table.values["tmin_c"], table.values["tmax_c"]
    rows = np.flatnonzero(low > high)
    for row, count in _grouped(rows):
        more = "" if count == 1 else f" (and on {count - 1} more days)"
        yield Problem(
            f"the lowest temperature {low[row]:.1f} is above the highest {high[row]:.1f}{more}",
            table.where(row, "tmin_c and tmax_c"),
            "tmin at most tmax, both degrees Celsius",
            "check whether the two columns are swapped",
        )
    if len(rows):
        for name in ("tmin_c", "tmax_c"):
            table.values[name] = table.values[name].copy()
            table.values[name][rows] = np.nan


def crossed_days(series: WeatherSeries, file: str) -> Iterator[Problem]:
    """Days whose lowest temperature lies above the highest; both become gaps."""
    if "tmin_c" not in series.values or "tmax_c" not in series.values:
        return
    low, high = series.values["tmin_c"], series.values["tmax_c"]
    rows = np.flatnonzero(low > high)
    for row, count in _grouped(rows):
        more = "" if count == 1 else f" (and on {count - 1} more days)"
        yield Problem(
            f"the lowest temperature {low[row]:.1f} is above the highest {high[row]:.1f}{more}",
            f"{file}, {series.station.name}, {series.first_day + timedelta(days=row)}",
            "tmin at most tmax",
            "fetch the file again, or accept the good days",
        )
    low[rows] = high[rows] = np.nan


def _bad_years(table: DayTable, keep: BoolArray) -> Iterator[Problem]:
    known = ~np.isnat(table.days)
    keep &= known
    if not known.any():
        return
    first, last = np.datetime64(f"{FIRST_YEAR}-01-01"), np.datetime64(f"{LAST_YEAR}-12-31")
    rows = np.flatnonzero(known & ((table.days < first) | (table.days > last)))
    keep[rows] = False
    for row, count in _grouped(rows):
        more = "" if count == 1 else f" and {count - 1} more"
        yield Problem(
            f"{table.days[row]}{more} cannot be the day of a measurement",
            table.where(row, "day"),
            f"a year from {FIRST_YEAR} to {LAST_YEAR}",
            "check the year",
        )


def _bad_order(table: DayTable, keep: BoolArray) -> Iterator[Problem]:
    """Duplicates and steps backward, station by station; repeated days are dropped after their first."""
    for rows, station in _blocks(table, keep):
        steps = np.diff(table.days[rows])
        if bool((steps > np.timedelta64(0, "D")).all()):
            continue
        back = rows[1:][steps < np.timedelta64(0, "D")]
        if len(back):
            row = int(back[0])
            yield Problem(
                f"the days go backward {len(back)} times at {station.name}, first to {table.days[row]}",
                table.where(row, "day"),
                "days in ascending order, year-month-day",
                "sort the rows by day; if they look sorted, day and month are swapped",
            )
        sorted_rows = rows[np.argsort(table.days[rows], kind="stable")]
        again = sorted_rows[1:][np.diff(table.days[sorted_rows]) == np.timedelta64(0, "D")]
        keep[again] = False
        for row, count in _grouped(again):
            more = "" if count == 1 else f" (and {count - 1} more such rows)"
            yield Problem(
                f"{table.days[row]} stands here a second time for {station.name}{more}",
                table.where(row, "day"),
                "every day once",
                "remove one of the rows",
            )


def _blocks(table: DayTable, keep: BoolArray) -> Iterator[tuple[IntArray, Station]]:
    """Rows of each station that are kept, in file order."""
    rows = np.flatnonzero(keep)
    codes = table.station[rows]
    if bool((codes[1:] < codes[:-1]).any()):
        order = np.argsort(codes, kind="stable")
        rows, codes = rows[order], codes[order]
    edges = np.flatnonzero(np.diff(codes)) + 1
    for part in np.split(rows, edges):
        if len(part):
            yield part, table.stations[int(table.station[part[0]])]


def _series(table: DayTable, rows: IntArray, station: Station) -> WeatherSeries | None:
    days = table.days[rows]
    first, last = days.min(), days.max()
    length = int((last - first) / ONE_DAY) + 1
    place = ((days - first) / ONE_DAY).astype(np.int64)
    values = {}
    for name, column in table.values.items():
        values[name] = np.full(length, np.nan)
        values[name][place] = column[rows]
    empty = [name for name, column in values.items() if np.isnan(column).all()]
    for name in empty:
        del values[name]
    if not values:
        return None
    day: date = first.astype(date)
    return WeatherSeries(station, day, values, np.zeros(length, dtype=bool), {})


def _grouped(rows: IntArray) -> Iterator[tuple[int, int]]:
    """Each row once, or the first with the number of all where they are many."""
    if len(rows) > MOST_SINGLE:
        yield int(rows[0]), len(rows)
        return
    for row in rows.tolist():
        yield row, 1
