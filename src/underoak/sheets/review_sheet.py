"""The review on paper: next year on one page, then every figure with its uncertainty."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from underoak.sheets.pdf import compile_typst

#: Lines of advice that fit the first page beside what is not known yet.
MOST_ON_FIRST_PAGE = 16


@dataclass(frozen=True, slots=True)
class Table:
    """One table of the review. A row of a single cell is a heading over the rows below it."""

    heading: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Picture:
    """An SVG picture with the sentence that says what it shows."""

    words: str
    svg: str


def review_pdf(
    *,
    title: str,
    opening: str,
    advice: Sequence[tuple[str, str, int]],
    unknown: Sequence[str],
    tables: Sequence[Table],
    pictures: Sequence[Picture],
    paper: str,
) -> bytes:
    """The sheet as PDF; ``advice`` holds words, evidence and number of records.

    Everything is told by words, shape and position: it reads the same in black and white.
    """
    lines = [{"words": w, "evidence": e[:1].upper() + e[1:], "records": n} for w, e, n in advice]
    return compile_typst(
        "review",
        {
            "title": title,
            "paper": paper,
            "opening": opening,
            "advice": lines[:MOST_ON_FIRST_PAGE],
            "further": lines[MOST_ON_FIRST_PAGE:],
            "unknown": list(unknown),
            "tables": list(tables),
            "pictures": list(pictures),
        },
    )
