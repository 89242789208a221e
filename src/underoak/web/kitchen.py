"""Tonight in the kitchen: the plan, its timeline, steps to tick off, and what was really made."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING, Any

from flask import Blueprint, Response, abort, render_template, request, send_file

from underoak.errors import NoAnswer, UserMistake
from underoak.web.ask import Answers
from underoak.web.form_token import once
from underoak.web.site import site

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from underoak.desk.put_up_haul import EveningPlan, HaulQuestion
    from underoak.kitchen.wishes import Hours
    from underoak.model.problem import Problem
    from underoak.web.jobs import Job

page = Blueprint("kitchen", __name__)
KIND = "kitchen"
#: Seconds that the planner is given, by what is asked for.
EFFORTS = {"0": "at once, by a plain rule", "6": "a few seconds", "20": "twenty seconds"}
DIRTS = {"some": "some dirt", "clean": "clean", "dirty": "dirty"}


@page.get("/kitchen")
def tonight() -> str:
    """The evening's plan, or the form that asks for one."""
    return _page({}, ())


def _page(values: Mapping[str, Any], problems: Sequence[Problem]) -> str:
    from underoak.desk.draft_form import read_draft

    day = site().today()
    from underoak.desk.record_bought import bought_of_day
    from underoak.sheets.run_sheet import acid_line

    document = read_draft(site().home, KIND, day.isoformat())
    return render_template(
        "kitchen.html",
        day=day,
        document=document,
        clock=_by_clock(document) if document else (),
        tasks={t["id"]: t for t in document["plan"]["schedule"]["tasks"]} if document else {},
        kinds=_kinds(),
        products=_alike(document["plan"]) if document else (),
        acid_line=acid_line,
        begin_by=_begin_by(document["plan"]) if document else (),
        not_kept=_not_kept(document["plan"]) if document else (),
        efforts=EFFORTS,
        dirts=DIRTS,
        evening=site().home.settings.kitchen,
        bought=bought_of_day(site().home, day),
        values=values,
        eaters=_ticked(values, "eater"),
        sober=_ticked(values, "no_alcohol"),
        problems=problems,
    )


def _ticked(values: Mapping[str, Any], field: str) -> set[str]:
    return set(values.getlist(field)) if hasattr(values, "getlist") else set()


def _kinds() -> dict[str, str]:
    from underoak.book.load import load_book

    return {t.id: t.common_names[0] if t.common_names else t.id for t in load_book().taxa.values()}


def _alike(plan: Any) -> list[list[Any]]:
    """Products of one kind and method together: what is to be said of them is the same."""
    groups: dict[tuple[str, ...], list[Any]] = {}
    for one in plan["products"]:
        groups.setdefault((one["kind"], one["scientific_name"], one["method"]), []).append(one)
    return list(groups.values())


def _begin_by(plan: Any) -> list[str]:
    from underoak.model.kitchen import Deadline, Lot
    from underoak.sheets.run_sheet import begin_by_lines

    lots = [
        Lot(one["id"], one["taxon_id"], None, one["fresh_g"], datetime.fromisoformat(one["picked_at"]))
        for one in plan["lots"]
    ]
    due = [
        Deadline(one["lot_id"], datetime.fromisoformat(one["by"]), one["used_share"], one["reason"])
        for one in plan["deadlines"]
    ]
    return begin_by_lines(lots, due, site().home.settings.units)


def _not_kept(plan: Any) -> list[str]:
    from underoak.model.kitchen import Leftover
    from underoak.sheets.run_sheet import not_kept_lines

    return not_kept_lines([Leftover(**one) for one in plan["leftovers"]], site().home.settings.units)


def _by_clock(document: Any) -> list[tuple[str, int, Any, Any]]:
    """Every step in the order of the clock: task, position, step, task's record."""
    steps = [
        (task["id"], number, {**step, "day": step["start"][:10]}, task)
        for task in document["plan"]["schedule"]["tasks"]
        for number, step in enumerate(task["steps"])
    ]
    return sorted(steps, key=lambda row: (row[2]["start"], row[0], row[1]))


@page.post("/kitchen/plan")
@once(_page)
def plan() -> str:
    """Begin planning; the answer replaces the evening's plan, and what was made stays as it is."""
    question = _question()
    home, day = site().home, question.day

    def work(job: Job) -> str:
        from underoak.desk.put_up_haul import put_up_haul

        job.tell(words="looking for the evening that keeps most")
        try:
            answer = put_up_haul(home, question)
        except NoAnswer as error:
            raise NoAnswer(
                error.problem.what, remedy="write the day's finds down and vet them, then plan again"
            ) from error
        job.tell(words="writing the run sheet")
        _store(home, day, answer)
        return "/kitchen"

    return f"/work/{site().jobs.start('The kitchen tonight', max(question.seconds, 1.0), work).id}"


def _store(home: Any, day: date, answer: EveningPlan) -> None:
    from underoak.desk.draft_form import change_draft
    from underoak.model.plain import as_plain

    document = {"plan": as_plain(answer), "ticked": [], "done": {}}
    change_draft(home, KIND, day.isoformat(), lambda _: document)


