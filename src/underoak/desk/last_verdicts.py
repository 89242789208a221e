"""The newest verdict of every find, as much of it as the review compares."""

from __future__ import annotations

import re
from collections import OrderedDict
from dataclasses import dataclass
from datetime import date

from underoak.ledger.connection import Ledger
from underoak.ledger.verdicts import StoredVerdict, last_verdict_ids, verdicts_by_id
from underoak.model.vetting import Age
from underoak.review.skipped_checks import VettedFind

#: The character of the book that holds the colour of a cap.
_CAP_COLOUR = "cap_colour"
#: Ids that are the sum of the verdict's content, as `ledger.verdicts.store_verdict` makes them.
_SUM = re.compile(r"[0-9a-f]{24}")
#: Verdicts kept in memory.
_MOST_KEPT = 20_000


@dataclass(frozen=True, slots=True)
class LastVerdict:
    """What the review takes from a verdict.

    ``vetted`` says what its find waits for; ``colour`` is that of the cap if one was seen, ``age`` that of
    the first body vetted.
    """

    vetted: VettedFind
    colour: str | None
    age: Age | None

    @property
    def state(self) -> str:
        """What the verdict says."""
        return self.vetted.state


_kept: OrderedDict[str, LastVerdict] = OrderedDict()


def last_verdicts(connection: Ledger, until: date) -> dict[str, LastVerdict]:
    """The newest verdict up to a day of every find that has one.

    A verdict is never changed and its id is the sum of its content, so each is read once a process.
    """
    ids = last_verdict_ids(connection, until)
    found = {key: _kept[key] for key in ids.values() if key in _kept}
    for verdict in verdicts_by_id(connection, [key for key in ids.values() if key not in found]):
        found[verdict.id] = read = _read(verdict)
        if _SUM.fullmatch(verdict.id):
            _kept[verdict.id] = read
    while len(_kept) > _MOST_KEPT:
        _kept.popitem(last=False)
    return {find_id: found[key] for find_id, key in ids.items()}


def _read(verdict: StoredVerdict) -> LastVerdict:
    bodies = verdict.observations.bodies
    return LastVerdict(vetted_find(verdict), _colour(verdict), bodies[0].age if bodies else None)


def vetted_find(verdict: StoredVerdict) -> VettedFind:
    """What a find waits for: characters behind an open reason that nobody looked at on some body."""
    asked = {
        character
        for reason in verdict.answer["reasons"]
        if reason["state"] == "open"
        for character in reason["characters"]
    }
    skipped = frozenset(
        character
        for character in asked
        for body in verdict.observations.bodies
        if (seen := body.observations.get(character)) is None or seen.look == "not_looked"
    )
    return VettedFind(verdict.find_id, verdict.taxon_id, verdict.state, skipped)


def _colour(verdict: StoredVerdict) -> str | None:
    states = {
        state
        for body in verdict.observations.bodies
        if (seen := body.observations.get(_CAP_COLOUR)) is not None and seen.look == "seen"
        for state in seen.states
    }
    return states.pop() if len(states) == 1 else None
