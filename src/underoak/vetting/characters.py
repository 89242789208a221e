"""From the observation document to arrays, with every fault of it at once."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from underoak.errors import UserMistake
from underoak.model.characters import ABSENT, Character
from underoak.model.problem import Problem
from underoak.model.vetting import Body, Observation, Observations
from underoak.vetting.matrix import Bools, Floats, Matrix

if TYPE_CHECKING:
    from underoak.book.load import Book


@dataclass(frozen=True, slots=True)
class Seen:
    """What was seen on N bodies.

    observed  (N, S)  states noted; several of one character mean: one of these
    told      (N, C)  something was noted at all; not looked and can't tell are both false
    counts    (N, C)  noted by hand and, where every stem must be looked at, on every stem
    value     (N, M)  measures, NaN where there is none
    """

    observed: Bools
    told: Bools
    counts: Bools
    value: Floats

    def __len__(self) -> int:
        """Number of bodies."""
        return len(self.told)

    def only(self, rows: npt.NDArray[np.int64]) -> Seen:
        """Some of the bodies."""
        return Seen(self.observed[rows], self.told[rows], self.counts[rows], self.value[rows])


def faults(book: Book, document: Observations) -> list[Problem]:
    """Everything in the document that cannot be meant as written; empty when it can be vetted."""
    problems = list(_lot_faults(document))
    if document.target is not None:
        try:
            book.find(document.target)
        except UserMistake as error:
            problems.append(
                Problem(error.problem.what, "target", error.problem.expected, error.problem.remedy)
            )
    for body in document.bodies:
        for name, observation in body.observations.items():
            problems += _observation_faults(book, body, name, observation)
    return problems


def _lot_faults(document: Observations) -> Iterator[Problem]:
    for name, times in Counter(b.id for b in document.bodies).items():
        if times > 1:
            yield Problem(f"the id {name!r} stands there {times} times", "bodies", "each body its own id")
    for body in document.bodies:
        if body.kind == "single" and body.stems != 1:
            yield Problem(f"a single body has {body.stems} stems", f"body {body.id}", "1, or kind 'cluster'")
    described = sum(b.stems for b in document.bodies)
    if described > document.bodies_in_lot:
        yield Problem(
            f"{described} bodies and stems are described, but the lot has {document.bodies_in_lot}",
            "bodies_in_lot",
            f"at least {described}",
        )


def _observation_faults(book: Book, body: Body, name: str, observation: Observation) -> Iterator[Problem]:
    where = f"body {body.id}, {name}"
    character = book.characters.get(name)
    if character is None:
        yield Problem(
            "no such character", where, "a character of the book", "see 'underoak vet --characters'"
        )
        return
    if observation.stems is not None and observation.stems > body.stems:
        yield Problem(f"{observation.stems} stems looked at, but it has {body.stems}", where)
    if observation.look == "seen":
        yield from _seen_faults(book, where, name, character, observation)
    elif observation.states or observation.value is not None:
        yield Problem(f"states or a value together with {observation.look!r}", where, "look = 'seen'")
    if observation.look == "absent" and ABSENT not in character.states:
        yield Problem("'absent' makes no sense here", where, _offer(character))


def _seen_faults(
    book: Book, where: str, name: str, character: Character, observation: Observation
) -> Iterator[Problem]:
    if character.limits is not None:
        yield from _measure_faults(where, character, observation)
        return
    if observation.value is not None:
        yield Problem("a number where a state is wanted", where, _offer(character))
    if not observation.states:
        yield Problem("'seen' without a state", where, _offer(character))
    for state in observation.states:
        if state == ABSENT:
            yield Problem("'absent' as a state", where, "look = 'absent'")
        elif state not in character.states:
            owners = [k for k, c in book.characters.items() if state in c.states and k != name]
            hint = f"{state!r} is a state of {', '.join(owners)}" if owners else ""
            yield Problem(f"no such state: {state}", where, _offer(character), hint)


def _measure_faults(where: str, character: Character, observation: Observation) -> Iterator[Problem]:
    low, high = character.limits or (0.0, 0.0)
    expected = f"a number from {low:g} to {high:g} {character.unit}"
    if observation.states:
        yield Problem("states where a number is wanted", where, expected)
    value = observation.value
    if value is None or not math.isfinite(value) or not low <= value <= high:
        yield Problem(f"{'no number' if value is None else f'{value:g}'}", where, expected)


def _offer(character: Character) -> str:
    return f"one of: {', '.join(character.states)}" if character.states else f"a number in {character.unit}"


def seen(matrix: Matrix, bodies: Sequence[Body], each_stem: frozenset[str]) -> Seen:
    """The bodies as arrays. ``each_stem`` names the characters that ask for a look at every stem.

    Not looked and can't tell leave a character blank. The document must be free of `faults`.
    """
    shape = (len(bodies), len(matrix.characters))
    result = Seen(
        observed=np.zeros((len(bodies), matrix.shown.shape[1]), dtype=bool),
        told=np.zeros(shape, dtype=bool),
        counts=np.zeros(shape, dtype=bool),
        value=np.full((len(bodies), len(matrix.measures)), np.nan),
    )
    for row, body in enumerate(bodies):
        for name, observation in body.observations.items():
            if observation.look in ("seen", "absent"):
                position = matrix.positions[name]
                result.told[row, position] = True
                whole = name not in each_stem or _stems(body, observation) >= body.stems
                result.counts[row, position] = whole and observation.by == "hand"
                _note(matrix, result, row, position, observation)
    return result


def _stems(body: Body, observation: Observation) -> int:
    """How many stems were looked at; unsaid means the one of a single body, none of a cluster."""
    if observation.stems is not None:
        return observation.stems
    return 1 if body.kind == "single" else 0


def _note(matrix: Matrix, result: Seen, row: int, position: int, observation: Observation) -> None:
    if position >= len(matrix.columns):
        result.value[row, position - len(matrix.columns)] = observation.value
        return
    column = matrix.columns[position]
    states = (ABSENT,) if observation.look == "absent" else observation.states
    for state in states:
        result.observed[row, column.start + column.states.index(state)] = True


def each_stem(book: Book) -> frozenset[str]:
    """Characters that must be looked at on every stem of a cluster."""
    return frozenset(n for n, c in book.characters.items() if c.each_stem)
