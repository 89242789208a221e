"""The questions of vetting on a terminal: one at a time, neutral, nothing filled in beforehand."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from underoak.book.load import Book
    from underoak.model.characters import Character
    from underoak.model.vetting import Observations
    from underoak.model.visits import Find

#: Asked of every body first, whatever it may be: neutral, quick, and the most telling.
FIRST = ("form", "hymenium", "growth", "substrate")
AGES = {"1": "button", "2": "young", "3": "mature", "4": "old"}
ANSWERS = {"y": "yes", "n": "no", "s": "not_looked"}
HOW_TO_ANSWER = (
    "number (several if you cannot choose, like 1,3); n not looked, t can't tell{absent}, q that is all"
)


def ask(find: Find | None) -> Observations:
    """Put the questions for each body and hand back the document.

    The order of the later questions follows what would remove most danger; the person stops with q.
    """
    from underoak.book.load import load_book
    from underoak.desk.vet_find import parse_observations

    book = load_book()
    document: dict[str, Any] = {"format": "underoak observations 1", "bodies": []}
    document["target"] = find.taxon_id if find else _target(book)
    total = click.prompt("How many bodies and stems are there in all", type=click.IntRange(1, 500))
    document["bodies_in_lot"] = total
    document["ground"] = _asked(_ground_questions())
    left = total
    while left > 0:
        body = _body(len(document["bodies"]) + 1, left)
        document["bodies"].append(body)
        left -= body["stems"]
        _characters(book, document, body)
        if left > 0 and not click.confirm(f"{left} left. Look at the next one now?", default=True):
            break
    return parse_observations(_as_text(document), "answers")


def _as_text(document: dict[str, Any]) -> str:
    import json

    return json.dumps(document)


def _target(book: Book) -> str | None:
    from underoak.errors import UserMistake

    while True:
        name = click.prompt("Which name do you have in mind (empty: none)", default="", show_default=False)
        if not name:
            return None
        try:
            return book.find(name).id
        except UserMistake as error:
            click.echo(error.problem.sentence())


def _ground_questions() -> dict[str, str]:
    return {
        "treated": "Is the ground or the tree treated with sprays, salt or preservative?",
        "roadside": "Does it stand beside a busy road, railway or drain?",
        "flooded_or_dumped": "Was the ground flooded, or waste tipped there?",
    }


def _condition_questions() -> dict[str, str]:
    return {
        "wormy": "Is it eaten through by larvae?",
        "soaked": "Is it soaked by rain?",
        "frozen": "Is or was it frozen?",
        "rotten": "Is it soft, slimy, mouldy, or does it smell bad?",
    }


def _asked(questions: dict[str, str]) -> dict[str, str]:
    choice = click.Choice(list(ANSWERS))
    return {
        name: ANSWERS[click.prompt(f"{words} y yes, n no, s not looked", type=choice, show_choices=False)]
        for name, words in questions.items()
    }


def _body(number: int, left: int) -> dict[str, Any]:
    click.echo(f"\nBody {number}")
    stems = 1
    if left > 1 and click.confirm("Are several stems joined at the foot?", default=False):
        stems = click.prompt("How many stems", type=click.IntRange(2, left))
    age = click.prompt(
        "How far has it opened: 1 closed (button, egg), 2 just open, 3 fully open, 4 old",
        type=click.Choice(list(AGES)),
        show_choices=False,
    )
    return {
        "id": str(number),
        "kind": "cluster" if stems > 1 else "single",
        "stems": stems,
        "age": AGES[age],
        "condition": _asked(_condition_questions()),
        "observations": {},
    }


def _characters(book: Book, document: dict[str, Any], body: dict[str, Any]) -> None:
    for name in FIRST:
        if not _ask_one(book, name, body):
            return
    following = _next_name(document, body)
    while following is not None and _ask_one(book, following, body):
        following = _next_name(document, body)


def _next_name(document: dict[str, Any], body: dict[str, Any]) -> str | None:
    """The check worth most on this body that was not put yet; None when nothing is open."""
    from underoak.desk.vet_find import parse_observations, vet_document

    alone = {**document, "bodies": [body], "bodies_in_lot": body["stems"]}
    verdict = vet_document(parse_observations(_as_text(alone), "answers"))
    put = set(body["observations"])
    return next((check.character for check in verdict.next_checks if check.character not in put), None)


def _ask_one(book: Book, name: str, body: dict[str, Any]) -> bool:
    """Put one question and note the answer; False when the person wants to stop."""
    character = book.characters[name]
    click.echo(f"\n{character.question}")
    click.echo(f"  {character.how}")
    states = [s for s in character.states if s != "absent"]
    for number, state in enumerate(states, 1):
        click.echo(f"  {number}  {character.states[state]}")
    absent = f", a {character.states['absent']}" if "absent" in character.states else ""
    while True:
        answer = click.prompt(HOW_TO_ANSWER.format(absent=absent), prompt_suffix="\n> ").strip().casefold()
        if answer == "q":
            return False
        noted = _noted(character, states, answer)
        if noted is not None:
            break
        click.echo("That answer is not among those offered.")
    if body["stems"] > 1 and character.each_stem and noted["look"] in ("seen", "absent"):
        noted["stems"] = click.prompt("On how many stems did you look", type=click.IntRange(1, body["stems"]))
    body["observations"][name] = noted
    return True


def _noted(character: Character, states: Sequence[str], answer: str) -> dict[str, Any] | None:
    """The answer as an observation, or None when it is not among those offered."""
    plain = {"n": "not_looked", "t": "cant_tell"}
    if answer in plain:
        return {"look": plain[answer]}
    if answer == "a" and "absent" in character.states:
        return {"look": "absent"}
    try:
        if character.limits is not None:
            value = float(answer.replace(",", "."))
            low, high = character.limits
            return {"look": "seen", "value": value} if low <= value <= high else None
        chosen = [int(part) for part in answer.split(",")]
    except ValueError:
        return None
    if not chosen or not all(1 <= number <= len(states) for number in chosen):
        return None
    return {"look": "seen", "states": sorted({states[number - 1] for number in chosen})}
