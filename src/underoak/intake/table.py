"""Delimited tables (CSV, TSV) read with their line numbers."""

from __future__ import annotations

import csv
import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from underoak.errors import BadData
from underoak.intake.reading import read_text
from underoak.model.problem import Problem

#: Thousands of bad rows are one mistake; so many are told one by one.
MOST_TOLD = 200


@dataclass(frozen=True, slots=True)
class Row:
    """One line of a table: its number in the file and its cells by plain header."""

    line: int
    where: str
    cells: Mapping[str, str]

    def text(self, column: str | None) -> str:
        """The stripped cell, empty when there is no such column."""
        return self.cells.get(column, "").strip() if column else ""


@dataclass(frozen=True, slots=True)
class Table:
    """A table with plain headers (lower case, words joined by ``_``) and its whole rows."""

    file: str
    headers: tuple[str, ...]
    rows: tuple[Row, ...]
    problems: tuple[Problem, ...]

    def column(self, *names: str) -> str | None:
        """The first of these plain headers that the table has."""
        return next((name for name in names if name in self.headers), None)


def plain_header(text: str) -> str:
    """``DBH (in)`` becomes ``dbh_in``, ``decimalLatitude`` becomes ``decimallatitude``."""
    return re.sub(r"[\W_]+", "_", text.strip().casefold()).strip("_")


def read_table(path: Path, *, expected: str) -> Table:
    """A table with one header line; the delimiter (comma, semicolon, tab) is the one the header holds most.

    Lines that start with ``#`` and blank lines are left aside. Rows with another number of cells than the
    header become problems.

    Raises
    ------
    BadData   when the file is missing, empty, binary, has no header or two equal ones, or no delimiter
    """
    text = read_text(path, expected=expected)
    delimiter = _delimiter(text)
    # Tab-separated exports carry quotation marks as they are; in the others they wrap a cell.
    if delimiter == "\t" and not text.startswith('"'):
        reader = csv.reader(_meant(text), delimiter=delimiter, quoting=csv.QUOTE_NONE)
    else:
        reader = csv.reader(_meant(text), delimiter=delimiter, strict=True)
    problems: list[Problem] = []
    rows: list[Row] = []
    headers: tuple[str, ...] = ()
    wrong = 0
    try:
        for cells in reader:
            where = f"{path.name}, line {reader.line_num}"
            if not any(cell.strip() for cell in cells):
                continue
            if not headers:
                headers = _headers(cells, where, expected)
            elif len(cells) != len(headers):
                wrong += 1
                problems.append(Problem(f"{len(cells)} cells", where, f"{len(headers)} as in the header"))
            else:
                rows.append(Row(reader.line_num, where, dict(zip(headers, cells, strict=True))))
    except csv.Error as error:
        problems.append(
            Problem(f"the table breaks off: {error}", f"{path.name}, line {reader.line_num}", expected)
        )
    if not rows and not problems:
        raise BadData([Problem("the table has a header but no row", path.name, expected)])
    return Table(path.name, headers, tuple(rows), told(problems, path.name))


def _meant(text: str) -> Iterator[str]:
    """Lines of the text; comment lines become blank so that line numbers stay right."""
    for line in text.splitlines(keepends=True):
        yield "\n" if line.lstrip().startswith("#") else line


def _delimiter(text: str) -> str:
    header = next((line for line in _meant(text) if line.strip()), "")
    return max(",;\t", key=header.count)


def _headers(cells: Sequence[str], where: str, expected: str) -> tuple[str, ...]:
    headers = tuple(plain_header(cell) for cell in cells)
    twice = sorted(name for name, times in Counter(headers).items() if name and times > 1)
    if twice:
        raise BadData([Problem(f"the header names {', '.join(twice)} twice", where, expected)])
    if len(headers) < 2:
        raise BadData([Problem("the first line is no header of a table", where, expected)])
    return headers


def told(problems: Sequence[Problem], file: str) -> tuple[Problem, ...]:
    """All problems, or the first 200 and how many more there are."""
    if len(problems) <= MOST_TOLD:
        return tuple(problems)
    rest = Problem(f"{len(problems) - MOST_TOLD} more problems of this kind", file)
    return (*problems[:MOST_TOLD], rest)


def number(text: str) -> float | None:
    """The finite number a cell holds, or None; a decimal comma is understood where there is no point."""
    try:
        value = float(text.replace(",", ".") if "," in text and "." not in text else text)
    except ValueError:
        return None
    return value if abs(value) < 1e300 else None  # NaN and infinities are none
