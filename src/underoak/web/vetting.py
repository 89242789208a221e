"""Vetting: one neutral question at a time, what stands beside it, and the verdict with its reasons."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from flask import Blueprint, render_template, request

from underoak.errors import UserMistake
from underoak.web.ask import Answers
from underoak.web.form_token import once
from underoak.web.site import site

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from underoak.model.characters import Character
    from underoak.model.problem import Problem

page = Blueprint("vetting", __name__)
KIND = "vetting"
ANSWERS = {"yes": "yes", "no": "no", "not_looked": "not looked"}


@page.get("/vetting")
def waiting() -> str:
    """Finds of the last days, those without a standing verdict first."""
    from underoak.desk.list_finds import list_finds

    home, today = site().home, site().today()
    visits = site().remembered.answer(("finds", today), lambda: list_finds(home, today=today))
    finds = [(visit, find) for visit in visits for find in visit.finds]
    order = ("not vetted", "open", "refused", "consistent", "confirmed")
    finds.sort(key=lambda pair: (order.index(pair[1].state), -pair[0].visit.day.toordinal()))
    return render_template("vetting.html", finds=finds[:60])


@page.get("/vetting/<find_id>")
def ask(find_id: str) -> str:
    """Where the questions of a find stand: the lot, a body, or the next question."""
    return _page(find_id)


def _again(values: Mapping[str, Any], problems: Sequence[Problem]) -> str:
    return _page((request.view_args or {})["find_id"], values, problems)


def _page(find_id: str, values: Mapping[str, Any] | None = None, problems: Sequence[Problem] = ()) -> str:
    from underoak.book.drawings import drawings
    from underoak.desk import vet_step
    from underoak.desk.list_finds import one_find

    one, document = one_find(site().home, find_id), _draft(find_id)
    shown: dict[str, Any] = {"one": one, "values": values or {}, "problems": problems, "answers": ANSWERS}
    if document is None:
        return render_template("vet_lot.html", questions=vet_step.GROUND_QUESTIONS, **shown)
    begun = sum(body["stems"] for body in document["bodies"])
    left = max(document["bodies_in_lot"] - begun, 0)
    wants_new = (request.args.get("new") == "1" or (request.endpoint or "").endswith(".body")) and left > 0
    if not document["bodies"] or wants_new:
        return render_template(
            "vet_body.html",
            questions=vet_step.CONDITION_QUESTIONS,
            ages=vet_step.AGES,
            left=left,
            number=len(document["bodies"]) + 1,
            **shown,
        )
    step = vet_step.step(
        site().home,
        find_id,
        document,
        today=site().today(),
        ask=request.values.get("ask", ""),
        body=request.values.get("body", ""),
    )
    drawn = drawings(step.character.drawing) if step.character else {}
    return render_template("vet_step.html", step=step, document=document, drawn=drawn, **shown)


def _draft(find_id: str) -> Any:
    from underoak.desk.draft_form import read_draft

    return read_draft(site().home, KIND, find_id)


def _change(find_id: str, change: Any) -> None:
    """Change the find's draft; a find that is not there gets none."""
    from underoak.desk.draft_form import change_draft
    from underoak.desk.vet_find import find_of

    find_of(site().home, find_id)
    change_draft(site().home, KIND, find_id, change)


@page.post("/vetting/<find_id>/lot")
@once(_again)
def lot(find_id: str) -> str:
    """Begin: how much there is in all, and the ground it comes from."""
    from underoak.desk.vet_find import find_of
    from underoak.desk.vet_step import GROUND_QUESTIONS

    told = Answers(request.form)
    total = told.whole("bodies_in_lot", "bodies and stems in all", 1, 500)
    if total is None and not told.problems:
        told.fault("nothing was counted", "bodies and stems in all", "1 to 500")
    ground = {
        name: told.choice(name, words, ANSWERS, "not_looked") for name, words in GROUND_QUESTIONS.items()
    }
    told.check()
    document: dict[str, Any] = {
        "format": "underoak observations 1",
        "target": find_of(site().home, find_id).taxon_id,
        "bodies_in_lot": total,
        "ground": ground,
        "bodies": [],
    }
    _change(find_id, lambda before: before or document)
    return f"/vetting/{find_id}"


