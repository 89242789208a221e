"""``load`` and ``template``: take in files, and write empty tables to fill in."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from underoak.cli.output import day_or_clock, home_option, json_option, show, today_option


@click.command()
@click.argument("kind")
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path))
@home_option
@click.option("--accept-good", is_flag=True, help="Store what was understood and leave out the rest.")
@click.option(
    "--column",
    "columns",
    multiple=True,
    metavar="HEADER=MEANING",
    help='What a column means, such as Low=tmin_c, or a class of a forest map, 41="white oak 40".',
)
@click.option(
    "--units", type=click.Choice(["metric", "us"]), default="metric", help="Units where a file does not say."
)
@click.option(
    "--date-order", type=click.Choice(["dmy", "mdy"]), default=None, help="Where days read either way."
)
@click.option(
    "--station",
    default=None,
    metavar="TEXT",
    help="Station, where a file does not say: 'Name' or 'Name, latitude, longitude, elevation in m'.",
)
@click.option(
    "--origin",
    nargs=2,
    type=float,
    default=None,
    metavar="LON LAT",
    help="South-west corner of a local x, y map of trees.",
)
@click.option("--scale", type=float, default=None, metavar="M", help="Metres for each unit of such a map.")
@click.option("--epsg", type=int, default=None, help="Coordinate system of a grid that does not say it.")
@today_option
@json_option
def load(
    kind: str,
    files: tuple[Path, ...],
    *,
    home: Path,
    accept_good: bool,
    columns: tuple[str, ...],
    units: str,
    date_order: str | None,
    station: str | None,
    origin: tuple[float, float] | None,
    scale: float | None,
    epsg: int | None,
    today: date | None,
    as_json: bool,
) -> None:
    """Take in FILES of one KIND. All or nothing is stored; a file loaded twice changes nothing.

    \b
    KIND is one of
      weather   daily or hourly CSV, the public station-daily archive (.dly or CSV), a forecast (JSON)
      stations  where weather stations stand (the archive's list, or a table)
      places    park outlines with their permission, car parks and known spots (GeoJSON)
      trails    GeoJSON, GPX tracks, OpenStreetMap extract (.osm or .pbf)
      trees     inventory (CSV, GeoJSON), areas with hosts (GeoJSON), notes (GPX), forest-type map (GeoTIFF)
      terrain   elevation grid (GeoTIFF or ESRI ASCII grid)
      visits    the table that 'underoak template visits' writes
      waypoints GPX waypoints of spots and finds
      reports   other people's dated records (Darwin Core archive .zip, or occurrence CSV)
      pack      the log that the page for the pack saved on a telephone
    """  # noqa: D301
    from underoak.desk.load_data import read_files, store_files
    from underoak.desk.load_kinds import Options
    from underoak.settings import load_home

    place = load_home(home)
    day = day_or_clock(today)
    options = Options(
        columns=columns,
        units=units,
        date_order=date_order or "",
        station=station,
        origin=origin,
        scale_m=scale,
        epsg=epsg,
    )
    read = read_files(place, kind, files, options=options, today=day)
    if not as_json:
        for file in read:
            click.echo(f"{file.path.name}:")
            for line in file.reading.understood:
                click.echo(f"  {line}")
    loaded = store_files(place, kind, read, accept_good=accept_good, today=day)
    lines = []
    for each in loaded:
        if each.known_before:
            lines.append(f"{each.file}: loaded before; nothing changed.")
        else:
            lines.append(f"{each.file}: stored, {each.stored} records new or changed.")
        lines += [f"  left out: {problem.sentence()}" for problem in each.problems]
    show(loaded, lines, as_json=as_json)


@click.command()
@click.argument("kind", type=click.Choice(["visits"]))
@click.argument("file", required=False, type=click.Path(path_type=Path))
def template(kind: str, file: Path | None) -> None:  # noqa: ARG001 - one kind so far
    """Write an empty table of one KIND to FILE, or to the screen."""
    from underoak.errors import UserMistake
    from underoak.intake.visits import template_visits

    text = template_visits()
    if file is None:
        click.echo(text, nl=False)
        return
    if file.exists():
        raise UserMistake(f"{file} exists", remedy="choose another name; nothing is overwritten")
    file.write_text(text, "utf-8")
    click.echo(f"Wrote {file}. Fill it in with any spreadsheet, then 'underoak load visits {file}'.")
