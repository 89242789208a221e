"""``share``: finds for others, with every spot blurred; the household's own calendar; photos of finds."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import click

from underoak.cli.output import Day, day_or_clock, home_option, json_option, show, today_option


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@home_option
@click.option(
    "--dates",
    type=click.Choice(["day", "month", "year"]),
    default="day",
    show_default=True,
    help="How exactly days are told. Times of day never are.",
)
@click.option("--since", type=Day(), default=None, metavar="YYYY-MM-DD", help="First day.")
@click.option("--until", type=Day(), default=None, metavar="YYYY-MM-DD", help="Last day.")
@click.option("--cell-km", type=float, default=None, help="Larger cells than the settings say, to 128 km.")
@click.option("--photos", is_flag=True, help="Photos too, without any tag. What they show stays visible.")
@click.option("--names", is_flag=True, help="Name the people who confirmed a find.")
@click.option("--by", default=None, help="Under which name it is published.")
@click.option("--title", default=None, help="What the collection is called.")
@click.option("--licence", type=click.Choice(["cc0", "cc-by"]), default="cc0", show_default=True)
@click.option("--replace", is_flag=True, help="Overwrite FILE.")
@today_option
@json_option
def share(file: Path, *, home: Path, today: date | None, as_json: bool, **choices: Any) -> None:
    """Write finds and absences to FILE for others. Spots become cells of a fixed grid.

    \b
    The ending of FILE says how:
      .zip      Darwin Core archive: occurrences, facts, identifications, photos
      .csv      the occurrences alone, with Darwin Core headers
      .gpx      one waypoint for each cell
      .geojson  one polygon for each cell
      .ics      your own calendar: use-by days and planned walks, no place named

    All spots of one wood share one cell, and it is the same cell every time. Spots that you withhold are
    in none of these files. Sharing says nothing about whether anything may be eaten.
    """  # noqa: D301
    from underoak.model.quantities import counted
    from underoak.settings import load_home

    place, day = load_home(home), day_or_clock(today)
    if file.suffix.lower() == ".ics":
        from underoak.desk.remember_days import write_calendar

        days = write_calendar(place, file, today=day, replace=choices["replace"])
        lines = [
            f"Wrote {file}: {counted(len(days), 'day')}, no place named.",
            *(f"  {d.on}  {d.title}" for d in days),
        ]
        show({"file": str(file), "days": days}, lines, as_json=as_json)
        return
    from underoak.desk.share_finds import Choices, share_finds

    said = {name: value for name, value in choices.items() if value is not None}
    shared = share_finds(place, file, Choices(**said), today=day)
    lines = [
        f"Wrote {shared.file}: {counted(shared.finds, 'find')} and {counted(shared.absences, 'absence')}.",
        f"  {counted(shared.cells, 'cell')} of {shared.cell_km} km; the true spot lies within "
        f"{shared.uncertainty_m} m of the point that is told.",
        f"  left out: {counted(shared.withheld_spots, 'spot')} that you withhold; places, hosts, "
        "people and notes.",
    ]
    if shared.pictures:
        lines.append(
            f"  {counted(shared.pictures, 'photo')} without tags: look at what stands behind the mushroom."
        )
    show(shared, lines, as_json=as_json)


@click.command()
@click.argument("find_id", metavar="FIND")
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path))
@home_option
@click.option("--shows", default="", help="Which part it shows, such as: base, cut lengthwise.")
@today_option
@json_option
def photo(
    find_id: str, files: tuple[Path, ...], *, home: Path, shows: str, today: date | None, as_json: bool
) -> None:
    """Keep FILES as photos of a find. They are copied into the home, with all their tags."""
    from underoak.desk.keep_photo import keep_photo
    from underoak.settings import load_home

    place, day = load_home(home), day_or_clock(today)
    kept = [keep_photo(place, find_id, file, shows=shows, today=day) for file in files]
    lines = [f"{file.name}: kept as photos/{one.file}." for file, one in zip(files, kept, strict=True)]
    show(kept, lines, as_json=as_json)
