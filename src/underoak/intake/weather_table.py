"""A weather table with a header becomes columns of metric numbers, before any check."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from underoak.errors import BadData
from underoak.intake.weather_columns import Faults, Numbers, day_order, days, fault_problems
from underoak.intake.weather_rows import Rows
from underoak.intake.weather_units import Column, understand_header
from underoak.model.problem import Problem
from underoak.model.weather import DAILY_QUANTITIES, Station

if TYPE_CHECKING:
    import numpy.typing as npt

    FloatArray = npt.NDArray[np.float64]
    IntArray = npt.NDArray[np.int64]
    DayArray = npt.NDArray[np.datetime64]

EXPECTED = "a table with a header: a day column and at least one of " + ", ".join(DAILY_QUANTITIES)
HOURLY_QUANTITIES = (*DAILY_QUANTITIES, "temperature_c")
DAY_EXPECTED = {
    "day": "a day that exists, written year-month-day (a month above 12: day and month are swapped)"
}


@dataclass(frozen=True, slots=True)
class TableOptions:
    """How to read a table whose header does not say everything.

    ``columns`` maps header cells to meanings (see `understand_header`), ``units`` is ``metric`` or
    ``us`` for columns without unit, ``date_order`` ``dmy`` or ``mdy`` for days that could be either,
    ``station`` stands for tables without station column, ``wind_height_m`` is 10 or 2.
    """

    columns: Mapping[str, str] = field(default_factory=dict)
    units: str = "metric"
    date_order: str = ""
    station: Station | None = None
    wind_height_m: float = 10.0


@dataclass(slots=True)
class Table:
    """Columns of a table in file order: line, day, hour (-1 unknown), station position, metric values."""

    file: str
    found: tuple[Column, ...]
    lines: IntArray
    days: DayArray
    hours: IntArray
    station: IntArray
    stations: tuple[Station, ...]
    values: dict[str, FloatArray]
    problems: list[Problem]

    @property
    def assumed(self) -> frozenset[str]:
        """Quantities whose unit the header did not state."""
        return frozenset(c.name for c in self.found if not c.stated)

    def understood(self) -> str:
        """One line that says what each column was taken for."""
        return "columns: " + ", ".join(_words(c) for c in self.found)


def read_table(text: str, *, file: str, options: TableOptions) -> Table:
    """All columns that mean something, with the cells that could not be read as problems.

    Raises BadData where no day column, no weather column or no row is found.
    """
    rows = Rows(text)
    header = rows.header
    found = understand_header(
        header, columns=options.columns, units=options.units, wind_height_m=options.wind_height_m
    )
    _require(found, header, file)
    walk = _Walk(file, found, options)
    parts = [walk.read(columns, lines) for columns, lines in rows.chunks()]
    problems = rows.problems(file) + fault_problems(walk.faults, file, DAY_EXPECTED)
    if not parts:
        raise BadData(problems or [Problem("there is a header but no row", file, EXPECTED)])
    lines, day, hours, station, values = zip(*parts, strict=True)
    return Table(
        file=file,
        found=found,
        lines=np.concatenate(lines),
        days=np.concatenate(day),
        hours=np.concatenate(hours),
        station=np.concatenate(station),
        stations=tuple(walk.stations.values()),
        values={name: np.concatenate([v[name] for v in values]) for name in values[0]},
        problems=problems,
    )


def station_id(name: str) -> str:
    """Stable id of a station from its name or code."""
    return re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-") or "station"


def _require(found: Sequence[Column], header: Sequence[str], file: str) -> None:
    names = {c.name for c in found}
    seen = ", ".join(repr(cell[:30]) for cell in header[:12])
    remedy = "name the columns: such as --column Low=tmin_c --column 'Rain total'=rain_in"
    has_day = names & {"day", "time"} or {"year", "month", "dom"} <= names
    problems = [
        Problem(f"no column holds {what}; the header is {seen}", f"{file}, line 1", EXPECTED, remedy)
        for what, there in (("the day", has_day), ("weather", names & set(HOURLY_QUANTITIES)))
        if not there
    ]
    if problems:
        raise BadData(problems)


@dataclass(slots=True)
class _Walk:
    """One pass over the rows; keeps what goes from chunk to chunk."""

    file: str
    found: tuple[Column, ...]
    options: TableOptions
    faults: Faults = field(default_factory=Faults)
    numbers: Numbers = field(default_factory=Numbers)
    stations: dict[str, Station] = field(default_factory=dict)
    order: str | None = None

    def read(self, columns: Sequence[Sequence[str]], lines: IntArray) -> tuple[Any, ...]:
        """Lines, days, hours, station positions and metric values of a chunk."""
        cells = {c.name: columns[c.position] for c in self.found}
        day, hours = self._when(cells, lines)
        values = {
            c.name: _metric(self.numbers.column(cells[c.name], lines, c.header, self.faults), c)
            for c in self.found
            if c.name in HOURLY_QUANTITIES
        }
        return lines, day, hours, self._where(cells, len(lines)), values

    def _when(self, cells: dict[str, Sequence[str]], lines: IntArray) -> tuple[DayArray, IntArray]:
        hours = np.full(len(lines), -1, dtype=np.int64)
        if "day" not in cells and "time" not in cells:
            parts = zip(cells["year"], cells["month"], cells["dom"], strict=True)
            text: Sequence[str] = tuple(f"{y.strip()}-{m.strip():0>2}-{d.strip():0>2}" for y, m, d in parts)
        else:
            text = cells["day"] if "day" in cells else cells["time"]
        if "hour" in cells:
            read = self.numbers.column(cells["hour"], lines, "hour", self.faults)
            hours = np.nan_to_num(read, nan=-1.0).astype(np.int64)
        elif "time" in cells:
            hours = np.array([_hour(cell) for cell in cells["time"]], dtype=np.int64)
        if self.order is None:
            self.order = self._day_order(text)
        return days(text, lines, "day", self.faults, self.order), hours

    def _day_order(self, cells: Sequence[str]) -> str:
        seen, told = day_order(cells), self.options.date_order
        if seen in ("", told) or (seen != "either" and not told):
            return seen
        if seen == "either" and told:
            return told
        what = (
            f"days such as {cells[0]!r} can be read day first or month first"
            if seen == "either"
            else f"days are written {seen}, not {told}: day and month look swapped"
        )
        remedy = "write days year-month-day, or say --date-order dmy or mdy"
        raise BadData([Problem(what, f"{self.file}, line 2, day", "days in one clear order", remedy)])

    def _where(self, cells: dict[str, Sequence[str]], rows: int) -> IntArray:
        """Position of each row's station; new stations are taken in."""
        if "station" not in cells:
            station = self.options.station or Station(station_id(Path(self.file).stem), Path(self.file).stem)
            self.stations.setdefault("", station)
            return np.zeros(rows, dtype=np.int64)
        for code in dict.fromkeys(cells["station"]):
            if code not in self.stations:
                at = cells["station"].index(code)
                name, *place = (
                    cells[k][at] if k in cells else "" for k in ("name", "latitude", "longitude", "elevation")
                )
                self.stations[code] = Station(station_id(code), name or code, *map(_maybe, place))
        position = {code: i for i, code in enumerate(self.stations)}
        return np.fromiter(map(position.__getitem__, cells["station"]), dtype=np.int64, count=rows)


def _metric(values: FloatArray, column: Column) -> FloatArray:
    if column.factor == 1.0 and column.offset == 0.0:
        return values
    return values * column.factor + column.offset


_CLOCK = re.compile(r"[T ](\d{1,2})(?::?\d{2})?")


def _hour(cell: str) -> int:
    match = _CLOCK.search(cell.strip())
    return int(match[1]) if match else -1


def _maybe(cell: str) -> float | None:
    try:
        return float(cell)
    except ValueError:
        return None


def _words(column: Column) -> str:
    unit = f" ({column.unit}{'' if column.stated else ', assumed'})" if column.unit else ""
    return f"{column.header} = {column.name}{unit}"
