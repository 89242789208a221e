"""What spoke against a name once is not forgotten by leaving it out the next time."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from underoak.model.vetting import Body, Observation, Observations, Reason

if TYPE_CHECKING:
    from underoak.model.book import Taxon


def remembered(document: Observations, earlier: Sequence[Observations]) -> Observations:
    """The document with every observation of older documents that it does not look at again.

    Bodies are matched by id. An older observation is replaced only by a new one that saw something;
    "not looked" and "can't tell" leave it standing. Older documents are given oldest first.

    **Fails towards** remembering.
    """
    known: dict[str, dict[str, Observation]] = {}
    for old in earlier:
        for body in old.bodies:
            kept = known.setdefault(body.id, {})
            kept.update({n: o for n, o in body.observations.items() if o.look in ("seen", "absent")})
    if not known:
        return document
    bodies = tuple(_with(body, known.get(body.id, {})) for body in document.bodies)
    return document.model_copy(update={"bodies": bodies})


def vanished(target: Taxon, document: Observations, earlier: Sequence[Observations]) -> list[Reason]:
    """A reason for each body that an older document describes and this one leaves out.

    A body that was thrown out may have left something of itself among the others, so the lot stays open
    until a person who knows has looked through it.
    """
    now = {body.id for body in document.bodies}
    gone = sorted({body.id for old in earlier for body in old.bodies} - now)
    return [
        Reason(
            "earlier",
            "open",
            f"Body {name} was described before and is left out now: the lot must be looked through in hand.",
            (),
            target.id,
        )
        for name in gone
    ]


def _with(body: Body, older: dict[str, Observation]) -> Body:
    new = {n: o for n, o in body.observations.items() if o.look in ("seen", "absent")}
    blank = {n: o for n, o in body.observations.items() if n not in new and n not in older}
    return body.model_copy(update={"observations": {**older, **new, **blank}})
