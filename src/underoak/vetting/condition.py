"""The state of the bodies and the ground: reasons to leave a find that have nothing to do with its name."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from underoak.model.vetting import Body, Ground, Reason

if TYPE_CHECKING:
    from underoak.model.book import Taxon

#: What is asked of each body, and what a yes means.
BODY_QUESTIONS = {
    "wormy": "It is eaten through by larvae: leave it.",
    "soaked": "It is soaked by rain: marks are washed off and it spoils within hours; leave it.",
    "frozen": "It was frozen: it may be old, and its marks have changed; leave it.",
    "rotten": "It is soft, slimy, mouldy or smells bad: spoiled ones of any kind make people ill; leave it.",
}

#: What is asked of the ground, and what a yes means.
GROUND_QUESTIONS = {
    "treated": "The ground or tree is treated with sprays, salt or preservative: leave it.",
    "roadside": "It stands beside a busy road, railway or drain: leave it.",
    "flooded_or_dumped": "The ground was flooded or waste was tipped there: leave it.",
}


def body_reasons(target: Taxon, body: Body) -> Iterator[Reason]:
    """Reasons from age and condition of one body.

    Buttons are never named. Old, wormy, soaked, frozen and rotten ones are refused; what was not asked
    keeps the find open.

    **Fails towards** leaving it.
    """
    yield from _age_reasons(target, body)
    answers = body.condition.model_dump()
    unasked = [name for name, answer in answers.items() if answer == "not_looked"]
    for name, answer in answers.items():
        if answer == "yes":
            yield Reason("condition", "refused", BODY_QUESTIONS[name], (name,), target.id)
    if unasked:
        yield Reason(
            "condition",
            "open",
            f"Nobody looked whether it is {', '.join(unasked)}.",
            tuple(unasked),
            target.id,
            at_home=True,
        )


def _age_reasons(target: Taxon, body: Body) -> Iterator[Reason]:
    if body.age is None:
        yield Reason("age", "open", "How far it has opened was not noted.", ("age",), target.id, at_home=True)
    elif body.age == "button":
        words = (
            "It is a button: ring, sac and the colour of gills are not formed yet. Buttons are never named."
        )
        yield Reason("age", "open", words, ("age",), target.id, at_home=False)
    elif body.age == "old":
        yield Reason("age", "refused", "It is old: leave it.", ("age",), target.id)


def ground_reasons(target: Taxon, ground: Ground) -> Iterator[Reason]:
    """Reasons from the place, the same for every body of the lot."""
    answers = ground.model_dump()
    unasked = [name for name, answer in answers.items() if answer == "not_looked"]
    for name, answer in answers.items():
        if answer == "yes":
            yield Reason("ground", "refused", GROUND_QUESTIONS[name], (name,), target.id)
    if unasked:
        names = ", ".join(name.replace("_", " ") for name in unasked)
        yield Reason(
            "ground",
            "open",
            f"Nobody said whether the place is {names}.",
            tuple(unasked),
            target.id,
            at_home=True,
        )


def host_reasons(target: Taxon, body: Body) -> Iterator[Reason]:
    """Wood-growers whose host decides about harm stay open while the tree has no name."""
    if "host" not in target.look.states or "host" not in target.required:
        return
    observation = body.observations.get("host")
    if observation is None or observation.look in ("not_looked", "cant_tell"):
        words = "The tree it grows on has no name yet; an unknown host keeps it open."
        yield Reason("condition", "open", words, ("host",), target.id, at_home=False)
