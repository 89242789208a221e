"""Hard rules: which taxa a find cannot be, and whether every dangerous double is ruled out.

Nothing here uses probability. A character that was not looked at, or could not be told, excludes
nothing; so does one on which the book is silent, one seen on a photo only, and one seen on some stems
of a cluster where every stem must be looked at.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING
from weakref import WeakKeyDictionary

import numpy as np
import numpy.typing as npt

from underoak.vetting.characters import Seen
from underoak.vetting.matrix import Bools, Floats, Matrix

if TYPE_CHECKING:
    from underoak.book.load import Book
    from underoak.model.book import Taxon

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
    parts = [_excluded(matrix, seen.only(rows)) for rows in _chunks(len(seen))]
    if len(parts) == 1:
        return parts[0]
    return Exclusions(
        np.concatenate([p.by for p in parts]),
        np.concatenate([p.groups for p in parts]),
        np.concatenate([p.strong for p in parts]),
    )


#: Bodies compared at once, so that the arrays stay within the processor's caches.
CHUNK = 16


def _chunks(number: int) -> list[npt.NDArray[np.int64]]:
    return [np.arange(start, min(start + CHUNK, number)) for start in range(0, max(number, 1), CHUNK)]


def _excluded(matrix: Matrix, seen: Seen) -> Exclusions:
    counts = (seen.counts & matrix.excludes)[:, None, :]
    against = counts & (matrix.applies & ~matrix.silent) & _misses(matrix, seen)
    senseless = counts & ~matrix.applies & present(matrix, seen)[:, None, :]
    by: Bools = against | senseless
    in_group = against.astype(np.float32) @ _one_hot(matrix, matrix.group)
    in_group += senseless.astype(np.float32) @ _one_hot(matrix, matrix.parent)
    strong: Bools = np.logical_or.reduce(by & matrix.strong, axis=2)
    return Exclusions(by, (in_group > 0.0).sum(axis=2), strong)


def _one_hot(matrix: Matrix, group: npt.NDArray[np.int64]) -> npt.NDArray[np.float32]:
    table = np.zeros((len(group), len(matrix.groups)), dtype=np.float32)
    table[np.arange(len(group)), group] = 1.0
    return table


def _misses(matrix: Matrix, seen: Seen) -> Bools:
    """(N, T, C): all that was noted lies outside what the taxon can show."""
    met = np.logical_or.reduceat(seen.observed[:, None, :] & matrix.stretched, matrix.starts, axis=2)
    value = seen.value[:, None, :]
    low, high = matrix.spread[None, :, :, 0], matrix.spread[None, :, :, 3]
    outside = (value < low * (1.0 - MEASURE_SLACK)) | (value > high * (1.0 + MEASURE_SLACK))
    return np.concatenate([~met, outside], axis=2)


def present(matrix: Matrix, seen: Seen) -> Bools:
    """(N, C): the thing itself was noted, not its absence."""
    there = np.logical_or.reduceat(seen.observed & matrix.there, matrix.starts, axis=1)
    return np.concatenate([there, seen.told[:, len(matrix.columns) :]], axis=1)


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


_known: WeakKeyDictionary[Book, dict[str, TargetRules]] = WeakKeyDictionary()


def target_rules(book: Book, matrix: Matrix, target_id: str) -> TargetRules:
    """The rules for one target: the book's rule for each danger, and the target's confusion pairs."""
    rules = _known.setdefault(book, {})
    if target_id not in rules:
        rules[target_id] = _target_rules(book, matrix, target_id)
    return rules[target_id]


def _target_rules(book: Book, matrix: Matrix, target_id: str) -> TargetRules:
    row = matrix.rows[target_id]
    target = book.taxa[target_id]
    alike = looks_alike(book, matrix, target_id)
    groups, spare = (np.zeros(len(matrix.taxa), dtype=np.int64) for _ in range(2))
    strong = np.zeros(len(matrix.taxa), dtype=bool)
    weight = np.zeros(len(matrix.taxa))
    for t, taxon in enumerate(book.taxa.values()):
        rule = book.danger_rules.get(taxon.harm.danger)
        if rule is None or t == row or _carried_anyway(taxon, target):
            continue
        weight[t] = rule.weight
        decided = rule.pair_decides and (target_id, taxon.id) in book.confusions
        groups[t] = rule.groups if alike[t] and not decided else rule.groups_apart
        strong[t] = rule.strong == "always" and alike[t]
        proof = rule.strong if alike[t] else rule.strong_apart
        spare[t] = groups[t] + (proof == "or_one_more" and not decided)
    minimum = tuple(
        (
            matrix.rows[pair.lookalike],
            tuple(tuple(matrix.positions[c] for c in alternatives) for alternatives in pair.minimum),
        )
        for pair in book.confusions.values()
        if pair.target == target_id
    )
    return TargetRules(row, groups, strong, spare, weight, minimum)


def _carried_anyway(taxon: Taxon, target: Taxon) -> bool:
    """The target does the very same harm, no less badly: its own cautions already stand for both."""
    return taxon.harm.danger == target.harm.danger and set(taxon.harm.classes) <= set(target.harm.classes)


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
    outside, plain, rare = _against_one(matrix, seen, row)
    here = seen.told & matrix.excludes & ~matrix.silent[row]
    mismatch = here & outside
    mismatch |= seen.told & matrix.excludes & ~matrix.applies[row] & present(matrix, seen)
    doubtful: Bools = here & ~outside & (~plain | rare)
    fits: Bools = here & plain & seen.counts
    return Fit(mismatch, doubtful, fits)


def _against_one(matrix: Matrix, seen: Seen, row: int) -> tuple[Bools, Bools, Bools]:
    """(N, C) each: outside what the taxon can show, within what it shows, only a rare state of it."""
    starts, share = matrix.starts, matrix.share[row]
    met = np.logical_or.reduceat(seen.observed & matrix.stretched[row], starts, axis=1)
    strange = np.logical_or.reduceat(seen.observed & ~matrix.shown[row], starts, axis=1)
    best = np.maximum.reduceat(seen.observed * share, starts, axis=1)
    rare = best < RARE * np.maximum.reduceat(share, starts)
    least, most = matrix.spread[row, :, 0], matrix.spread[row, :, 3]
    outside = (seen.value < least * (1.0 - MEASURE_SLACK)) | (seen.value > most * (1.0 + MEASURE_SLACK))
    never = np.zeros_like(outside)
    return (
        np.concatenate([~met, outside], axis=1),
        np.concatenate([~strange, ~outside], axis=1),
        np.concatenate([rare, never], axis=1),
    )
