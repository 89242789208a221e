"""One find compared with one name: everything the reasons and the next check are read from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from underoak.model.vetting import Body
from underoak.vetting.characters import Seen, each_stem, seen
from underoak.vetting.exclusion import (
    Exclusions,
    Fit,
    TargetRules,
    discharged,
    excluded,
    fit,
    senseless,
    target_rules,
)
from underoak.vetting.matrix import Bools, Matrix, compiled

if TYPE_CHECKING:
    from underoak.book.load import Book
    from underoak.model.book import Taxon


@dataclass(frozen=True, eq=False)
class Noted:
    """The bodies of a find, as written and as arrays, and what they cannot be."""

    matrix: Matrix
    bodies: tuple[Body, ...]
    seen: Seen
    exclusions: Exclusions


@dataclass(frozen=True, eq=False)
class Case:
    """A find under one name.

    ``done`` (N, T): the taxon is ruled out on that body; ``off`` (N, C): the character is senseless there.
    """

    book: Book
    target: Taxon
    noted: Noted
    rules: TargetRules
    fit: Fit
    done: Bools
    off: Bools

    @property
    def matrix(self) -> Matrix:
        """The book as arrays."""
        return self.noted.matrix

    def missing(self, row: int) -> tuple[int, ...]:
        """Positions of the target's required characters that body ``row`` has nothing noted for."""
        positions = (self.matrix.positions[name] for name in self.target.required)
        blank = ~self.noted.seen.told[row] & ~self.off[row]
        return tuple(p for p in positions if blank[p])


def noted(book: Book, bodies: Sequence[Body]) -> Noted:
    """The bodies compared with every taxon of the book."""
    matrix = compiled(book)
    arrays = seen(matrix, bodies, each_stem(book))
    return Noted(matrix, tuple(bodies), arrays, excluded(matrix, arrays))


def case(book: Book, find: Noted, target: Taxon) -> Case:
    """The find under the name ``target``."""
    rules = target_rules(book, find.matrix, target.id)
    return Case(
        book=book,
        target=target,
        noted=find,
        rules=rules,
        fit=fit(find.matrix, find.seen, rules.target),
        done=discharged(rules, find.exclusions),
        off=senseless(find.matrix, find.seen),
    )
