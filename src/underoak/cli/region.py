"""``underoak region``: the outlook over every inventoried tree, here or on a cluster."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from underoak.cli.output import day_or_clock, home_option, json_option, show, today_option

if TYPE_CHECKING:
    from underoak.desk.region_outlook import RegionOutlook

#: Rows that are printed; the file holds all.
_MOST_ROWS = 20


@click.command()
@home_option
@today_option
@click.option("--workers", type=click.IntRange(1, 256), default=None, help="Start so many Dask workers here.")
@click.option("--scheduler", default=None, metavar="ADDRESS", help="Use the Dask cluster at this address.")
@click.option("--out", type=click.Path(path_type=Path), default=None, help="Write all rows into a CSV file.")
@json_option
def region(
    *,
    home: Path,
    today: date | None,
    workers: int | None,
    scheduler: str | None,
    out: Path | None,
    as_json: bool,
) -> None:
    """The outlook over every known spot and inventoried tree of all places.

    Without --workers or --scheduler it is reckoned in this process. The numbers are the same everywhere.
    """
    from underoak.desk.region_outlook import dask_cluster, on_this_machine, region_outlook, write_region
    from underoak.settings import load_home

    here, now = load_home(home), day_or_clock(today)
    if workers is None and scheduler is None:
        answer = region_outlook(here, today=now, reckon=on_this_machine)
    else:
        with dask_cluster(scheduler=scheduler, workers=workers or 2) as reckon:
            answer = region_outlook(here, today=now, reckon=reckon)
    if out is not None:
        write_region(answer, out)
    show(answer, _lines(answer, out), as_json=as_json)


def _lines(answer: RegionOutlook, out: Path | None) -> Iterator[str]:
    yield f"{answer.spots} spots and trees in {answer.parts} parts, {answer.days[0]} to {answer.days[-1]}"
    for row in answer.rows[:_MOST_ROWS]:
        best = max(range(len(row.expected_kg)), key=lambda n: row.expected_kg[n])
        yield (
            f"{row.place}: {row.taxon}, {row.spots} spots and trees, most on {answer.days[best]} with "
            f"{row.expected_kg[best]:.2f} kg, best single chance {100 * row.best_chance[best]:.1f} %"
        )
    if out is not None:
        yield f"Written: {out}"
