"""Many finds at once: the same rules as `underoak.vetting.verdict`, on arrays only, without words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from underoak.vetting.characters import Seen
from underoak.vetting.exclusion import discharged, excluded, fit, present, senseless, target_rules
from underoak.vetting.likelihood import LEAST_FIT, fit_score
from underoak.vetting.matrix import Bools, Matrix

if TYPE_CHECKING:
    from underoak.book.load import Book


@dataclass(frozen=True, slots=True)
class BatchStanding:
    """What holds for each of N bodies under one name, as far as its characters go.

    consistent  nothing keeps the body from the name
    required    every required character was seen and fits
    quiet       nothing contradicts the name, no never-gather rule and no clash holds
    """

    consistent: Bools
    required: Bools
    quiet: Bools


def stand(book: Book, matrix: Matrix, target_id: str, seen: Seen) -> BatchStanding:
    """Where N bodies stand under the name ``target_id``.

    Age, condition and ground are taken as sound; the bodies count as single ones. A body that is
    consistent here is consistent in `underoak.vetting.verdict.evaluate` too, and the other way round.
    The dangers are compared only for bodies that nothing else keeps from the name.
    """
    target = book.taxa[target_id]
    rules = target_rules(book, matrix, target_id)
    against = fit(matrix, seen, rules.target)
    needed = [matrix.positions[name] for name in target.required]
    waived = senseless(matrix, seen) & ~seen.told
    required: Bools = np.logical_and.reduce((against.fits | waived)[:, needed], axis=1)
    calm = ~(_forbidden(book, matrix, seen) | np.logical_or.reduce(against.mismatch, axis=1))
    well = fit_score(matrix, seen, rules.target, against) >= LEAST_FIT
    quiet: Bools = np.logical_and(calm, well)
    consistent = required & quiet & (target.gathered and not target.never_gather)
    rows = np.flatnonzero(consistent)
    if len(rows):
        done = discharged(rules, excluded(matrix, seen.only(rows)))
        consistent[rows] = done[:, rules.groups > 0].all(axis=1)
    return BatchStanding(consistent, required, quiet)


def _forbidden(book: Book, matrix: Matrix, seen: Seen) -> Bools:
    """A never-gather rule, a clash, or a character that what was seen makes senseless."""
    forbidden = np.zeros(len(seen), dtype=bool)
    for rule in book.never_rules:
        if rule.when:
            forbidden |= _holds(matrix, seen, rule.when)
    for clash in book.clashes:
        forbidden |= _holds(matrix, seen, clash.first) & _holds(matrix, seen, clash.second)
    forbidden |= (senseless(matrix, seen) & seen.told & present(matrix, seen)).any(axis=1)
    return forbidden


def _holds(matrix: Matrix, seen: Seen, when: Mapping[str, tuple[str, ...]]) -> Bools:
    holds = np.ones(len(seen), dtype=bool)
    for name, states in when.items():
        column = matrix.column(name)
        inside = np.array([s in states for s in column.states])
        noted = seen.observed[:, column.span]
        holds &= noted.any(axis=1) & ~(noted & ~inside).any(axis=1)
    return holds
