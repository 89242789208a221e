"""Somebody feels ill: the call first, then the page for the poison centre. Works without a ledger."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from flask import Blueprint, Response, abort, render_template, request, send_file

from underoak.errors import BadData, UnderoakError
from underoak.sheets.wording import CALL_NOW, INCIDENT_CAUTIONS
from underoak.web.ask import Answers
from underoak.web.site import site

if TYPE_CHECKING:
    from underoak.desk.feel_ill import IllNote, Incident
    from underoak.model.problem import Problem

page = Blueprint("ill", __name__)
#: Meals that are not in the ledger: rows of the form.
MEALS = 3


@page.get("/ill")
def ask() -> str:
    """The number and the cautions at once; with answers in the address, also what the hours fit.

    The answers stand in the address, so that a reload, a bookmark or another phone shows the same page.
    """
    incident: Incident | None = None
    problems: tuple[Problem, ...] = ()
    if request.args:
        try:
            incident = _incident()
        except UnderoakError as error:
            problems = error.problems if isinstance(error, BadData) else (error.problem,)
    from underoak.sheets.incident import began_words, incident_parts

    return render_template(
        "ill.html",
        first=CALL_NOW.format(poison_help=site().home.settings.poison_help),
        cautions=INCIDENT_CAUTIONS,
        values=request.args,
        incident=incident,
        lines=incident_parts(incident) if incident else (),
        began=began_words(incident) if incident else "",
        problems=problems,
        meals=range(MEALS),
        query=request.query_string.decode("ascii", "ignore"),
    )


@page.get("/ill/page.pdf")
def sheet() -> Response:
    """The same as one printed page."""
    incident = _incident()
    if not incident.files:
        abort(404)
    return send_file(Path(incident.files[0]).absolute(), mimetype="application/pdf")


def _incident() -> Incident:
    from underoak.desk.feel_ill import feel_ill

    return feel_ill(site().home.folder, _note())


def _note() -> IllNote:
    from underoak.desk.feel_ill import IllNote

    told = Answers(request.args)
    ate = []
    for number in range(MEALS):
        what, at = told.text(f"ate_{number}", 200), told.moment(f"ate_at_{number}", "time of the meal")
        if what and at is None:
            told.fault(f"{what!r} has no time", "meal", "a day and hour, a guess if need be")
        elif what and at is not None:
            ate.append((what, at))
    note = IllNote(
        who=told.text("who", 80) or "somebody of the household",
        now=_minute(site().now()),
        began_at=told.moment("since", "first symptom"),
        symptoms=told.text("symptoms", 1000),
        ate=ate,
        alcohol_at=told.moment("alcohol", "alcohol"),
    )
    told.check()
    return note


def _minute(moment: datetime) -> datetime:
    return moment.replace(second=0, microsecond=0, tzinfo=None)
