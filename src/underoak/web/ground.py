"""Woods, spots and car parks written down by hand, and files taken in."""

from __future__ import annotations

import re
import secrets
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Any

from flask import Blueprint, Response, render_template, request

from underoak.errors import BadData
from underoak.model.problem import Problem
from underoak.web.ask import Answers
from underoak.web.finds import woods
from underoak.web.form_token import once
from underoak.web.site import site

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

page = Blueprint("ground", __name__)
STATUSES = {"unknown": "not known", "allowed": "allowed", "forbidden": "forbidden"}
#: kind of file -> words for it, and the endings it has
FILES = {
    "weather": "Weather: a station's archive or a forecast",
    "places": "Woods: outlines, permission, car parks and spots (GeoJSON)",
    "trails": "Trails (GeoJSON, GPX or OpenStreetMap)",
    "trees": "Trees: an inventory (CSV or GeoJSON)",
    "terrain": "Terrain: an elevation grid (ASCII or GeoTIFF)",
    "visits": "Visits and finds (CSV)",
    "waypoints": "Finds as waypoints (GPX)",
    "reports": "What others report (CSV or Darwin Core)",
    "pack": "The page for the pack, back from a telephone",
}
#: Problems of a file that one page shows.
MOST_PROBLEMS = 60


@page.get("/ground")
def known() -> str:
    """What is known of the ground, and ways to add to it."""
    return render_template("ground.html", woods=woods(), files=FILES, problems=(), values={})


@page.get("/ground/wood")
def new_wood() -> str:
    """The form for a wood."""
    return _wood_form(request.args, ())


def _wood_form(values: Mapping[str, Any], problems: Sequence[Problem]) -> str:
    where = site().home.settings.where
    return render_template("wood_form.html", values=values, problems=problems, statuses=STATUSES, where=where)


@page.post("/ground/wood")
@once(_wood_form)
def wood() -> str:
    """Store a wood."""
    from underoak.desk.note_ground import PlaceNote, note_place

    told = Answers(request.form)
    longitude, latitude = _position(told)
    reach = told.number("reach", "reach", 20.0, 20_000.0)
    if reach is None and not told.problems:
        told.fault("it is not said how far it reaches", "reach", "20 to 20000 m")
    note = PlaceNote(
        name=told.text("name", 80),
        longitude_deg=longitude,
        latitude_deg=latitude,
        reach_m=reach or 0.0,
        status=told.choice("status", "permission", STATUSES, "unknown"),  # type: ignore[arg-type]
        who=told.text("who", 120),
        limit_kg_person_day=told.number("limit", "limit", 0.01, 1000.0),
        source=told.text("source", 300),
    )
    told.check()
    note_place(site().home, note, today=site().today())
    return "/ground"


def _position(told: Answers) -> tuple[float, float]:
    """Longitude and latitude of the form; a fault where one is missing."""
    latitude = told.number("latitude", "latitude", -66.0, 66.0)
    longitude = told.number("longitude", "longitude", -180.0, 180.0)
    if (latitude is None or longitude is None) and not told.problems:
        told.fault("the position is not whole", "latitude and longitude", "degrees, such as 41.62 and -74.58")
    return longitude or 0.0, latitude or 0.0


@page.get("/ground/spot")
def new_spot() -> str:
    """The form for a spot."""
    return _spot_form(request.args, ())


def _spot_form(values: Mapping[str, Any], problems: Sequence[Problem]) -> str:
    from underoak.desk.note_ground import host_names

    return render_template(
        "spot_form.html", values=values, problems=problems, woods=woods(), hosts=host_names()
    )


@page.post("/ground/spot")
@once(_spot_form)
def spot() -> str:
    """Store a spot."""
    from underoak.desk.note_ground import SpotNote, note_spot

    told = Answers(request.form)
    longitude, latitude = _position(told)
    note = SpotNote(
        place=told.text("place", 120),
        name=told.text("name", 80),
        longitude_deg=longitude,
        latitude_deg=latitude,
        host_group=told.text("host", 60) or "unknown",
        diameter_cm=told.number("diameter", "trunk", 0.1, 500.0),
    )
    told.check()
    return f"/map/spot/{note_spot(site().home, note).id}"


