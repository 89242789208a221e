"""From the answers on a telephone to the observation documents that are vetted."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from underoak.model.pack import AnswerEntry, AnswerValue, Noted, latest, same
from underoak.model.vetting import Body, Condition, Ground, Observation, Observations

if TYPE_CHECKING:
    from underoak.book.load import Book
    from underoak.model.visits import Find

#: (body, name of the question) -> answer.
Answers = Mapping[tuple[str, str], AnswerValue]


def documents_of(
    book: Book, noted: Sequence[Noted], settled: Mapping[str, Noted], find: Find, bag: str
) -> list[Observations]:
    """What was noted on one bag: one document, or one for each telephone where two of them disagree.

    In each of several documents one telephone's answers go before those of the others.

    **Fails towards** open: an answer that the book no longer offers counts as not looked.
    """
    held = {key: one.entry for key, one in latest(noted).items()}
    own: dict[str, dict[str, AnswerEntry]] = {}
    for (_, about, device), entry in held.items():
        if isinstance(entry, AnswerEntry) and entry.bag == bag:
            own.setdefault(device, {})[about] = entry
    common = {
        about: one.entry
        for about, one in settled.items()
        if isinstance(one.entry, AnswerEntry) and one.entry.bag == bag
    }
    if not common:
        return []
    differ = any(not same(common[about], entry) for told in own.values() for about, entry in told.items())
    versions = [{**common, **told} for told in own.values()] if differ else [common]
    return [_document(book, {(e.body, e.name): e.value for e in v.values()}, find) for v in versions]


def _document(book: Book, answers: Answers, find: Find) -> Observations:
    bodies = tuple(
        _body(book, name, answers) for name in _body_names(answers) if _stems(answers, name) > 0
    ) or (Body(id="1"),)
    ground = {
        name.removeprefix("ground."): value.answer
        for (body, name), value in answers.items()
        if body == "" and name.removeprefix("ground.") in Ground.model_fields
    }
    described = sum(body.stems for body in bodies)
    return Observations(
        format="underoak observations 1",
        target=find.taxon_id,
        bodies_in_lot=max(find.bodies or 1, described),
        ground=Ground.model_validate(ground),
        bodies=bodies,
    )


def _body_names(answers: Answers) -> list[str]:
    return sorted({body for body, _ in answers if body} | {"1"}, key=lambda name: (len(name), name))


def _stems(answers: Answers, body: str) -> int:
    value = answers.get((body, "stems"))
    return 1 if value is None or value.stems is None else value.stems


def _body(book: Book, body: str, answers: Answers) -> Body:
    mine = {name: value for (of, name), value in answers.items() if of == body}
    stems = _stems(answers, body)
    condition: dict[str, Any] = {
        name.removeprefix("condition."): value.answer
        for name, value in mine.items()
        if name.removeprefix("condition.") in Condition.model_fields
    }
    return Body(
        id=body,
        kind="cluster" if stems > 1 else "single",
        stems=stems,
        age=mine["age"].age if "age" in mine else None,
        condition=Condition.model_validate(condition),
        observations={
            name: value.observation
            for name, value in mine.items()
            if value.observation is not None and _offered(book, name, value.observation, stems)
        },
    )


def _offered(book: Book, name: str, observation: Observation, stems: int) -> bool:
    """Whether the book still has the question and this answer to it."""
    character = book.characters.get(name)
    if character is None or (observation.stems or 1) > stems:
        return False
    if observation.look == "absent":
        return "absent" in character.states
    if observation.look != "seen":
        return not observation.states and observation.value is None
    if character.limits is not None:
        low, high = character.limits
        value = observation.value
        return value is not None and low <= value <= high and not observation.states
    offered = set(character.states) - {"absent"}
    return bool(observation.states) and set(observation.states) <= offered and observation.value is None
