"""``new`` and ``demo``: make a home."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import Any

import click

from underoak.cli.output import json_option, show
from underoak.errors import UserMistake


@click.command()
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--name", default=None, help="What your household calls itself.")
@click.option("--latitude", type=float, default=None, help="Degrees north of the equator, such as 41.62.")
@click.option("--longitude", type=float, default=None, help="Degrees east of Greenwich; west is negative.")
@click.option("--elevation", type=float, default=None, help="Metres above the sea.")
@click.option("--timezone", default=None, metavar="AREA/CITY", help="Clock times, such as America/Chicago.")
@click.option("--units", type=click.Choice(["metric", "us"]), default=None, help="What people see.")
@click.option(
    "--person", "people", multiple=True, metavar="NAME[:KG]", help="Who walks, and what they carry in kg."
)
@click.option(
    "--kitchen",
    "equipment",
    multiple=True,
    metavar="THING=NUMBER",
    help="Such as burners=4 or dryer_trays=6.",
)
@click.option(
    "--ledger",
    default="",
    metavar="ADDRESS",
    help="Keep the record in a club's database instead of a file; see docs/club.md.",
)
@json_option
def new(
    folder: Path,
    *,
    name: str | None,
    latitude: float | None,
    longitude: float | None,
    elevation: float | None,
    timezone: str | None,
    units: str | None,
    people: tuple[str, ...],
    equipment: tuple[str, ...],
    ledger: str,
    as_json: bool,
) -> None:
    """Make a home in FOLDER: settings, an empty ledger, folders for photos and sheets.

    Asks for what is not given, if you are there to answer. Everything can be changed later in
    underoak.toml.
    """
    from underoak.desk.make_home import likely_timezone, make_home, settings_from_answers

    asks = sys.stdin.isatty() and not as_json
    answers: dict[str, Any] = {
        "name": name or _ask(asks, "What is your household called", "Our household"),
        "latitude_deg": latitude
        if latitude is not None
        else _ask(asks, "Latitude of home, degrees", None, float),
        "longitude_deg": longitude
        if longitude is not None
        else _ask(asks, "Longitude of home, degrees (west is negative)", None, float),
        "elevation_m": elevation if elevation is not None else _ask(asks, "Elevation of home, m", 0.0, float),
        "units": units or _ask(asks, "Units to show: metric or us", "metric"),
        "people": people or tuple(_ask(asks, "Who walks (NAME:KG, commas between)", "Me:6").split(",")),
        "equipment": equipment,
        "ledger": ledger,
    }
    for key, option in (("latitude_deg", "--latitude"), ("longitude_deg", "--longitude")):
        if answers[key] is None:
            raise UserMistake("it is not known where home stands", remedy=f"give {option}")
    likely = likely_timezone(answers["longitude_deg"], _own_timezone())
    answers["timezone"] = timezone or _ask(asks, "Time zone", likely)
    home = make_home(folder, settings_from_answers(answers))
    show(
        {"home": str(home.folder), "settings": home.settings},
        (
            f"Made a home in {home.folder}.",
            f"  {home.folder / 'underoak.toml'}  settings; change them with any editor",
            f"  {home.settings.where.timezone}  the time zone of all clock times; change it there too",
            f"  {home.ledger}  the record of everything",
            "",
            "Next: take in your files, for example",
            f"  underoak load --home {home.folder} weather FILE.csv",
            f"  underoak load --home {home.folder} places PARKS.geojson",
            "and see 'underoak load --help' for all kinds.",
        ),
        as_json=as_json,
    )


def _own_timezone() -> str:
    """The time zone this computer keeps, by its name; empty where it does not tell."""
    if os.environ.get("TZ"):
        return os.environ["TZ"]
    _, mark, name = os.path.realpath("/etc/localtime").partition("zoneinfo/")
    return name if mark else ""


def _ask(asks: bool, question: str, default: Any, kind: Any = str) -> Any:
    """The answer of the person at the terminal, or the default where nobody is asked."""
    if not asks:
        return default
    return click.prompt(question, default=default, type=kind)


@click.command()
@click.argument("folder", type=click.Path(path_type=Path), default=Path("demo-home"))
@click.option(
    "--seed", type=int, default=1, show_default=True, help="Another number, another invented season."
)
@json_option
def demo(folder: Path, seed: int, *, as_json: bool) -> None:
    """Make a home in FOLDER with an invented season, run the whole job on it and tell the story.

    Every place, person, tree and day in it is invented. Run again, it starts the same story afresh.
    """
    from underoak.cli.demo_story import tell_demo
    from underoak.cli.story import Teller

    show(tell_demo(folder, seed=seed, teller=Teller(quiet=as_json)), (), as_json=as_json)
