"""The season: what it taught, with pictures, tables and what to do differently next year."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from flask import Blueprint, Response, abort, render_template, request, send_file

from underoak.errors import NoAnswer, UserMistake
from underoak.web.site import site

if TYPE_CHECKING:
    from underoak.desk.review_season import Review
    from underoak.sheets.review_sheet import Picture, Table

page = Blueprint("season", __name__)


@dataclass(frozen=True, slots=True)
class Shown:
    """A season's review with its tables and pictures."""

    review: Review
    tables: tuple[Table, ...]
    pictures: tuple[Picture, ...]


@page.get("/season")
def review() -> str:
    """The review of one season, this one by default."""
    why, shown = "", None
    try:
        shown = _review(_year())
    except NoAnswer as error:
        why = error.problem.what
    return render_template("season.html", shown=shown, why=why, year=_year(), this=_this_year())


def _this_year() -> int:
    today = site().today()
    return today.year if today.month >= 3 else today.year - 1


def _year() -> int:
    told = request.args.get("year", "")
    if told and not (told.isascii() and told.isdigit() and 1900 <= int(told[:5]) <= 2200):
        raise UserMistake(f"{told[:20]!r} is no year", expected="a year such as 2026")
    return int(told) if told else _this_year()


def _review(year: int) -> Shown:
    """The review of a season with everything that is shown of it; NoAnswer without a visit."""
    from underoak.desk.review_season import review_season
    from underoak.desk.review_sheets import review_pictures
    from underoak.desk.review_tables import review_tables

    home = site().home

    def work_out() -> Shown:
        found = review_season(home, year)
        return Shown(found, review_tables(found), review_pictures(found))

    return site().remembered.answer(("season", year), work_out)


@page.get("/season/picture/<int:number>.svg")
def picture(number: int) -> Response:
    """One picture of a season."""
    pictures = _review(_year()).pictures
    if number >= len(pictures):
        abort(404)
    return Response(pictures[number].svg, mimetype="image/svg+xml")


@page.get("/season/review.pdf")
def sheet() -> Response:
    """The review on paper."""
    from underoak.desk.review_sheets import write_review

    year = _year()
    path = write_review(_review(year).review, site().home.sheets / f"review-{year}.pdf")
    return send_file(path.absolute(), mimetype="application/pdf")
