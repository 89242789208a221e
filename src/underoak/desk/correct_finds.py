"""Correct the finds of a day: stage, bodies, weight and note of several at once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date

from underoak.errors import BadData
from underoak.ledger.database import open_ledger, writing
from underoak.ledger.visits import store_visits, visits
from underoak.model.problem import Problem
from underoak.model.visits import FlushStage
from underoak.settings import Home


@dataclass(frozen=True, slots=True)
class Correction:
    """What is right about one find; all of it replaces what stood there."""

    stage: FlushStage
    bodies: int | None
    fresh_g: float | None
    note: str


def correct_finds(home: Home, day: date, corrections: Mapping[str, Correction]) -> int:
    """Store corrections of finds of one day, by find id: all of them, or none; how many rows changed.

    Raises BadData with every fault, among them finds that are not of that day.
    """
    problems = [p for find_id, right in corrections.items() for p in _faults(find_id, right)]
    connection = open_ledger(home.ledger)
    try:
        with writing(connection):
            known = visits(connection, day, day)
            ids = {find.id for visit in known for find in visit.finds}
            strangers = set(corrections) - ids
            problems += [Problem("no such find on that day", name) for name in sorted(strangers)]
            if problems:
                raise BadData(problems)
            return store_visits(
                connection,
                [
                    replace(
                        visit,
                        finds=tuple(
                            replace(
                                find,
                                stage=right.stage,
                                bodies=right.bodies,
                                fresh_g=right.fresh_g,
                                note=right.note,
                            )
                            for find in visit.finds
                            if (right := corrections.get(find.id)) is not None
                        ),
                    )
                    for visit in known
                ],
            )
    finally:
        connection.close()


def _faults(find_id: str, right: Correction) -> list[Problem]:
    problems = []
    if right.bodies is not None and not 1 <= right.bodies <= 100_000:
        problems.append(Problem(f"{right.bodies} bodies", find_id, "1 or more"))
    if right.fresh_g is not None and not 0.0 < right.fresh_g < 100_000.0:
        problems.append(Problem(f"{right.fresh_g:g} g", find_id, "more than 0 and less than 100 kg"))
    if len(right.note) > 2000:
        problems.append(Problem("a note too long", find_id, "at most 2000 letters"))
    return problems
