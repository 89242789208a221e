"""Files taken in: chosen, explained where they do not explain themselves, and told back as understood."""

from __future__ import annotations

import re
import secrets
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Any

from flask import Blueprint, Response, render_template, request

from underoak.model.problem import Problem
from underoak.web.ask import Answers
from underoak.web.finds import woods
from underoak.web.form_token import once
from underoak.web.site import site

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from underoak.desk.load_kinds import Options

page = Blueprint("take_in", __name__)
#: kind of file -> words for it, and the endings it has
FILES = {
    "weather": "Weather: a station's archive or a forecast",
    "stations": "Weather stations: where they stand",
    "places": "Woods: outlines, permission, car parks and spots (GeoJSON)",
    "trails": "Trails (GeoJSON, GPX or OpenStreetMap)",
    "trees": "Trees: an inventory (CSV or GeoJSON), notes (GPX) or a forest-type map",
    "terrain": "Terrain: an elevation grid (ASCII or GeoTIFF)",
    "visits": "Visits and finds (CSV)",
    "waypoints": "Finds as waypoints (GPX)",
    "reports": "What others report (CSV or Darwin Core)",
    "pack": "The page for the pack, back from a telephone",
}
UNITS = {"metric": "metric", "us": "US"}
DAY_ORDERS = {"dmy": "day, month, year", "mdy": "month, day, year"}
#: Files at a time, and problems of them that one page shows.
MOST_FILES, MOST_PROBLEMS = 8, 60
#: Disagreements of telephones that one page shows.
MOST_CONFLICTS = 200


def ground_page(values: Mapping[str, Any], problems: Sequence[Problem]) -> str:
    """What is known of the ground, and the form for files."""
    shown = list(problems[:MOST_PROBLEMS])
    if len(problems) > MOST_PROBLEMS:
        shown.append(Problem(f"and {len(problems) - MOST_PROBLEMS} more"))
    return render_template(
        "ground.html",
        woods=woods(),
        files=FILES,
        units=UNITS,
        day_orders=DAY_ORDERS,
        problems=shown,
        values=values,
    )


@page.post("/ground/load")
@once(ground_page)
def load() -> str:
    """Take in files of one kind: all or nothing, unless the good rows are asked for."""
    from underoak.desk.draft_form import change_draft
    from underoak.model.plain import as_plain

    told = Answers(request.form)
    kind = told.choice("kind", "kind of file", FILES, "")
    sent = [one for one in request.files.getlist("file") if one.filename]
    if not kind:
        told.fault("no kind was chosen", "kind of file", ", ".join(FILES))
    if not 1 <= len(sent) <= MOST_FILES:
        told.fault(f"{len(sent)} files", "file", f"1 to {MOST_FILES} at a time")
    options = _options(told)
    told.check()
    with tempfile.TemporaryDirectory(prefix="underoak-") as folder:
        paths = []
        for number, one in enumerate(sent):
            path = Path(folder) / str(number) / _file_name(one.filename or "")
            path.parent.mkdir()
            one.save(path)
            paths.append(path)
        loaded = _taken_in(kind, paths, options)
    loaded_id = secrets.token_hex(8)
    change_draft(site().home, "loaded", loaded_id, lambda _: as_plain(loaded))
    return f"/ground/loaded/{loaded_id}"


def _options(told: Answers) -> Options:
    """What the form says of a file that the file does not say itself."""
    from underoak.desk.load_kinds import Options

    longitude = told.number("origin_longitude", "longitude of the corner", -180.0, 180.0)
    latitude = told.number("origin_latitude", "latitude of the corner", -66.0, 66.0)
    if (longitude is None) != (latitude is None):
        told.fault("the corner is not whole", "local map of trees", "longitude and latitude")
    corner = None if longitude is None or latitude is None else (longitude, latitude)
    return Options(
        columns=tuple(one.strip() for one in told.text("columns", 500).split(",") if one.strip()),
        units=told.choice("units", "units", UNITS, "metric"),
        date_order=told.choice("date_order", "order of days", DAY_ORDERS, ""),
        station=told.text("station", 80) or None,
        origin=corner,
        scale_m=told.number("scale", "metres for each unit", 0.001, 10_000.0),
        epsg=told.whole("epsg", "coordinate system", 1024, 999_999),
    )


def _taken_in(kind: str, paths: list[Path], options: Options) -> Any:
    from underoak.desk.load_data import read_files, store_files

    home, today = site().home, site().today()
    read = read_files(home, kind, paths, options=options, today=today)
    return store_files(home, kind, read, accept_good=request.form.get("accept_good") == "1", today=today)


def _file_name(name: str) -> str:
    """The name of an uploaded file without folders and odd signs; its ending says how it is read."""
    plain = re.sub(r"[^\w. -]", "_", name.replace("\\", "/").rsplit("/", 1)[-1])[-80:].strip(". ")
    return plain or "file"


@page.get("/ground/loaded/<loaded_id>")
def loaded(loaded_id: str) -> str:
    """What was understood of the files that were taken in."""
    from underoak.desk.draft_form import read_draft

    return render_template("loaded.html", loaded=read_draft(site().home, "loaded", loaded_id) or ())


@page.get("/ground/telephones")
def telephones() -> str:
    """On what the telephones' logs that were taken in disagree."""
    from underoak.desk.take_in_pack import conflicts_of

    home = site().home
    found = site().remembered.answer(("conflicts",), lambda: conflicts_of(home))
    return render_template(
        "telephones.html", conflicts=found[:MOST_CONFLICTS], beyond=len(found) - MOST_CONFLICTS
    )


@page.get("/ground/visits.csv")
def template() -> Response:
    """An empty table of visits to fill in."""
    from underoak.intake.visits import template_visits

    return Response(
        template_visits(),
        mimetype="text/csv",
        headers={"Content-Disposition": "attachment; filename=visits.csv"},
    )
