"""``review``: what the season brought."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from underoak.cli.output import day_or_clock, home_option, json_option, show, today_option

if TYPE_CHECKING:
    from underoak.desk.review_season import Line, Review


@click.command()
@home_option
@click.option(
    "--year", type=click.IntRange(1900, 2200), default=None, help="The season; this one by default."
)
@today_option
@json_option
def review(home: Path, *, year: int | None, today: date | None, as_json: bool) -> None:
    """Show kilograms and prime finds for each hour walked, by place and taxon."""
    from underoak.desk.review_season import review_season
    from underoak.settings import load_home

    day = day_or_clock(today)
    found = review_season(load_home(home), year or (day.year if day.month >= 3 else day.year - 1))
    show(found, review_lines(found), as_json=as_json)


def review_lines(found: Review) -> Iterator[str]:
    """The review as one screen of text."""
    yield f"Season {found.year}: what each hour brought. Hours that found nothing count."
    yield f"{'':30}{'visits':>7}{'hours':>7}{'kg':>7}{'kg/h':>7}   prime finds/h (95 %)    year before"
    place = ""
    for line in found.lines:
        if line.place != place:
            place = line.place
            yield place
        yield _line(line)
    yield "The interval treats finds as independent; clumped finds make it too narrow."


def _line(line: Line) -> str:
    rate, before = line.rate, line.last_year
    start = f"  {line.taxon:28.28}{rate.visits:>7}{rate.hours:>7.1f}{rate.kg:>7.1f}"
    if rate.kg_per_hour is None:
        return start + "      hours not written down"
    span = f"{rate.prime_finds_per_hour:.2f} ({rate.low:.2f} to {rate.high:.2f})"
    earlier = f"{before.kg_per_hour.value:.2f} kg/h" if before and before.kg_per_hour is not None else "no record"
    return f"{start}{rate.kg_per_hour.value:>7.2f}   {span:24}{earlier}"
