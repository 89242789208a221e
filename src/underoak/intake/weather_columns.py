"""Text columns become numbers and days, quickly; slowly only where something is wrong."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

import numpy as np

from underoak.model.problem import Problem

if TYPE_CHECKING:
    import numpy.typing as npt

    FloatArray = npt.NDArray[np.float64]
    IntArray = npt.NDArray[np.int64]
    DayArray = npt.NDArray[np.datetime64]

#: Ways in which tables write "not measured".
MISSING = frozenset({"", "na", "n/a", "nan", "null", "none", "-", "--", "m", "missing", "."})
#: Ways in which tables write "less than can be measured".
TRACE = frozenset({"t", "tr", "trace"})
#: Numbers that stand for "not measured".
MISSING_NUMBERS = (-9999.0, -999.0, -99.9, 9999.9)
#: No instrument writes numbers as large; they would overflow in sums.
BEYOND_MEASURE = 1e9
#: Distinct texts remembered at most.
MOST_REMEMBERED = 200_000
NOT_A_DAY = np.datetime64("NaT", "D")


class Faults:
    """Cells that could not be read, as (line, text), by column."""

    def __init__(self) -> None:
        self.cells: dict[str, list[tuple[int, str]]] = {}

    def add(self, column: str, line: int, text: str) -> None:
        """Keep one bad cell."""
        self.cells.setdefault(column, []).append((line, text))


class Numbers(dict[str, float]):
    """Floats by their text: a weather table repeats few distinct numbers, so each is read once.

    Missing marks are NaN, traces 0; text that is no number is NaN and kept in ``unreadable``.
    """

    def __init__(self) -> None:
        super().__init__()
        self.unreadable: set[str] = set()

    def __missing__(self, cell: str) -> float:
        """Read a text that was not met before."""
        value = self._read(cell.strip().lower())
        if value is None:
            self.unreadable.add(cell)
            value = math.nan
        elif value in MISSING_NUMBERS:
            value = math.nan
        self[cell] = value
        return value

    @staticmethod
    def _read(text: str) -> float | None:
        if text in MISSING:
            return math.nan
        if text in TRACE:
            return 0.0
        try:
            value = float(text.replace(",", ".") if text.count(",") == 1 and "." not in text else text)
        except ValueError:
            return None
        return value if abs(value) < BEYOND_MEASURE else None

    def column(self, cells: Sequence[str], lines: IntArray, name: str, faults: Faults) -> FloatArray:
        """Floats of a text column; unreadable cells become NaN and faults of ``name``."""
        if len(self) > MOST_REMEMBERED:
            self.clear()
        values = np.fromiter(map(self.__getitem__, cells), dtype=float, count=len(cells))
        if self.unreadable:
            for line, cell in zip(lines.tolist(), cells, strict=True):
                if cell in self.unreadable:
                    faults.add(name, line, cell)
        return values


def days(cells: Sequence[str], lines: IntArray, column: str, faults: Faults, order: str = "") -> DayArray:
    """Calendar days of a text column, NaT where a cell is no day (kept as faults).

    ``order`` is ``dmy`` or ``mdy`` for days written with slashes or dots, empty for ISO.
    """
    if not order:
        try:
            return _iso_days(cells)
        except ValueError:
            pass
    read = _reader(order)
    parsed = []
    for cell, line in zip(cells, lines.tolist(), strict=True):
        day = read(cell.strip())
        if day is None:
            faults.add(column, line, cell)
        parsed.append(NOT_A_DAY if day is None else day)
    return np.array(parsed, dtype="datetime64[D]")


def _iso_days(cells: Sequence[str]) -> DayArray:
    if set(map(len, cells)) != {10}:
        raise ValueError("not plain ISO days")
    return np.array(cells, dtype="datetime64[D]")


_THREE = re.compile(r"(\d{1,4})[-/. ](\d{1,2})[-/. ](\d{1,4})(?:[T ].*)?$")
_EIGHT = re.compile(r"(\d{4})(\d{2})(\d{2})$")


def _reader(order: str) -> Callable[[str], np.datetime64 | None]:
    place = {"dmy": (2, 1, 0), "mdy": (2, 0, 1)}.get(order, (0, 1, 2))

    def read(text: str) -> np.datetime64 | None:
        match = _EIGHT.match(text)
        parts = match.groups() if match else ()
        if not match and (match := _THREE.match(text)):
            parts = match.groups()
            if order and len(parts[0]) < 4:
                parts = tuple(parts[i] for i in place)
        if len(parts) != 3 or len(parts[0]) != 4:
            return None
        try:
            return np.datetime64(f"{parts[0]}-{int(parts[1]):02d}-{int(parts[2]):02d}", "D")
        except ValueError:
            return None

    return read


def day_order(cells: Sequence[str]) -> str:
    """How days with slashes or dots are written: ``dmy``, ``mdy``, ``either`` or "" for year first."""
    first = second = 0
    for cell in cells:
        match = _THREE.match(cell.strip())
        if match is None or len(match[1]) == 4 or len(match[3]) != 4:
            return ""
        first, second = max(first, int(match[1])), max(second, int(match[2]))
    if first > 12:
        return "dmy"
    return "mdy" if second > 12 else "either"


def fault_problems(faults: Faults, file: str, expected: dict[str, str]) -> list[Problem]:
    """One problem per bad cell, or one per column where it is bad throughout."""
    problems = []
    for column, cells in faults.cells.items():
        if len(cells) > 20:
            line, text = cells[0]
            problems.append(
                Problem(
                    f"{len(cells)} cells cannot be read, the first is {_short(text)}",
                    f"{file}, line {line}, {column}",
                    expected.get(column, "a number"),
                )
            )
            continue
        problems.extend(
            Problem(
                f"{_short(text)} cannot be read",
                f"{file}, line {line}, {column}",
                expected.get(column, "a number"),
            )
            for line, text in cells
        )
    return problems


def _short(text: str) -> str:
    return repr(text if len(text) <= 40 else text[:37] + "...")
