"""Finds: the last days out, a new day (also one that found nothing), corrections, and each find."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

from flask import Blueprint, abort, render_template, request

from underoak.web.ask import Answers
from underoak.web.form_token import once
from underoak.web.site import site

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from underoak.desk.record_visit import FindNote
    from underoak.model.ground import Place, Spot
    from underoak.model.problem import Problem

page = Blueprint("finds", __name__)
#: Rows of finds that the form offers.
ROWS = 12
STAGES = {"prime": "prime", "young": "too young", "past": "past"}
LOOKS = {"0.6": "a look around", "0.3": "a glance from the trail", "0.9": "on hands and knees"}


@dataclass(frozen=True, slots=True)
class Woods:
    """Places with their spots, for the form."""

    places: tuple[Place, ...]
    spots: dict[str, tuple[Spot, ...]]


def woods() -> Woods:
    """All places and spots of the home."""
    from underoak.ledger.database import open_ledger
    from underoak.ledger.places import places, spots

    connection = open_ledger(site().home.ledger)
    try:
        known, every = tuple(places(connection)), spots(connection)
    finally:
        connection.close()
    return Woods(known, {p.id: tuple(s for s in every if s.place_id == p.id) for p in known})


@page.get("/finds")
def days() -> str:
    """The last days out; ``until`` goes back to earlier ones."""
    from underoak.desk.list_finds import days_out

    home, told = site().home, Answers(request.args)
    until = told.day("until", "days up to", site().today())
    told.check()
    found = site().remembered.answer(("days", until), lambda: days_out(home, until=until))
    return render_template(
        "finds.html",
        visits=found.visits,
        day=None,
        stages=STAGES,
        until=until,
        earlier=found.earlier,
        latest=until >= site().today(),
    )


@page.get("/finds/day/<day>")
def one_day(day: str) -> str:
    """One day out, with the form that corrects several finds at once."""
    return _day_page(_day(day))


def _day_page(day: date, problems: Sequence[Problem] = (), values: Mapping[str, Any] | None = None) -> str:
    from underoak.desk.list_finds import list_finds

    found = list_finds(site().home, today=site().today(), day=day)
    return render_template(
        "finds.html", visits=found, day=day, stages=STAGES, problems=problems, values=values or {}
    )


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        abort(404)


@page.post("/finds/day/<day>")
@once(lambda values, problems: _day_page(_day((request.view_args or {})["day"]), problems, values))
def correct(day: str) -> str:
    """Correct several finds of a day."""
    from underoak.desk.correct_finds import Correction, correct_finds

    told, corrections = Answers(request.form), {}
    for find_id in request.form.getlist("find"):
        corrections[find_id] = Correction(
            stage=told.choice(f"stage-{find_id}", "stage", STAGES, "prime"),  # type: ignore[arg-type]
            bodies=told.whole(f"bodies-{find_id}", "bodies", 1, 100_000),
            fresh_g=told.number(f"grams-{find_id}", "grams", 0.1, 99_999.0),
            note=told.text(f"note-{find_id}"),
        )
    told.check()
    correct_finds(site().home, _day(day), corrections)
    return f"/finds/day/{day}"


@page.get("/finds/new")
def new_day() -> str:
    """The form for a day out; ``photos`` names a set of photos that fills in what their tags say."""
    return _form({}, ())


def _form(values: Mapping[str, Any], problems: Sequence[Problem]) -> str:
    from underoak.book.load import load_book
    from underoak.web.photos import waiting_photos

    photos = waiting_photos(values.get("photos") or request.args.get("photos", ""))
    kinds = [t for t in load_book().taxa.values() if t.gathered]
    return render_template(
        "day_form.html",
        woods=woods(),
        kinds=sorted(kinds, key=lambda t: t.common_names[0]),
        every=sorted(load_book().taxa.values(), key=lambda t: t.scientific_name),
        values=values or photos.values,
        chosen=set(values.getlist("searched")) if hasattr(values, "getlist") else set(),
        came=set(values.getlist("person")) if hasattr(values, "getlist") else None,
        problems=problems,
        rows=range(max(ROWS, len(photos.files))),
        photos=photos,
        stages=STAGES,
        looks=LOOKS,
    )


@page.post("/finds/new")
@once(_form)
def write_down() -> str:
    """Store the day, attach its photos, and show it."""
    from underoak.desk.record_visit import VisitNote, record_visit
    from underoak.web.photos import attach, waiting_photos

    told, known = Answers(request.form), woods()
    place = next((p for p in known.places if p.id == request.form.get("place")), None)
    if place is None:
        told.fault("no wood was chosen", "wood", "one of your woods")
    names = {s.id: s.name for s in known.spots.get(place.id if place else "", ())}
    photos = waiting_photos(told.text("photos", 80))
    day = told.day("day", "day", site().today())
    thorough = float(told.choice("look", "how you looked", LOOKS, "0.6"))
    rows = [row for n in range(ROWS) if (row := _find(told, n, names, place, photos)) is not None]
    minutes = told.number("minutes", "minutes", 0.0, 2000.0)
    note = told.text("note")
    told.check()
    assert place is not None  # noqa: S101 - else `check` has raised
    visit = record_visit(
        site().home,
        VisitNote(
            day=day,
            place=place.name,
            searched=[(names[s], thorough) for s in request.form.getlist("searched") if s in names],
            finds=[find for _, find in rows],
            minutes=minutes,
            people=request.form.getlist("person"),
            note=note,
        ),
        today=site().today(),
    )
    attach(photos, {number: find.id for (number, _), find in zip(rows, visit.finds, strict=True)})
    return f"/finds/day/{visit.day}"


def _find(
    told: Answers, number: int, names: Mapping[str, str], place: Place | None, photos: Any
) -> tuple[int, FindNote] | None:
    """One row of the form; None where it was left empty."""
    from underoak.desk.record_visit import FindNote

    taxon, spot_id = told.text(f"taxon-{number}", 120), told.text(f"spot-{number}", 120)
    fresh_g = told.number(f"grams-{number}", f"find {number + 1}, grams", 0.1, 99_999.0)
    bodies = told.whole(f"bodies-{number}", f"find {number + 1}, bodies", 1, 100_000)
    new_spot = told.text(f"new-spot-{number}", 80)
    if not (taxon or fresh_g or bodies):
        return None
    if not taxon:
        told.fault("no kind is named", f"find {number + 1}", "a name of the book")
    spot = names.get(spot_id, "")
    if not spot and new_spot and place is not None:
        spot = photos.new_spot(number, place.id, new_spot, told)
    if not spot:
        told.fault("no spot of this wood was chosen", f"find {number + 1}", "a spot of the wood")
    stage = told.choice(f"stage-{number}", "stage", STAGES, "prime")
    note = told.text(f"note-{number}")
    return number, FindNote(spot, taxon, stage, fresh_g, bodies, note)  # type: ignore[arg-type]


@page.get("/finds/one/<find_id>")
def find(find_id: str) -> str:
    """One find with its photos and verdicts."""
    from underoak.desk.evidence_words import bodies_words, seen_words
    from underoak.desk.list_finds import one_find

    return render_template(
        "find.html",
        one=one_find(site().home, find_id),
        seen_words=seen_words,
        bodies_words=bodies_words,
        problems=(),
        stages=STAGES,
    )
