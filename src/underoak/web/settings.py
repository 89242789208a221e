"""The settings: where home stands, who walks, what stands in the kitchen, what lies below the map."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from flask import Blueprint, abort, render_template, request

from underoak.web.form_token import once
from underoak.web.guards import from_this_computer
from underoak.web.settings_form import asked, settings_in, shown_values
from underoak.web.site import site

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from underoak.model.problem import Problem

page = Blueprint("settings", __name__)


@page.get("/settings")
def show() -> str:
    """The settings as they stand on file."""
    from underoak.settings import load_home

    return _form(shown_values(load_home(site().home.folder).settings), ())


def _form(values: Mapping[str, Any], problems: Sequence[Problem]) -> str:
    from underoak.desk.change_settings import settings_mark
    from underoak.intake.map_tiles import tile_files

    return render_template(
        "settings.html",
        **asked(values),
        problems=problems,
        tile_files=tile_files(site().home.maps),
        folder=site().home.folder.absolute(),
        seen=values.get("seen") or settings_mark(site().home.folder),
        at_computer=from_this_computer(),
    )


@page.post("/settings")
@once(_form)
def change() -> str:
    """Put other settings on file; only at this computer, because what a telephone sends can be read along."""
    from underoak.desk.change_settings import change_settings
    from underoak.intake.map_tiles import read_tile_file
    from underoak.settings import load_home

    if not from_this_computer():
        abort(403)
    here = site()
    stands = load_home(here.home.folder).settings
    wanted = settings_in(request.form, stands)
    tiles = wanted.backdrop.tile_file
    if tiles and tiles != stands.backdrop.tile_file:
        read_tile_file(here.home.maps / tiles)
    here.take_home(change_settings(here.home, wanted, seen=request.form.get("seen", "")))
    return "/settings"