@page.post("/vetting/<find_id>/body")
@once(_again)
def body(find_id: str) -> str:
    """Take up the next body or joined cluster."""
    from underoak.desk.vet_step import AGES, CONDITION_QUESTIONS

    told = Answers(request.form)
    stems = told.whole("stems", "stems joined at the foot", 1, 500) or 1
    age = told.choice("age", "how far it has opened", AGES, "")
    if not age and not told.problems:
        told.fault("nothing was chosen", "how far it has opened", ", ".join(AGES.values()))
    condition = {
        name: told.choice(name, words, ANSWERS, "not_looked") for name, words in CONDITION_QUESTIONS.items()
    }
    told.check()

    def add(document: Any) -> Any:
        begun = sum(one["stems"] for one in _begun(document)["bodies"])
        if begun + stems > document["bodies_in_lot"]:
            left = document["bodies_in_lot"] - begun
            raise UserMistake(f"{stems} stems", where="stems", expected=f"at most {left}: no more are left")
        document["bodies"].append(
            {
                "id": str(len(document["bodies"]) + 1),
                "kind": "cluster" if stems > 1 else "single",
                "stems": stems,
                "age": age,
                "condition": condition,
                "observations": {},
            }
        )
        return document

    _change(find_id, add)
    return f"/vetting/{find_id}"


def _begun(document: Any) -> Any:
    if document is None:
        raise UserMistake("the questions of this find were not begun", remedy="begin with how much there is")
    return document


@page.post("/vetting/<find_id>/answer")
@once(_again)
def answer(find_id: str) -> str:
    """Note one answer on one body."""
    from underoak.book.load import load_book

    name, body_id = request.form.get("ask", ""), request.form.get("body", "")
    character = load_book().characters.get(name)
    if character is None:
        raise UserMistake("there is no such question", where="question")
    seen = _seen(character)

    def note(document: Any) -> Any:
        one = next((b for b in _begun(document)["bodies"] if b["id"] == body_id), None)
        if one is None:
            raise UserMistake("there is no such body", where="body")
        stems = Answers(request.form).whole("stems_seen", "stems looked at", 1, one["stems"])
        if stems is not None and seen["look"] in ("seen", "absent"):
            seen["stems"] = stems
        one["observations"][name] = seen
        return document

    _change(find_id, note)
    last = _draft(find_id)["bodies"][-1]["id"]
    return f"/vetting/{find_id}" + ("" if body_id == last else f"?body={body_id}")


def _seen(character: Character) -> dict[str, Any]:
    """The answer of the form as one observation."""
    told, look = Answers(request.form), request.form.get("look", "")
    if look in ("not_looked", "cant_tell") or (look == "absent" and "absent" in character.states):
        return {"look": look}
    if character.limits is not None:
        value = told.number("value", f"measure, {character.unit}", *character.limits)
        if value is None and not told.problems:
            told.fault("no measure was given", "measure", f"a number of {character.unit}")
        told.check()
        return {"look": "seen", "value": value}
    states = request.form.getlist("state")
    if not states or not set(states) <= set(character.states) - {"absent"}:
        told.fault("nothing offered was chosen", "answer", "one of the answers")
        told.check()
    return {"look": "seen", "states": sorted(set(states))}


@page.post("/vetting/<find_id>/keep")
@once(_again)
def keep(find_id: str) -> str:
    """Keep the verdict as it stands; the answers stay, so that more can be looked at later."""
    import json

    from underoak.desk.vet_find import parse_observations, vet_find

    document = _begun(_draft(find_id))
    if not document["bodies"]:
        raise UserMistake("no body was looked at yet")
    vet_find(site().home, find_id, parse_observations(json.dumps(document), "answers"), today=site().today())
    return f"/finds/one/{find_id}"


@page.post("/vetting/<find_id>/again")
@once(_again)
def again(find_id: str) -> str:
    """Begin the questions anew; verdicts that were kept stay on record."""
    _change(find_id, lambda _: None)
    return f"/vetting/{find_id}"


@page.post("/vetting/<find_id>/person")
@once()
def person(find_id: str) -> str:
    """Note what a person who knows says."""
    from underoak.book.load import load_book
    from underoak.desk.ask_expert import record_answer
    from underoak.desk.vet_find import find_of
    from underoak.model.vetting import Opinion

    told = Answers(request.form)
    name = told.text("person", 80)
    agrees = told.choice("agrees", "what they say", ("yes", "no"), "")
    saw = told.choice("saw", "how they saw it", ("hand", "photo"), "")
    if not (name and agrees and saw):
        told.fault("name, answer and how it was seen are needed", "person", "all three")
    other, words = told.text("taxon", 120), told.text("words", 1000)
    told.check()
    taxon = load_book().find(other).id if other else find_of(site().home, find_id).taxon_id
    opinion = Opinion(name, site().today().isoformat(), taxon, agrees == "yes", words, saw)  # type: ignore[arg-type]
    record_answer(site().home, find_id, opinion, today=site().today())
    return f"/finds/one/{find_id}"
