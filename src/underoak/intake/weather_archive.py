"""The public station-daily archive: fixed-width ``.dly`` files and by-station CSV lines.

Both hold one element of one station a record, whole numbers in tenths of mm, degrees and m/s, -9999
for missing, and a quality flag that is blank where all checks were passed.
Source: NOAA GHCN-Daily readme, from memory.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from underoak.errors import BadData
from underoak.intake.reading import Reading
from underoak.intake.weather_checks import DayTable, checked_series, crossed_days
from underoak.intake.weather_columns import Faults, Numbers, days, fault_problems
from underoak.intake.weather_csv import spans
from underoak.intake.weather_rows import Rows
from underoak.intake.weather_table import station_id
from underoak.intake.weather_units import WIND_10M_TO_2M
from underoak.model.problem import Problem
from underoak.model.weather import Station, WeatherSeries

if TYPE_CHECKING:
    import numpy.typing as npt

    FloatArray = npt.NDArray[np.float64]
    IntArray = npt.NDArray[np.int64]
    DayArray = npt.NDArray[np.datetime64]

#: Element in tenths -> (quantity, factor after the tenths). Wind is measured at about 10 m.
ELEMENTS = {
    "PRCP": ("rain_mm", 1.0),
    "TMIN": ("tmin_c", 1.0),
    "TMAX": ("tmax_c", 1.0),
    "ADPT": ("dewpoint_c", 1.0),
    "AWND": ("wind_m_s", WIND_10M_TO_2M),
}
FIXED_LINE = re.compile(r"[A-Z0-9_-]{11}\d{6}[A-Z0-9]{4}[ \-\d]{5}")
CSV_LINE = re.compile(r"[A-Z0-9_-]{11},\d{8},[A-Z0-9]{4},-?\d+,")
FIXED_WIDTH = 21 + 31 * 8
MISSING = -9999
CSV_HEADER = "ID,YYYYMMDD,ELEMENT,VALUE,MFLAG,QFLAG,SFLAG,OBSTIME"

#: Station code, days, element, value in tenths (NaN missing or failed), line: one row a measurement.
Long = tuple[Sequence[str], "DayArray", Sequence[str], "FloatArray", "IntArray"]


def read_fixed_width(
    text: str, *, file: str, station: Station | None = None
) -> Reading[tuple[WeatherSeries, ...]]:
    """Daily series of a ``.dly`` file: a line a station, month and element.

    ``station`` gives name and position, which the format does not carry. Values that failed a
    quality check become gaps and are counted.
    """
    problems: list[Problem] = []
    long, failed = _fixed_lines(text, file, problems)
    return _reading(file, long, failed, problems, station)


def read_by_station(
    text: str, *, file: str, station: Station | None = None
) -> Reading[tuple[WeatherSeries, ...]]:
    """Daily series of by-station CSV lines ID,YYYYMMDD,ELEMENT,VALUE,MFLAG,QFLAG,SFLAG,OBSTIME.

    ``station`` and quality as in `read_fixed_width`. A header line is allowed.
    """
    head = text[:200].split("\n", 1)[0]
    rows = Rows(text if head.upper().startswith("ID,") else f"{CSV_HEADER}\n{text}")
    shift = 0 if head.upper().startswith("ID,") else 1
    faults, numbers, failed = Faults(), Numbers(), 0
    parts: list[Long] = []
    for columns, raw_lines in rows.chunks():
        lines = raw_lines - shift
        values = numbers.column(columns[3], lines, "VALUE", faults)
        bad = np.array([flag.strip() != "" for flag in columns[5]], dtype=bool)
        failed += int(bad.sum())
        values[bad] = np.nan
        calendar = days(columns[1], lines, "day", faults)
        parts.append((columns[0], calendar, columns[2], values, lines))
    problems = rows.problems(file) + fault_problems(faults, file, {"day": "a day written YYYYMMDD"})
    return _reading(file, _joined(parts), failed, problems, station)


def _fixed_lines(text: str, file: str, problems: list[Problem]) -> tuple[Long, int]:
    """All measurements of elements of use, and how many failed their quality checks."""
    parts: list[Long] = []
    failed = 0
    for number, line in enumerate(text.splitlines(), 1):
        month = _month(line)
        if month is None and line.strip():
            problems.append(_malformed(f"{file}, line {number}"))
        if month is None or line[17:21] not in ELEMENTS:
            continue
        calendar, tenths, bad = month
        failed += bad
        days_there = len(calendar)
        parts.append(
            (
                [line[:11]] * days_there,
                calendar,
                [line[17:21]] * days_there,
                tenths,
                np.full(days_there, number),
            )
        )
    return _joined(parts), failed


def _malformed(where: str) -> Problem:
    return Problem(
        "the line is not in the archive's fixed-width form",
        where,
        "station, year, month, element and 31 values with three flags each",
        "fetch the file again; it may be cut off",
    )


def _month(line: str) -> tuple[DayArray, FloatArray, int] | None:
    """Days, tenths and number of failed checks of one line; None where it is malformed."""
    if not FIXED_LINE.match(line) or len(line) < FIXED_WIDTH - 3:
        return None
    try:
        first = np.datetime64(f"{line[11:15]}-{line[15:17]}", "M")
        tenths = np.array([float(int(line[at : at + 5])) for at in range(21, FIXED_WIDTH, 8)])
    except ValueError:
        return None
    quality = np.array([line[at : at + 1].strip() != "" for at in range(27, FIXED_WIDTH, 8)])
    calendar = np.arange(first, first + 1, dtype="datetime64[D]")
    tenths, quality = tenths[: len(calendar)], quality[: len(calendar)]
    there = tenths != MISSING
    kept = np.where(quality | ~there, np.nan, tenths)
    return calendar[there], kept[there], int((quality & there).sum())


def _joined(parts: Sequence[Long]) -> Long:
    none = np.array([], dtype=np.int64)
    return (
        [c for p in parts for c in p[0]],
        np.concatenate([none.astype("datetime64[D]"), *(p[1] for p in parts)]),
        [e for p in parts for e in p[2]],
        np.concatenate([none.astype(float), *(p[3] for p in parts)]),
        np.concatenate([none, *(p[4] for p in parts)]),
    )


def _reading(
    file: str, long: Long, failed: int, problems: list[Problem], station: Station | None
) -> Reading[tuple[WeatherSeries, ...]]:
    tables = list(_tables(file, long, station))
    if not tables:
        if problems:
            raise BadData(problems)
        wanted = ", ".join(ELEMENTS)
        raise BadData([Problem("no element of use was found", file, f"at least one of {wanted}")])
    series: list[WeatherSeries] = []
    for table in tables:
        found, faults = checked_series(table)
        series += found
        problems += faults
    merged = _merged(series)
    problems += [p for one in merged for p in crossed_days(one, file)]
    note = f"{failed} values failed the archive's own checks and are kept as gaps"
    return Reading(merged, tuple(problems), (*spans(merged), note) if failed else tuple(spans(merged)))


def _tables(file: str, long: Long, station: Station | None) -> Iterator[DayTable]:
    """One table an element, with all stations in it."""
    codes, calendar, elements, tenths, lines = long
    place: dict[str, int] = {}
    code = np.fromiter((place.setdefault(c, len(place)) for c in codes), dtype=np.int64, count=len(codes))
    stations = tuple(_station(c, station if len(place) == 1 else None) for c in place)
    kind = np.array(elements)
    for element, (quantity, factor) in ELEMENTS.items():
        rows = np.flatnonzero(kind == element)
        if len(rows):
            values = {quantity: tenths[rows] / 10.0 * factor}
            yield DayTable(file, lines[rows], calendar[rows], code[rows], stations, values)


def _station(code: str, told: Station | None) -> Station:
    return replace(told, id=station_id(code)) if told is not None else Station(station_id(code), code)


def _merged(series: Sequence[WeatherSeries]) -> tuple[WeatherSeries, ...]:
    """Series of one quantity each, joined by station."""
    by_station: dict[str, list[WeatherSeries]] = {}
    for one in series:
        by_station.setdefault(one.station.id, []).append(one)
    return tuple(_joined_series(parts) for parts in by_station.values())


def _joined_series(parts: Sequence[WeatherSeries]) -> WeatherSeries:
    first = min(p.first_day for p in parts)
    length = (max(p.last_day for p in parts) - first).days + 1
    values = {}
    for part in parts:
        start = (part.first_day - first).days
        for name, column in part.values.items():
            values[name] = np.full(length, np.nan)
            values[name][start : start + part.days] = column
    return WeatherSeries(parts[0].station, first, values, np.zeros(length, dtype=bool), {})
