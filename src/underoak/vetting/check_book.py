"""Check the whole book by comparing characters: ``python -m underoak.vetting.check_book``."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

import numpy as np

from underoak.model.characters import STRONG_MEANS
from underoak.model.problem import Problem
from underoak.vetting.exclusion import looks_alike, target_rules
from underoak.vetting.matrix import Bools, Matrix, compiled

if TYPE_CHECKING:
    from underoak.book.load import Book

#: Dangers whose double must be described in confusions/ when it shares the visible characters.
MUST_BE_LISTED = ("deadly", "organ", "severe")
#: What a person sees standing over it; a double that overlaps in all of this is a close one. The colours
#: of gills and stem are left out: they shift with age and are hidden from above.
VISIBLE = (
    "growth",
    "substrate",
    "stem_position",
    "cap_colour",
    "cap_surface",
    "pore_colour",
)
#: The least share of a state, among those a taxon shows, that a person would expect to meet.
MET = 0.15


def weak_spots(book: Book) -> list[Problem]:
    """Every forgotten pair, and every pair that the characters in the book cannot tell apart.

    A forgotten pair is a dangerous taxon that overlaps a gathered one in the usual states of all visible
    characters, and in size, and is not in its confusions. A pair cannot be told apart when no
    combination of characters of the target meets the rule for the danger and the pair's own minimum.
    """
    matrix = compiled(book)
    problems: list[Problem] = []
    for target in book.taxa.values():
        if target.gathered:
            problems += _forgotten(book, matrix, target.id)
            problems += _inseparable(book, matrix, target.id)
    return problems


def _forgotten(book: Book, matrix: Matrix, target: str) -> list[Problem]:
    alike = looks_alike(book, matrix, target)
    problems = []
    for row in map(int, np.flatnonzero(alike)):
        taxon = book.taxa[matrix.taxa[row]]
        listed = (target, taxon.id) in book.confusions
        if taxon.harm.danger in MUST_BE_LISTED and not listed and _overlap(matrix, matrix.rows[target], row):
            what = f"{taxon.id} ({taxon.harm.danger}) shares all visible characters and is not listed"
            problems.append(
                Problem(what, f"confusions/{target}.toml", "a pair that says what tells them apart")
            )
    return problems


def _overlap(matrix: Matrix, mine: int, other: int) -> bool:
    for name in VISIBLE:
        position = matrix.positions[name]
        if matrix.silent[[mine, other], position].any():
            continue
        span = matrix.column(name).span
        if not ((matrix.share[mine, span] >= MET) & (matrix.share[other, span] >= MET)).any():
            return False
    size = matrix.measures.index("cap_width_cm")
    a, b = matrix.spread[mine, size], matrix.spread[other, size]
    return not (a[1] > b[2] or a[2] < b[1])


def excluders(matrix: Matrix, target: int, other: int) -> Bools:
    """(C,): characters in which some state the target shows rules the other taxon out."""
    can = np.zeros(len(matrix.characters), dtype=bool)
    for position in np.flatnonzero(matrix.excludes & ~matrix.silent[target]):
        if not matrix.applies[other, position]:
            can[position] = matrix.applies[target, position]
        elif matrix.silent[other, position]:
            continue
        elif position < len(matrix.columns):
            span = matrix.columns[position].span
            can[position] = bool((matrix.shown[target, span] & ~matrix.stretched[other, span]).any())
        else:
            measure = int(position) - len(matrix.columns)
            a, b = matrix.spread[target, measure], matrix.spread[other, measure]
            can[position] = bool(a[2] > b[3] * 1.05 or a[1] < b[0] * 0.95)
    return can


def _inseparable(book: Book, matrix: Matrix, target: str) -> list[Problem]:
    rules = target_rules(book, matrix, target)
    problems = []
    for row in np.flatnonzero(rules.groups > 0):
        can = excluders(matrix, rules.target, int(row))
        groups = np.where(matrix.applies[row], matrix.group, matrix.parent)
        enough = len(set(groups[can]))
        strong = any(book.characters[matrix.characters[c]].means in STRONG_MEANS for c in np.flatnonzero(can))
        where = f"{target} against {matrix.taxa[row]}"
        if enough < (rules.groups[row] if strong else rules.spare[row]) or (rules.strong[row] and not strong):
            what = f"only {enough} independent characters, {'with' if strong else 'without'} a strong one"
            problems.append(Problem(what, where, f"{rules.groups[row]}"))
        for taxon, alternatives in rules.minimum:
            if taxon == row:
                hollow = [a for a in alternatives if not can[list(a)].any()]
                named = ["/".join(matrix.characters[c] for c in a) for a in hollow]
                problems += [Problem(f"the minimum {n} can never be met", where) for n in named]
    return problems


def main() -> int:
    """Print every fault of the book; 1 when there is any."""
    from underoak.book.check import broken_rules
    from underoak.book.hosts import host_groups
    from underoak.book.load import load_book
    from underoak.book.methods import load_methods

    book = load_book()
    problems = broken_rules(book, host_groups(), load_methods()) + weak_spots(book)
    sys.stdout.writelines(f"{problem.sentence()}\n" for problem in problems)
    sys.stdout.write(f"{len(book.taxa)} taxa, {len(book.confusions)} pairs, {len(problems)} faults\n")
    return 1 if problems else 0


if __name__ == "__main__":
    sys.exit(main())
