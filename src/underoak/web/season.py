"""The season: what each hour brought, by place and kind, beside the year before."""

from __future__ import annotations

from flask import Blueprint, render_template, request

from underoak.errors import NoAnswer, UserMistake
from underoak.web.site import site

page = Blueprint("season", __name__)


@page.get("/season")
def review() -> str:
    """The review of one season, this one by default."""
    from underoak.desk.review_season import review_season

    home, today = site().home, site().today()
    told = request.args.get("year", "")
    this = today.year if today.month >= 3 else today.year - 1
    if told and not (told.isascii() and told.isdigit() and 1900 <= int(told) <= 2200):
        raise UserMistake(f"{told[:20]!r} is no year", expected="a year such as 2026")
    year = int(told) if told else this
    try:
        found, why = site().remembered.answer(("season", year), lambda: review_season(home, year)), ""
    except NoAnswer as error:
        found, why = None, error.problem.what
    return render_template("season.html", review=found, why=why, year=year, this=this)
