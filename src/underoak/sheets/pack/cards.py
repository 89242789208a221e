"""Cards of look-alikes: for each kind that is gathered, what it can be taken for and how to tell."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from underoak.model.book import harm_words
from underoak.vetting.verdict import reviewed

if TYPE_CHECKING:
    from collections.abc import Sequence

    from underoak.book.load import Book
    from underoak.model.book import Taxon

#: From worst to mildest, as they are listed on a card.
DANGERS = ("deadly", "organ", "severe", "mild", "none")


@dataclass(frozen=True, slots=True)
class LookAlike:
    """One kind that the card's own kind is taken for. ``danger`` is a word of the book."""

    taxon_id: str
    scientific_name: str
    common_name: str
    danger: str
    harm: str
    this_shows: str
    that_shows: str
    how: str


@dataclass(frozen=True, slots=True)
class Card:
    """One kind that may be looked for, with everything to be said beside its name."""

    taxon_id: str
    scientific_name: str
    common_name: str
    words: str
    ages: tuple[str, ...]
    must_see: tuple[str, ...]
    look_alikes: tuple[LookAlike, ...]
    cautions: tuple[str, ...]
    reviewed: str


def cards(book: Book, taxon_ids: Sequence[str]) -> tuple[Card, ...]:
    """Cards in the order of ``taxon_ids``; KeyError for an id that the book does not have."""
    return tuple(_card(book, book.taxa[taxon_id]) for taxon_id in taxon_ids)


def _card(book: Book, taxon: Taxon) -> Card:
    doubles = [_look_alike(book, pair) for pair in book.confusions if pair[0] == taxon.id]
    doubles.sort(key=lambda double: (DANGERS.index(double.danger), double.scientific_name))
    return Card(
        taxon_id=taxon.id,
        scientific_name=taxon.scientific_name,
        common_name=_first(taxon.common_names),
        words=taxon.words,
        ages=tuple(f"{age}: {words}" for age, words in taxon.look.ages.items()),
        must_see=tuple(book.characters[name].question for name in taxon.required),
        look_alikes=tuple(doubles),
        cautions=tuple(caution.words for caution in taxon.cautions),
        reviewed=reviewed(taxon),
    )


def _look_alike(book: Book, ids: tuple[str, str]) -> LookAlike:
    pair, other = book.confusions[ids], book.taxa[ids[1]]
    return LookAlike(
        taxon_id=other.id,
        scientific_name=other.scientific_name,
        common_name=_first(other.common_names),
        danger=other.harm.danger,
        harm=other.harm.words or harm_words(other.harm.classes),
        this_shows=pair.target_shows,
        that_shows=pair.lookalike_shows,
        how=pair.how,
    )


def _first(names: Sequence[str]) -> str:
    return names[0] if names else ""
