"""The first page of all: where no home is yet, a form that makes one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from flask import Blueprint, Response, current_app, make_response, redirect, render_template, request
from werkzeug.wrappers import Response as AnyResponse

from underoak.errors import BadData, UnderoakError
from underoak.model.household import Person, Settings, Whereabouts
from underoak.model.problem import Problem
from underoak.settings import SETTINGS_NAME, Home
from underoak.web.settings_form import asked, settings_in, shown_values
from underoak.web.site import site

page = Blueprint("begin", __name__)


def nobody_home(folder: Path) -> Home:
    """A home that is not made yet, with settings that only fill in the form."""
    where = Whereabouts(latitude_deg=0.0, longitude_deg=0.0)
    return Home(folder, Settings(name="A new home", where=where, people=(Person(name="Me"),)))


@page.get("/")
def show() -> str:
    """The form, with what most kitchens have filled in."""
    values = shown_values(site().home.settings)
    for name in ("name", "name-0", "latitude_deg", "longitude_deg", "elevation_m"):
        values[name] = ""
    return _form(values, ())


def _form(values: Mapping[str, Any], problems: Sequence[Problem]) -> str:
    folder = site().home.folder
    return render_template(
        "begin.html",
        **asked(values),
        problems=problems,
        folder=folder.absolute(),
        holds=sum(1 for _ in folder.iterdir()) if folder.is_dir() else 0,
    )


@page.post("/")
def make() -> AnyResponse:
    """Make the home; where it is made already, by this form or another, go on to it."""
    from underoak.desk.make_home import make_home

    folder = site().home.folder
    with current_app.extensions["underoak making"]:
        if not (folder / SETTINGS_NAME).is_file():
            try:
                make_home(folder, settings_in(request.form))
            except UnderoakError as error:
                problems = error.problems if isinstance(error, BadData) else (error.problem,)
                return _again(problems)
    return redirect("/", 303)


def _again(problems: Sequence[Problem]) -> Response:
    answer = make_response(_form(request.form, problems))
    answer.status_code = 422
    return answer


@page.get("/<path:_any>")
def elsewhere(_any: str) -> AnyResponse:
    """Nothing else is there yet."""
    return redirect("/", 303)
