"""The book's characters as arrays, so that a find is compared with every taxon at once."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING
from weakref import WeakKeyDictionary

import numpy as np
import numpy.typing as npt

from underoak.model.characters import ABSENT, STRONG_MEANS, Character

if TYPE_CHECKING:
    from underoak.book.load import Book

Bools = npt.NDArray[np.bool_]
Floats = npt.NDArray[np.float64]

#: Relative weight of a constancy in the likelihood. Own judgement: the middle of each class.
WEIGHT = {"always": 1.0, "usually": 0.7, "sometimes": 0.25, "rarely": 0.05, "never": 0.0}


@dataclass(frozen=True, slots=True)
class StateColumn:
    """One character with states: its place on the long axis of all states."""

    name: str
    start: int
    states: tuple[str, ...]

    @property
    def span(self) -> slice:
        """Its states on the long axis."""
        return slice(self.start, self.start + len(self.states))


@dataclass(frozen=True, eq=False)
class Matrix:
    """All taxa (T) against all states (S) and measures (M).

    shown      (T, S)  the taxon can show the state
    stretched  (T, S)  the same, widened by fading, washing off and, for what it usually or always
                       shows, by states easily taken for that
    share      (T, S)  how often it shows it, rows of one character summing to 1; flat where silent
    silent     (T, C)  the book says nothing about the character (states first, then measures)
    applies    (T, C)  the character makes sense for the taxon
    spread     (T, M, 4) smallest ever, common smallest, common largest, largest ever; NaN where silent
    group      (C,)    evidence group of each character, as a position in ``groups``
    parent     (C,)    group of the character it depends on, or its own
    strong     (C,)    won by a print, a lengthwise cut or a dug-out base
    excludes   (C,)    may exclude at all
    needs              (character, character it depends on, mask of that one's fitting states)
    chance     (T, S)  share with the observer's error mixed in, for the likelihood
    starts     (C_s,)  where each character with states begins on the long axis
    there      (S,)    the state says that something is there, not that it is absent
    """

    book_version: str
    characters: tuple[str, ...]
    columns: tuple[StateColumn, ...]
    measures: tuple[str, ...]
    taxa: tuple[str, ...]
    groups: tuple[str, ...]
    shown: Bools
    stretched: Bools
    share: Floats
    silent: Bools
    applies: Bools
    spread: Floats
    group: npt.NDArray[np.int64]
    parent: npt.NDArray[np.int64]
    strong: Bools
    excludes: Bools
    error: Floats
    needs: tuple[tuple[int, int, Bools], ...]
    chance: Floats
    starts: npt.NDArray[np.int64]
    there: Bools
    positions: Mapping[str, int]
    rows: Mapping[str, int]

    def column(self, name: str) -> StateColumn:
        """The states of one character; raises KeyError for a measure."""
        position = self.positions[name]
        if position >= len(self.columns):
            raise KeyError(name)
        return self.columns[position]

    def without(self, taxon_id: str) -> Matrix:
        """The same matrix as if one taxon had never been described."""
        left = np.arange(len(self.taxa)) != self.rows[taxon_id]
        by_taxon = ("shown", "stretched", "share", "silent", "applies", "spread", "chance")
        taxa = tuple(t for t in self.taxa if t != taxon_id)
        return replace(
            self,
            taxa=taxa,
            rows={t: i for i, t in enumerate(taxa)},
            **{name: getattr(self, name)[left] for name in by_taxon},
        )


_compiled: WeakKeyDictionary[Book, Matrix] = WeakKeyDictionary()


def compiled(book: Book) -> Matrix:
    """The matrix of a book, made once for each book object."""
    if book not in _compiled:
        _compiled[book] = _compile(book)
    return _compiled[book]


def _compile(book: Book) -> Matrix:
    with_states = [n for n, c in book.characters.items() if c.states]
    measures = [n for n, c in book.characters.items() if c.unit]
    names = (*with_states, *measures)
    groups = tuple(sorted({c.group for c in book.characters.values()}))
    columns, start = [], 0
    for name in with_states:
        columns.append(StateColumn(name, start, tuple(book.characters[name].states)))
        start += len(book.characters[name].states)
    taxa = tuple(book.taxa)
    shown, weight = _shown(book, columns, start)
    stretched = _stretched(book, columns, shown, weight >= WEIGHT["usually"])
    silent = np.array([[not _told(book, t, n) for n in names] for t in taxa], dtype=bool).reshape(
        len(taxa), len(names)
    )
    group = np.array([groups.index(book.characters[n].group) for n in names])
    share = _shares(columns, weight)
    widths = np.array([len(c.states) for c in columns])
    error = np.repeat([book.characters[n].error for n in with_states], widths)
    return Matrix(
        book_version=book.version,
        characters=names,
        columns=tuple(columns),
        measures=tuple(measures),
        taxa=taxa,
        groups=groups,
        shown=shown,
        stretched=stretched,
        share=share,
        silent=silent,
        applies=_applies(book, names, columns, stretched, silent),
        spread=_spreads(book, measures),
        group=group,
        parent=np.array([groups.index(_parent_group(book.characters, n)) for n in names]),
        strong=np.array([book.characters[n].means in STRONG_MEANS for n in names]),
        excludes=np.array([not book.characters[n].ranks_only for n in names]),
        error=np.array([book.characters[n].error for n in names]),
        needs=tuple(_needs(book, names, columns)),
        chance=(1.0 - error) * share + error / np.repeat(widths, widths),
        starts=np.array([c.start for c in columns]),
        there=np.array([state != ABSENT for c in columns for state in c.states]),
        positions={n: i for i, n in enumerate(names)},
        rows={t: i for i, t in enumerate(taxa)},
    )


def _told(book: Book, taxon_id: str, character: str) -> bool:
    look = book.taxa[taxon_id].look
    return character in look.states or character in look.measures


def _shown(book: Book, columns: list[StateColumn], width: int) -> tuple[Bools, Floats]:
    weight = np.zeros((len(book.taxa), width))
    for row, taxon in enumerate(book.taxa.values()):
        for column in columns:
            told = taxon.look.states.get(column.name, {})
            weight[row, column.span] = [WEIGHT[told.get(s, "never")] for s in column.states]
    return weight > 0.0, weight


def _stretched(book: Book, columns: list[StateColumn], shown: Bools, common: Bools) -> Bools:
    wide = shown.copy()
    for row, taxon in enumerate(book.taxa.values()):
        for column in columns:
            faded = taxon.look.fades.get(column.name, ())
            wide[row, column.span] |= [s in faded for s in column.states]
    for column in columns:
        character = book.characters[column.name]
        at = {s: column.start + i for i, s in enumerate(column.states)}
        for one, other in character.near:
            wide[:, at[one]] |= common[:, at[other]]
            wide[:, at[other]] |= common[:, at[one]]
        if character.washes_off:
            wide[:, at[ABSENT]] = True
    return wide


def _shares(columns: list[StateColumn], weight: Floats) -> Floats:
    share = weight.copy()
    for column in columns:
        total = weight[:, column.span].sum(axis=1, keepdims=True)
        flat = 1.0 / len(column.states)
        safe = np.where(total > 0.0, total, 1.0)
        share[:, column.span] = np.where(total > 0.0, weight[:, column.span] / safe, flat)
    return share


def _applies(
    book: Book, names: tuple[str, ...], columns: list[StateColumn], stretched: Bools, silent: Bools
) -> Bools:
    applies = np.ones((len(book.taxa), len(names)), dtype=bool)
    for position, parent, wanted in _needs(book, names, columns):
        possible = (stretched[:, columns[parent].span] & wanted).any(axis=1)
        applies[:, position] &= possible | silent[:, parent]
    return applies


def _needs(
    book: Book, names: tuple[str, ...], columns: list[StateColumn]
) -> Iterator[tuple[int, int, Bools]]:
    for position, name in enumerate(names):
        for parent, states in book.characters[name].needs.items():
            column = columns[names.index(parent)]
            yield position, names.index(parent), np.array([s in states for s in column.states])


def _spreads(book: Book, measures: list[str]) -> Floats:
    nothing = (np.nan,) * 4
    rows = [[t.look.measures.get(m, nothing) for m in measures] for t in book.taxa.values()]
    return np.array(rows, dtype=float).reshape(len(book.taxa), len(measures), 4)


def _parent_group(characters: Mapping[str, Character], name: str) -> str:
    parents = list(characters[name].needs)
    return characters[parents[-1]].group if parents else characters[name].group
