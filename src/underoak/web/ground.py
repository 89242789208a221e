"""Woods, spots and car parks written down by hand."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from flask import Blueprint, render_template, request

from underoak.web.ask import Answers
from underoak.web.finds import woods
from underoak.web.form_token import once
from underoak.web.site import site
from underoak.web.take_in import ground_page

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from underoak.model.problem import Problem

page = Blueprint("ground", __name__)
STATUSES = {"unknown": "not known", "allowed": "allowed", "forbidden": "forbidden"}


@page.get("/ground")
def known() -> str:
    """What is known of the ground, and ways to add to it."""
    return ground_page(request.args, ())


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
