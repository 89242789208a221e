"""``review``: what the seasons taught."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from underoak.cli.output import day_or_clock, home_option, json_option, show, today_option
from underoak.errors import UserMistake

if TYPE_CHECKING:
    from underoak.desk.review_season import Review
    from underoak.review.next_year import NextYear
    from underoak.sheets.review_sheet import Table

#: A first column is cut to this on the screen, to keep a line on it.
_FIRST_COLUMN = 24


@click.command()
@home_option
@click.option(
    "--year", type=click.IntRange(1900, 2200), default=None, help="The season; this one by default."
)
@click.option("--next-year", "only_next", is_flag=True, help="Only what to do differently next year.")
@click.option(
    "--pdf", is_flag=True, help="Also write the review as a PDF with pictures into the home's sheets."
)
@click.option(
    "--toward", default=None, metavar="SIDE", help="A side of the trunk stated beforehand, such as NE or 45."
)
@click.option("--paper", default="us-letter", show_default=True, help="Paper of the PDF: a4 or us-letter.")
@today_option
@json_option
def review(
    home: Path,
    *,
    year: int | None,
    only_next: bool,
    pdf: bool,
    toward: str | None,
    paper: str,
    today: date | None,
    as_json: bool,
) -> None:
    """Show what the seasons taught, each figure with its uncertainty and its records.

    Rates by place, kind, month and party; against the plan, the region and the first frost; memory of
    trees; colour; how good the forecasts were; skipped checks; the kitchen; and what to do differently.
    """
    from underoak.desk.review_season import review_season
    from underoak.settings import load_home

    day, house = day_or_clock(today), load_home(home)
    season = year or (day.year if day.month >= 3 else day.year - 1)
    found = review_season(house, season, toward_deg=_side(toward))
    if only_next:
        show(found.next_year, next_year_lines(found.next_year), as_json=as_json)
    else:
        show(found, review_lines(found), as_json=as_json)
    if pdf:
        from underoak.desk.review_sheets import write_review

        path = write_review(found, house.sheets / f"review-{found.year}.pdf", paper=paper)
        click.echo(f"Written: {path}", err=as_json)


def _side(toward: str | None) -> float | None:
    from underoak.review.noted import noted

    if toward is None:
        return None
    degrees = noted(f"side: {toward}").side_deg
    if degrees is None:
        raise UserMistake(f"{toward!r} is no side", where="--toward", expected="NE and such, or 0 to 360")
    return degrees


def review_lines(found: Review) -> Iterator[str]:
    """The review as text: all tables, then next year."""
    from underoak.desk.review_tables import review_tables

    for table in review_tables(found):
        yield from _table_lines(table)
        yield ""
    yield from next_year_lines(found.next_year)


def next_year_lines(page: NextYear) -> Iterator[str]:
    """What to do differently, each line with its evidence, and what is not known yet."""
    yield f"Season {page.season}: what to do differently"
    if not page.advice:
        yield "  Nothing to do differently is carried by the records yet."
    for line in page.advice:
        yield from _wrapped(f"- {line.words}", "  ")
        yield from _wrapped(f"{line.evidence}. Records: {line.records}.", "      ")
    if page.unknown:
        yield "Not known yet"
        for words in page.unknown:
            yield from _wrapped(f"- {words}", "  ")


def _table_lines(table: Table) -> Iterator[str]:
    yield table.heading
    full = [row for row in table.rows if len(row) > 1]
    if full:
        cells = [table.columns, *full]
        widths = [max(len(row[n]) for row in cells) for n in range(len(table.columns))]
        widths[0] = min(widths[0], _FIRST_COLUMN)
        yield _line(table.columns, widths)
        for row in table.rows:
            yield f" {row[0]}" if len(row) == 1 else _line(row, widths)
    for words in table.notes:
        yield from _wrapped(words, "  ")


def _line(row: tuple[str, ...], widths: list[int]) -> str:
    first = row[0] if len(row[0]) <= widths[0] else row[0][: widths[0] - 1] + "…"
    rest = "  ".join(cell.rjust(width) for cell, width in zip(row[1:], widths[1:], strict=True))
    return f"  {first:{widths[0]}}  {rest}".rstrip()


def _wrapped(words: str, indent: str) -> list[str]:
    import textwrap

    return textwrap.wrap(words, 118, initial_indent=indent, subsequent_indent=indent + "  ")
