"""The lines of a delimited text, taken apart into columns a few thousand rows at a time."""

from __future__ import annotations

import csv
from collections.abc import Iterator, Sequence
from operator import methodcaller
from typing import TYPE_CHECKING

import numpy as np

from underoak.model.problem import Problem

if TYPE_CHECKING:
    import numpy.typing as npt

    IntArray = npt.NDArray[np.int64]

#: Lines at a time: fits the processor's cache.
CHUNK = 1_000
MOST_RAGGED = 20


class Rows:
    """A delimited text with a header line.

    ``header`` holds its cells; the delimiter is the one that the header has most of (comma,
    semicolon, tab). Blank lines are passed over; lines of another width than the header are left out
    and named by `problems`.
    """

    def __init__(self, text: str) -> None:
        self._lines = text.splitlines()
        first = next(i for i, line in enumerate(self._lines) if line.strip())
        head = self._lines[first]
        self.delimiter = max(",;\t", key=head.count)
        self.header = [cell.strip() for cell in self._cells([head])[0]]
        self._first = first + 1
        self._ragged: list[tuple[int, int]] = []

    def chunks(self) -> Iterator[tuple[Sequence[Sequence[str]], IntArray]]:
        """Columns of text cells and the line number of each row."""
        for start in range(self._first, len(self._lines), CHUNK):
            lines = self._lines[start : start + CHUNK]
            numbers = np.arange(start + 1, start + 1 + len(lines))
            columns = self._columns(lines)
            if columns is None:
                columns, numbers = self._slow_columns(lines, numbers)
            if len(numbers):
                yield columns, numbers

    def problems(self, file: str) -> list[Problem]:
        """One problem for each line of another width, at most 20."""
        return [
            Problem(
                f"the row has {cells} cells", f"{file}, line {line}", f"{len(self.header)}, as the header"
            )
            for line, cells in self._ragged[:MOST_RAGGED]
        ]

    def _columns(self, lines: list[str]) -> Sequence[Sequence[str]] | None:
        """Columns of lines without quotes that are all of the header's width, else None."""
        width = len(self.header)
        if set(map(methodcaller("count", self.delimiter), lines)) != {width - 1}:
            return None
        joined = self.delimiter.join(lines)
        if '"' in joined:
            return None
        cells = joined.split(self.delimiter)
        return [cells[at::width] for at in range(width)]

    def _slow_columns(self, lines: list[str], numbers: IntArray) -> tuple[Sequence[Sequence[str]], IntArray]:
        rows = self._cells(lines)
        width = len(self.header)
        right = np.array([len(row) == width for row in rows])
        self._ragged += [
            (int(number), len(row))
            for row, number in zip(rows, numbers, strict=True)
            if len(row) != width and any(cell.strip() for cell in row)
        ]
        kept = [row for row in rows if len(row) == width]
        return list(zip(*kept, strict=True)), numbers[right]

    def _cells(self, lines: list[str]) -> list[list[str]]:
        try:
            rows = list(csv.reader(lines, delimiter=self.delimiter))
        except csv.Error:
            rows = []
        if len(rows) == len(lines):
            return rows
        # A quote that is never closed swallows lines; taken one by one, only its own line is spoilt.
        return [self._one_line(line) for line in lines]

    def _one_line(self, line: str) -> list[str]:
        try:
            return next(csv.reader([line], delimiter=self.delimiter), [])
        except csv.Error:  # longer than any cell
            return [line]
