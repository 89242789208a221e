"""The walk: what is wished for, the search as it comes closer, the plan, and two plans side by side."""

from __future__ import annotations

from datetime import time
from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode

from flask import Blueprint, Response, abort, render_template, request, send_file

from underoak.errors import UserMistake
from underoak.web.ask import Answers
from underoak.web.form_token import FIELD, once
from underoak.web.site import site

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from underoak.desk.walk_plan import WalkWish
    from underoak.model.problem import Problem
    from underoak.web.jobs import Job

page = Blueprint("walk", __name__)
SECONDS = {"5": "five seconds", "20": "twenty seconds", "60": "a minute", "180": "three minutes"}
GOALS = {
    "expected": "most kilograms expected",
    "something": "something for the children: most surely at least one find",
    "poor_day": "most on a poor day",
}
#: Names that can be given of what has to be seen, and of what is to be stayed away from.
MOST_NAMES = 3
#: Names of each sort that the form offers; any other can be typed.
MOST_OFFERED = 300
_TYPES = {
    "pdf": "application/pdf",
    "svg": "image/svg+xml",
    "gpx": "application/gpx+xml",
    "geojson": "application/geo+json",
    "html": "text/html",
}


@page.get("/walk")
def wish() -> str:
    """The form, and the walks planned before."""
    return _page(request.args, ())


def _page(values: Mapping[str, Any], problems: Sequence[Problem]) -> str:
    from underoak.book.load import load_book
    from underoak.desk.kept_walks import kept_walks
    from underoak.ledger.database import open_ledger
    from underoak.ledger.ground import trails
    from underoak.ledger.places import car_parks, places, spots

    connection = open_ledger(site().home.ledger)
    try:
        known, parks = places(connection), car_parks(connection)
        seen = sorted({spot.name for spot in spots(connection)})[:MOST_OFFERED]
        ways = sorted({trail.name for trail in trails(connection) if trail.name})[:MOST_OFFERED]
    finally:
        connection.close()
    kinds = sorted((t for t in load_book().taxa.values() if t.gathered), key=lambda t: t.common_names[0])
    chosen = {
        name: set(values.getlist(name)) if hasattr(values, "getlist") else set()
        for name in ("person", "taxon")
    }
    return render_template(
        "walk.html",
        places=known,
        parks=parks,
        kinds=kinds,
        seconds=SECONDS,
        goals=GOALS,
        spots=seen,
        trails=ways,
        named=range(MOST_NAMES),
        walks=kept_walks(site().home),
        values=values,
        chosen=chosen,
        problems=problems,
    )


@page.post("/walk")
@once(_page)
def begin() -> str:
    """Begin the search and go on to its progress."""
    asked, home, today = _wish(), site().home, site().today()

    def work(job: Job) -> str:
        from underoak.desk.kept_walks import walk_folder
        from underoak.desk.pack_page import write_pack
        from underoak.desk.plan_walk import plan_walk
        from underoak.desk.walk_sheets import write_walk_pdf, write_walk_sheets

        job.tell(words="looking at the woods and their chances")
        walk = plan_walk(
            home, asked, today=today, clock=job.clock, tell=lambda p: job.tell(words=_told(p), kg=p.kg)
        )
        job.tell(words="drawing the map and the page for the pack")
        folder = walk_folder(home, walk.plan.answer_id)
        write_walk_sheets(walk, folder)
        write_walk_pdf(walk, folder, paper="a4")
        write_pack(home, walk, folder, today=today)
        return f"/walk/plan/{walk.plan.answer_id}"

    again = [(name, value) for name, value in request.form.items(multi=True) if name != FIELD]
    job = site().jobs.start(f"A walk on {asked.day}", asked.seconds, work, again=f"/walk?{urlencode(again)}")
    return f"/work/{job.id}"


