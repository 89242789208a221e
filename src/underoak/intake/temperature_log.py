"""Logged temperatures: of a heat process, or of how a lot was kept."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from itertools import pairwise
from pathlib import Path

from underoak.intake.reading import Reading
from underoak.intake.table import Row, read_table
from underoak.model.kitchen import Keeping
from underoak.model.problem import Problem
from underoak.model.quantities import counted

_EXPECTED = "a table with 'minutes' or 'time', and 'temperature_c'"
_CONVERT = "if the log is in °F, convert it: (°F - 32) / 1.8"
#: What a lot on its way home, and what a canner can show, °C.
STORE_C = (-30.0, 45.0)
HEAT_C = (-40.0, 150.0)

Readings = tuple[tuple[float, float], ...]


def read_temperature_log(path: Path, *, low_c: float, high_c: float) -> Reading[Readings]:
    """Pairs of (minutes since the first reading, °C) with every problem and its line.

    Columns: ``minutes`` (or ``time``, local, ISO) and ``temperature_c``. A column in °F is refused by its
    name, a log in °F under a name in °C by its values.

    **Fails towards** refusing: one reading out of range or out of order and the caller gets the problems.
    """
    table = read_table(path, expected=_EXPECTED)
    problems = list(table.problems)
    clock = table.column("minutes", "time")
    degrees = table.column("temperature_c", "temp_c", "celsius")
    fahrenheit = table.column("temperature_f", "temp_f", "fahrenheit")
    if degrees is None:
        what = f"the column {fahrenheit} is in °F" if fahrenheit else "there is no column temperature_c"
        problems.append(Problem(what, path.name, _EXPECTED, _CONVERT if fahrenheit else ""))
    if clock is None:
        problems.append(Problem("there is no column minutes or time", path.name, _EXPECTED))
    if degrees is None or clock is None:
        return Reading((), tuple(problems))
    found = []
    for row in table.rows:
        minutes = _minutes(row, clock, problems)
        celsius = _celsius(row, degrees, low_c, high_c, problems)
        if minutes is not None and celsius is not None:
            found.append((minutes, celsius, row.where))
    for (before, _, _), (after, _, where) in pairwise(found):
        if after <= before:
            problems.append(Problem("the clock goes backwards", where, "a later time than the line above"))
    if len(found) < 2 and not problems:
        problems.append(Problem(counted(len(found), "reading"), path.name, "at least two"))
    first = found[0][0] if found else 0.0
    readings = tuple((minutes - first, celsius) for minutes, celsius, _ in found)
    return Reading(readings, tuple(problems), (f"{len(readings)} readings",))


def _minutes(row: Row, column: str, problems: list[Problem]) -> float | None:
    text = row.text(column)
    try:
        if column == "minutes":
            return float(text)
        return datetime.fromisoformat(text).timestamp() / 60.0
    except ValueError:
        expected = "a number" if column == "minutes" else "YYYY-MM-DD HH:MM"
        problems.append(Problem(f"{text!r}", f"{row.where}, {column}", expected))
        return None


def _celsius(row: Row, column: str, low: float, high: float, problems: list[Problem]) -> float | None:
    text = row.text(column)
    try:
        value = float(text)
    except ValueError:
        value = float("nan")
    if low <= value <= high:
        return value
    problems.append(Problem(f"{text!r} °C", f"{row.where}, {column}", f"{low:g} to {high:g} °C", _CONVERT))
    return None


def as_keeping(readings: Sequence[tuple[float, float]]) -> tuple[Keeping, ...]:
    """A storage log as hours at temperatures: each stretch counts at the warmer of its two ends."""
    return tuple(
        Keeping((after - before) / 60.0, max(t0, t1)) for (before, t0), (after, t1) in pairwise(readings)
    )
