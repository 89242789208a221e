"""The week: chances of places and days with their reasons, the weather, others' reports, the seasons."""

from __future__ import annotations

from datetime import date

from flask import Blueprint, abort, render_template

from underoak.web.pictures import chance_curve, season_strip, weather_strip
from underoak.web.site import site

page = Blueprint("week", __name__)
#: Woods and kinds that never come to this chance are named below the table only.
LEAST_CHANCE = 0.01


@page.get("/")
def front() -> str:
    """The week, or what is missing for one."""
    from underoak.desk.around_week import around_week
    from underoak.desk.front_page import front_page

    home, today = site().home, site().today()
    found = site().remembered.answer(("week", today), lambda: front_page(home, today))
    around = site().remembered.answer(("around", today), lambda: around_week(home, today=today))
    woods = found.week.woods if found.week else ()
    return render_template(
        "week.html",
        rows=[row for row in woods if max(row.best_chance) >= LEAST_CHANCE],
        quiet=[row for row in woods if max(row.best_chance) < LEAST_CHANCE],
        least=LEAST_CHANCE,
        page=found,
        around=around,
        weather=weather_strip(around.weather, today) if around.weather else "",
        seasons=season_strip(around.seasons, today),
    )


@page.get("/why/<spot>/<taxon>/<day>")
def why(spot: str, taxon: str, day: str) -> str:
    """Why the outlook says what it says of one spot, kind and day."""
    from underoak.desk.why_there import why_there

    try:
        asked = date.fromisoformat(day)
    except ValueError:
        abort(404)
    home, today = site().home, site().today()
    found = site().remembered.answer(
        ("why", spot, taxon, asked, today),
        lambda: why_there(home, spot=spot, taxon=taxon, day=asked, today=today),
    )
    return render_template("why.html", why=found, curve=chance_curve(found.curve, found.curve_from, asked))