@page.get("/ground/car-park")
def new_car_park() -> str:
    """The form for a car park."""
    return _car_park_form(request.args, ())


def _car_park_form(values: Mapping[str, Any], problems: Sequence[Problem]) -> str:
    return render_template("car_park_form.html", values=values, problems=problems)


@page.post("/ground/car-park")
@once(_car_park_form)
def car_park() -> str:
    """Store a car park."""
    from underoak.desk.note_ground import note_car_park

    told = Answers(request.form)
    longitude, latitude = _position(told)
    name = told.text("name", 80)
    told.check()
    note_car_park(site().home, name, longitude, latitude)
    return "/ground"


def _files_again(values: Mapping[str, Any], problems: Sequence[Problem]) -> str:
    shown = list(problems[:MOST_PROBLEMS])
    if len(problems) > MOST_PROBLEMS:
        shown.append(Problem(f"and {len(problems) - MOST_PROBLEMS} more"))
    return render_template("ground.html", woods=woods(), files=FILES, problems=shown, values=values)


@page.post("/ground/load")
@once(_files_again)
def load() -> str:
    """Take in files of one kind: all or nothing, unless the good rows are asked for."""
    from underoak.desk.draft_form import change_draft
    from underoak.model.plain import as_plain

    told = Answers(request.form)
    kind = told.choice("kind", "kind of file", FILES, "")
    sent = [one for one in request.files.getlist("file") if one.filename]
    if not kind:
        told.fault("no kind was chosen", "kind of file", ", ".join(FILES))
    if not 1 <= len(sent) <= 8:
        told.fault(f"{len(sent)} files", "file", "1 to 8 at a time")
    told.check()
    with tempfile.TemporaryDirectory(prefix="underoak-") as folder:
        paths = []
        for number, one in enumerate(sent):
            path = Path(folder) / str(number) / _file_name(one.filename or "")
            path.parent.mkdir()
            one.save(path)
            paths.append(path)
        loaded = _taken_in(kind, paths)
    loaded_id = secrets.token_hex(8)
    change_draft(site().home, "loaded", loaded_id, lambda _: as_plain(loaded))
    return f"/ground/loaded/{loaded_id}"


def _taken_in(kind: str, paths: list[Path]) -> Any:
    from underoak.desk.load_data import read_files, store_files
    from underoak.desk.load_kinds import Options

    home, today = site().home, site().today()
    options = Options(
        columns=tuple(one.strip() for one in request.form.get("columns", "").split(",") if one.strip()),
        units="us" if request.form.get("units") == "us" else "metric",
        station=request.form.get("station", "").strip()[:80] or None,
    )
    read = read_files(home, kind, paths, options=options, today=today)
    try:
        return store_files(home, kind, read, accept_good=request.form.get("accept_good") == "1", today=today)
    except BadData as error:
        raise BadData(error.problems) from error


def _file_name(name: str) -> str:
    """The name of an uploaded file without folders and odd signs; its ending says how it is read."""
    plain = re.sub(r"[^\w. -]", "_", name.replace("\\", "/").rsplit("/", 1)[-1])[-80:].strip(". ")
    return plain or "file"


@page.get("/ground/loaded/<loaded_id>")
def loaded(loaded_id: str) -> str:
    """What was understood of the files that were taken in."""
    from underoak.desk.draft_form import read_draft

    return render_template("loaded.html", loaded=read_draft(site().home, "loaded", loaded_id) or ())


@page.get("/ground/visits.csv")
def template() -> Response:
    """An empty table of visits to fill in."""
    from underoak.intake.visits import template_visits

    return Response(
        template_visits(),
        mimetype="text/csv",
        headers={"Content-Disposition": "attachment; filename=visits.csv"},
    )
