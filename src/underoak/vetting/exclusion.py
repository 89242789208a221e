"""Hard rules: which taxa a find cannot be, and whether every dangerous double is ruled out.

Nothing here uses probability. A character that was not looked at, or could not be told, excludes
nothing; so does one on which the book is silent, one seen on a photo only, and one seen on some stems
of a cluster where every stem must be looked at.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from underoak.vetting.characters import Seen
from underoak.vetting.matrix import Bools, Floats, Matrix

if TYPE_CHECKING:
    from underoak.book.load import Book

#: A measure must lie this far outside what a taxon ever shows before it excludes (careless rulers).
MEASURE_SLACK = 0.05


@dataclass(frozen=True, slots=True)
class Exclusions:
    """What excludes which taxon.

    by      (N, T, C)  the character excludes the taxon on this body
    groups  (N, T)     number of independent evidence groups that do
    strong  (N, T)     one of them is a print, a lengthwise cut or a dug-out base
    """

    by: Bools
    groups: npt.NDArray[np.int64]
    strong: Bools


def excluded(matrix: Matrix, seen: Seen) -> Exclusions:
    """Compare every body with every taxon.

    Method: a character excludes a taxon when every state that was noted lies outside the states the
    taxon can show, widened by what fades or washes off and by neighbouring states; a measure when it
    lies more than `MEASURE_SLACK` outside the taxon's extremes. A character that makes no sense for
    the taxon (gills on a polypore) excludes it too, as evidence of the group it depends on. Characters
    of one evidence group count once.

    **Fails towards** not excluding.
    """
    bodies, taxa = len(seen), len(matrix.taxa)
    by = np.zeros((bodies, taxa, len(matrix.characters)), dtype=bool)
    in_group = np.zeros((bodies, taxa, len(matrix.groups)), dtype=bool)
    strong = np.zeros((bodies, taxa), dtype=bool)
    for position in np.flatnonzero(matrix.excludes & seen.counts.any(axis=0)):
        counts = seen.counts[:, position, None]
        against = counts & ~matrix.silent[:, position] & _misses(matrix, seen, int(position))
        senseless = counts & ~matrix.applies[:, position] & present(matrix, seen, int(position))[:, None]
        against &= matrix.applies[:, position]
        by[:, :, position] = against | senseless
        in_group[:, :, matrix.group[position]] |= against
        in_group[:, :, matrix.parent[position]] |= senseless
        if matrix.strong[position]:
            strong |= against | senseless
    return Exclusions(by, in_group.sum(axis=2), strong)


def _misses(matrix: Matrix, seen: Seen, position: int) -> Bools:
    """(N, T): all that was noted lies outside what the taxon can show."""
    if position < len(matrix.columns):
        span = matrix.columns[position].span
        met = seen.observed[:, span].astype(np.float32) @ matrix.stretched[:, span].astype(np.float32).T
        missed: Bools = met == 0.0
        return missed
    measure = position - len(matrix.columns)
    value = seen.value[:, measure, None]
    low, high = matrix.spread[:, measure, 0], matrix.spread[:, measure, 3]
    outside: Bools = (value < low * (1.0 - MEASURE_SLACK)) | (value > high * (1.0 + MEASURE_SLACK))
    return outside


def present(matrix: Matrix, seen: Seen, position: int) -> Bools:
    """(N,): the thing itself was seen, not its absence."""
    if position >= len(matrix.columns):
        return seen.told[:, position]
    column = matrix.columns[position]
    there = np.array([state != "absent" for state in column.states])
    present: Bools = (seen.observed[:, column.span] & there).any(axis=1)
    return present


def senseless(matrix: Matrix, seen: Seen) -> Bools:
    """(N, C): what was noted of another character makes this one senseless, like gills on a polypore."""
    off = np.zeros(seen.told.shape, dtype=bool)
    for position, parent, wanted in matrix.needs:
        noted = seen.observed[:, matrix.columns[parent].span]
        off[:, position] |= seen.told[:, parent] & ~(noted & wanted).any(axis=1)
    return off


@dataclass(frozen=True, eq=False)
class TargetRules:
    """What must stand against each taxon before a find may be called by one name.

    groups  (T,)  independent groups needed; 0 for harmless taxa and the target itself
    strong  (T,)  whether print, cut or dug base is needed among them
    spare   (T,)  groups needed where there is no such proof (as many as ``groups`` if it is not asked)
    weight  (T,)  danger weight
    minimum       (taxon row, list of alternatives: character positions) from the confusion pairs
    """

    target: int
    groups: npt.NDArray[np.int64]
    strong: Bools
    spare: npt.NDArray[np.int64]
    weight: Floats
    minimum: tuple[tuple[int, tuple[tuple[int, ...], ...]], ...]


def target_rules(book: Book, matrix: Matrix, target_id: str) -> TargetRules:
    """The rules for one target: the book's rule for each danger, and the target's confusion pairs."""
    row = matrix.rows[target_id]
    alike = looks_alike(book, matrix, target_id)
    groups, spare = (np.zeros(len(matrix.taxa), dtype=np.int64) for _ in range(2))
    strong = np.zeros(len(matrix.taxa), dtype=bool)
    weight = np.zeros(len(matrix.taxa))
    for t, taxon in enumerate(book.taxa.values()):
        rule = book.danger_rules.get(taxon.harm.danger)
        if rule is None or t == row:
            continue
        weight[t] = rule.weight
        decided = rule.pair_decides and (target_id, taxon.id) in book.confusions
        groups[t] = rule.groups if alike[t] and not decided else rule.groups_apart
        strong[t] = rule.strong == "always" and alike[t]
        spare[t] = groups[t] + (rule.strong == "or_one_more" and alike[t] and not decided)
    minimum = tuple(
        (
            matrix.rows[pair.lookalike],
            tuple(tuple(matrix.positions[c] for c in alternatives) for alternatives in pair.minimum),
        )
        for pair in book.confusions.values()
        if pair.target == target_id
    )
    return TargetRules(row, groups, strong, spare, weight, minimum)


def looks_alike(book: Book, matrix: Matrix, target_id: str) -> Bools:
    """(T,): listed as a double of the target, or able to show the same form and underside."""
    row = matrix.rows[target_id]
    alike = np.ones(len(matrix.taxa), dtype=bool)
    for name in ("form", "hymenium"):
        span = matrix.column(name).span
        mine = matrix.shown[row, span]
        alike &= (matrix.stretched[:, span] & mine).any(axis=1) | matrix.silent[:, matrix.positions[name]]
    for target, lookalike in book.confusions:
        if target == target_id:
            alike[matrix.rows[lookalike]] = True
    alike[row] = False
    return alike


def discharged(rules: TargetRules, exclusions: Exclusions) -> Bools:
    """(N, T): the taxon is ruled out for this target, by its danger's rule and the pair's minimum.

    **Fails towards** not ruled out: the pair's minimum comes on top of the general rule.
    """
    enough = np.where(exclusions.strong, rules.groups, rules.spare)
    done: Bools = (exclusions.groups >= enough) & (exclusions.strong | ~rules.strong)
    for taxon, alternatives in rules.minimum:
        for characters in alternatives:
            done[:, taxon] &= exclusions.by[:, taxon, list(characters)].any(axis=1)
    return done


@dataclass(frozen=True, slots=True)
class Fit:
    """How what was seen goes with one taxon, per body and character, all (N, C).

    mismatch  the taxon never shows it
    doubtful  it may be a faded or neighbouring state, or is rare: neither for nor against
    fits      plainly shown by the taxon, noted by hand and on every stem
    """

    mismatch: Bools
    doubtful: Bools
    fits: Bools


#: A state shown less than this often, against the commonest state, speaks for nothing by itself.
RARE = 0.1


def fit(matrix: Matrix, seen: Seen, row: int) -> Fit:
    """Compare N bodies with one taxon, character by character. A photo can speak against a name."""
    shape = seen.told.shape
    mismatch, doubtful, fits = (np.zeros(shape, dtype=bool) for _ in range(3))
    told = seen.told & matrix.excludes & ~matrix.silent[row]
    for position in np.flatnonzero(told.any(axis=0)):
        outside, plain, rare = _against_one(matrix, seen, row, int(position))
        here = told[:, position]
        mismatch[:, position] = here & outside
        doubtful[:, position] = here & ~outside & (~plain | rare)
        fits[:, position] = here & plain & seen.counts[:, position]
    for position in np.flatnonzero(seen.told.any(axis=0) & ~matrix.applies[row] & matrix.excludes):
        mismatch[:, position] |= seen.told[:, position] & present(matrix, seen, int(position))
    return Fit(mismatch, doubtful, fits)


def _against_one(matrix: Matrix, seen: Seen, row: int, position: int) -> tuple[Bools, Bools, Bools]:
    if position < len(matrix.columns):
        span = matrix.columns[position].span
        noted = seen.observed[:, span]
        share = matrix.share[row, span]
        met = (noted & matrix.stretched[row, span]).any(axis=1)
        strange = (noted & ~matrix.shown[row, span]).any(axis=1)
        seldom = (noted * share).max(axis=1) < RARE * share.max()
        return np.logical_not(met), np.logical_not(strange), seldom
    measure = position - len(matrix.columns)
    value = seen.value[:, measure]
    least, most = matrix.spread[row, measure, [0, 3]]
    outside: Bools = (value < least * (1.0 - MEASURE_SLACK)) | (value > most * (1.0 + MEASURE_SLACK))
    return outside, np.logical_not(outside), np.zeros_like(outside)
