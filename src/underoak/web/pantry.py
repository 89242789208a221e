"""The pantry: what stands there, what to use first, where it came from, and its labels."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from flask import Blueprint, Response, render_template, request, send_file

from underoak.errors import UserMistake
from underoak.web.ask import Answers
from underoak.web.form_token import once
from underoak.web.site import site

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from underoak.desk.pantry_shelf import Shelf
    from underoak.model.problem import Problem

page = Blueprint("pantry", __name__)
#: Jars on one page.
PAGE_JARS = 40
STATES = {"eaten": "eaten", "given": "given away", "thrown": "thrown away"}


@page.get("/pantry")
def shelf() -> str:
    """The jars, the ones to use first in front; ``find`` narrows, ``all`` also shows what is gone."""
    from underoak.desk.pantry_shelf import shelf as stands

    home, today = site().home, site().today()
    words, every = request.args.get("find", "")[:200].strip(), request.args.get("all") == "1"

    def of_page(at: int) -> Shelf:
        return site().remembered.answer(
            ("pantry", today, words, every, at),
            lambda: stands(
                home, today=today, words=words, all_states=every, first=(at - 1) * PAGE_JARS, most=PAGE_JARS
            ),
        )

    told = request.args.get("page", "1")
    at = max(int(told), 1) if told.isascii() and told.isdigit() and len(told) < 7 else 1
    found = of_page(at)
    pages = max(-(-found.count // PAGE_JARS), 1)
    if at > pages:  # jars have gone since, or somebody wrote the address: show the last page
        at, found = pages, of_page(pages)
    return render_template("pantry.html", shelf=found, words=words, every=every, at=at, pages=pages)


@page.get("/pantry/jar/<code>")
def jar(code: str) -> str:
    """One jar: back to the tree, and what became of it."""
    return _jar_page(code)


def _jar_page(code: str, values: Mapping[str, Any] | None = None, problems: Sequence[Problem] = ()) -> str:
    from underoak.desk.evidence_words import seen_words, verdict_words
    from underoak.desk.trace_jar import trace_back

    home = site().home
    back = site().remembered.answer(("trace", code), lambda: trace_back(home, code))
    return render_template(
        "jar.html",
        back=back,
        code=code,
        values=values or {},
        problems=problems,
        states=STATES,
        verdict_words=verdict_words,
        seen_words=seen_words,
    )


@page.post("/pantry/jar/<code>/fate")
@once(lambda values, problems: _jar_page((request.view_args or {})["code"], values, problems))
def fate(code: str) -> str:
    """Note that a jar was eaten, given or thrown."""
    from underoak.desk.pantry_shelf import change_jar

    told = Answers(request.form)
    state = told.choice("state", "what became of it", STATES, "")
    if not state:
        told.fault("nothing was chosen", "what became of it", ", ".join(STATES.values()))
    note = told.text("why", 200)
    told.check()
    change_jar(site().home, code, state, today=site().today(), note=note)  # type: ignore[arg-type]
    return f"/pantry/jar/{code}"


@page.post("/pantry/jar/<code>/meal")
@once(lambda values, problems: _jar_page((request.view_args or {})["code"], values, problems))
def meal(code: str) -> str:
    """Write down who ate from a jar."""
    from underoak.desk.record_meal import MealNote, record_meal

    told = Answers(request.form)
    at = told.moment("at", "when") or site().now()
    grams = told.number("grams", "grams for each", 0.1, 5000.0)
    note = told.text("note", 500)
    told.check()
    people = request.form.getlist("person")
    record_meal(
        site().home,
        MealNote(at=at, people=people, jar=code, grams=grams, note=note),
        now=max(site().now(), at) if at.date() == site().today() else site().now(),
    )
    return f"/pantry/jar/{code}"


@page.get("/pantry/forward/<kind>/<name>")
def forward(kind: str, name: str) -> str:
    """Everything that holds a find, lot or batch."""
    from underoak.desk.trace_jar import trace_forward

    if kind not in ("find", "lot", "batch"):
        raise UserMistake(f"{kind[:40]!r} cannot be followed", expected="find, lot or batch")
    home, today = site().home, site().today()
    found = site().remembered.answer(
        ("forward", kind, name), lambda: trace_forward(home, kind, name, today=today)
    )
    return render_template("forward.html", forward=found)


@page.get("/pantry/labels")
def labels() -> str:
    """Choose what to label."""
    from underoak.sheets.labels import LABEL_PAPERS

    return render_template(
        "labels.html",
        papers={name: paper.words for name, paper in LABEL_PAPERS.items()},
        batch=request.args.get("batch", ""),
        codes=request.args.getlist("jar"),
    )


@page.get("/pantry/labels.pdf")
def label_sheet() -> Response:
    """The label sheet of a batch, of named jars, or of what was filled today."""
    from underoak.desk.pantry_shelf import write_labels

    told = Answers(request.args)
    paper = told.text("paper", 40) or "a4"
    skip = told.whole("skip", "places used up", 0, 40) or 0
    batch = told.text("batch", 80) or None
    told.check()
    written = write_labels(
        site().home,
        today=site().today(),
        codes=[code for code in request.args.getlist("jar") if code.strip()],
        batch=batch,
        paper=paper,
        skip=skip,
    )
    return send_file(Path(written.files[0]).absolute(), mimetype="application/pdf")