def _question() -> HaulQuestion:
    from underoak.desk.put_up_haul import HaulQuestion
    from underoak.model.kitchen import Keeping

    told, day = Answers(request.form), site().today()
    starts = time.fromisoformat(site().home.settings.kitchen.evening_starts)
    begins = datetime.combine(day, told.clock("begins", "begins", starts))
    hours = told.number("kept_hours", "hours kept", 0.0, 100.0)
    degrees = told.number("kept_c", "degrees kept at", -10.0, 45.0)
    question = HaulQuestion(
        day=day,
        now=begins,
        picked=told.clock("picked", "picked", time(9)),
        kept=(Keeping(hours, degrees),) if hours and degrees is not None else (),
        dirt=told.choice("dirt", "dirt", DIRTS, "some"),  # type: ignore[arg-type]
        hours=_hours(told, day),
        eaters=_of_household(told, "eater"),
        no_alcohol=_of_household(told, "no_alcohol"),
        give_to=tuple(name for name in told.text("give_to", 200).split(",") if name.strip()),
        seconds=float(told.choice("effort", "how long to look", EFFORTS, "6")),
    )
    told.check()
    return question


def _of_household(told: Answers, field: str) -> tuple[str, ...]:
    """People that were ticked; anybody else is a fault."""
    people = [person.name for person in site().home.settings.people]
    ticked = tuple(dict.fromkeys(request.form.getlist(field)))
    for name in ticked:
        if name not in people:
            told.fault(
                f"{name[:60]!r} is nobody of the household", field.replace("_", " "), ", ".join(people)
            )
    return ticked


def _hours(told: Answers, day: date) -> tuple[Hours, ...]:
    """Who is in the kitchen when; empty means as usual."""
    from underoak.kitchen.wishes import Hours

    found = []
    for number, person in enumerate(site().home.settings.people):
        for when, of_day in (("tonight", day), ("tomorrow", day + timedelta(days=1))):
            start, end = (told.text(f"{when}-{edge}-{number}", 10) for edge in ("from", "to"))
            if start and end:
                clock = [
                    told.clock(f"{when}-{edge}-{number}", person.name, time(17)) for edge in ("from", "to")
                ]
                a, b = (datetime.combine(of_day, one) for one in clock)
                if b <= a:
                    told.fault(f"from {start} to {end}", person.name, "an end after the start")
                else:
                    found.append(Hours(person.name, a, b))
    return tuple(found)


@page.post("/kitchen/bought")
@once(_page)
def bought() -> str:
    """Write down bought mushrooms; the next plan takes them in."""
    from underoak.desk.record_bought import MOST_G, BoughtNote, record_bought

    told, day = Answers(request.form), site().today()
    at = datetime.combine(day, told.clock("bought_at", "bought at", time(12)))
    note = BoughtNote(
        kind=told.text("bought_kind", 60),
        fresh_g=told.number("bought_g", "grams", 1.0, MOST_G) or 0.0,
        shop=told.text("shop", 100),
        at=at,
        grown=bool(request.form.get("grown")),
    )
    told.check()
    record_bought(site().home, note, now=datetime.combine(day, time.max))
    return "/kitchen#bought"


@page.post("/kitchen/tick")
@once()
def tick() -> str:
    """Tick a step off, or take the tick back."""
    mark = request.form.get("step", "")[:60]

    def change(document: Any) -> Any:
        document = _planned(document)
        known = {f"{task}:{number}" for task, number, _, _ in _by_clock(document)}
        if mark not in known:
            raise UserMistake("there is no such step in the plan", remedy="look at the newest plan")
        ticked = set(document["ticked"]) ^ {mark}
        return {**document, "ticked": sorted(ticked)}

    _change(change)
    return f"/kitchen#step-{mark.replace(':', '-')}"


def _planned(document: Any) -> Any:
    if document is None:
        raise UserMistake("nothing is planned for tonight", remedy="plan the evening first")
    return document


def _change(change: Any) -> None:
    from underoak.desk.draft_form import change_draft

    change_draft(site().home, KIND, site().today().isoformat(), change)


@page.post("/kitchen/done")
@once(_page)
def done() -> str:
    """Write down that a task was carried through: its batch and its jars."""
    from underoak.desk.draft_form import read_draft
    from underoak.desk.record_batch import BatchNote, record_batches

    told, day = Answers(request.form), site().today()
    task_id = told.text("task", 20)
    document = _planned(read_draft(site().home, KIND, day.isoformat()))
    if task_id not in {task["id"] for task in document["plan"]["schedule"]["tasks"]}:
        raise UserMistake(f"the plan has no task {task_id!r}", remedy="look at the newest plan")
    if task_id in document["done"]:
        raise UserMistake(f"{task_id} was written down already", remedy="look into the pantry")
    count, grams = (
        told.whole("units", "jars or bags", 1, 500),
        told.number("grams", "grams in each", 0.1, 20_000.0),
    )
    specimen = told.text("specimen", 200)
    told.check()
    units = (count, grams) if count and grams else None
    made = record_batches(site().home, BatchNote(tasks=(task_id,), units=units, specimen=specimen), day=day)
    codes = {"batch": made[0].batch.id, "jars": [jar.code for jar in made[0].jars]}
    _change(lambda now: {**now, "done": {**now["done"], task_id: codes}} if now else None)
    return f"/kitchen#task-{task_id}"


@page.get("/kitchen/<name>")
def sheet(name: str) -> Response:
    """The run sheet (PDF) or the timeline (SVG) of tonight."""
    day = site().today()
    kinds = {"run-sheet.pdf": "application/pdf", "timeline.svg": "image/svg+xml"}
    path = site().home.sheets / f"kitchen-{day}{name[name.rfind('.') :]}"
    if name not in kinds or not path.is_file():
        abort(404)
    return send_file(path.absolute(), mimetype=kinds[name])