def _told(progress: Any) -> str:
    found = f"{progress.kg:.2f} kg found"
    bound = float(progress.bound_kg)
    return f"{found}; no walk can bring more than {bound:.2f} kg" if bound < 1e6 else found


def _wish() -> WalkWish:
    from underoak.desk.walk_plan import WalkWish

    told = Answers(request.form)
    if not told.text("place", 120):
        told.fault("no wood was chosen", "wood", "one of your woods")
    asked = WalkWish(
        day=told.day("day", "day", site().today()),
        hours=told.number("hours", "hours", 0.25, 16.0) or 3.0,
        leaves=told.clock("leaves", "leaving", time(9)),
        place=told.text("place", 120) or None,
        car_park=told.text("car_park", 120) or None,
        party=tuple(name[:60] for name in request.form.getlist("person")),
        taxa=tuple(name[:60] for name in request.form.getlist("taxon")),
        seed=told.whole("seed", "seed", 0, 1_000_000) or 0,
        seconds=float(told.choice("seconds", "how long to look", SECONDS, "20")),
        goal=told.choice("goal", "goal", GOALS, "expected"),  # type: ignore[arg-type]
        must_see=_names(told, "see"),
        avoid=_names(told, "avoid"),
    )
    told.check()
    return asked


def _names(told: Answers, field: str) -> tuple[str, ...]:
    names = (told.text(f"{field}-{number}", 120) for number in range(MOST_NAMES))
    return tuple(dict.fromkeys(name for name in names if name))


@page.get("/walk/plan/<answer_id>")
def plan(answer_id: str) -> str:
    """One planned walk."""
    from underoak.desk.kept_walks import kept_walk
    from underoak.sheets.promise_chart import GOAL_WORDS, different
    from underoak.sheets.wording import BEARINGS
    from underoak.walk.robust import Promise

    walk = kept_walk(site().home, answer_id)
    promises = different([Promise(**one) for one in walk.plan["promises"]])
    own = GOAL_WORDS[walk.plan["goal"]]
    homes = {
        way["turn"]: f"{way['minutes']:.0f} min, by {way['leave_by']}"
        for way in walk.plan.get("ways_home", ())
        if way["minutes"] >= 1.0
    }
    return render_template(
        "walk_plan.html", walk=walk, files=_files(answer_id), promises=promises, goal=own, homes=homes,
        bearings=BEARINGS,
    )  # fmt: skip


def _files(answer_id: str) -> dict[str, str]:
    """File names of a walk's sheets by ending, the PDF on A4 as "a4"; empty where none were written."""
    from underoak.desk.kept_walks import kept_walk, walk_folder

    folder = walk_folder(site().home, kept_walk(site().home, answer_id).id)
    if not folder.is_dir():
        return {}
    names = [path.name for path in sorted(folder.iterdir()) if path.suffix[1:] in _TYPES]
    return {"a4" if name.endswith("-a4.pdf") else name.rpartition(".")[2]: name for name in names}


@page.get("/walk/plan/<answer_id>/<name>")
def sheet(answer_id: str, name: str) -> Response:
    """One of the walk's sheets; only names that lie in its folder."""
    from underoak.desk.kept_walks import walk_folder

    if name not in _files(answer_id).values():
        abort(404)
    path = walk_folder(site().home, answer_id) / name
    kind = path.suffix[1:]
    # The page for the pack runs script of its own: it is handed out to be kept, never shown from here.
    return send_file(path.absolute(), mimetype=_TYPES[kind], as_attachment=kind == "html")


@page.get("/walk/compare")
def compare() -> str:
    """Two plans side by side."""
    from underoak.desk.kept_walks import kept_walk

    chosen = list(dict.fromkeys(request.args.getlist("walk")))
    if len(chosen) != 2:
        raise UserMistake(f"{len(chosen)} walks were chosen", expected="two of the list of walks")
    walks = [kept_walk(site().home, one) for one in chosen]
    return render_template("walk_compare.html", walks=walks, files=[_files(one.id) for one in walks])
