"""What the jars of a batch have in common: what is in them, how it was made, and whether it is in doubt."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from underoak.book.load import Book, load_book
from underoak.book.methods import load_methods
from underoak.ledger.connection import Ledger
from underoak.ledger.shelf import BatchMade, batches_made_of, last_states
from underoak.model.kitchen import LETS_THROUGH, VerdictState


@dataclass(frozen=True, slots=True)
class ShelfBatch:
    """A batch in words. ``doubt`` says why a later verdict on one of its finds no longer lets it through."""

    id: str
    kind: str
    scientific_name: str
    taxon_ids: tuple[str, ...]
    product: str
    method: str
    made_on: date
    against_advice: bool
    doubt: str

    @property
    def forbidden(self) -> bool:
        """Whether none of its jars is ever to be eaten: made against the advice, or in doubt since."""
        return self.against_advice or bool(self.doubt)

    def lacks(self, words: str) -> list[str]:
        """Those of the words, upper or lower case alike, that say nothing of this batch."""
        text = f"{self.kind} {self.scientific_name} {self.product} {self.method} {self.made_on}".casefold()
        return [word for word in words.casefold().split() if word not in text]


def shelf_batches(connection: Ledger, ids: Iterable[str] | None = None) -> dict[str, ShelfBatch]:
    """Batches by id: all of them, or those of these ids.

    **Fails towards** doubt: a find whose last verdict was worse, or that was never vetted, puts every jar of
    its batches in doubt. A verdict that merely lapsed does not.
    """
    made = batches_made_of(connection, ids)
    states = last_states(connection, {find for batch in made.values() for _, find in batch.lots if find})
    book = load_book()
    return {key: _in_words(batch, states, book) for key, batch in made.items()}


def _in_words(batch: BatchMade, states: Mapping[str, VerdictState], book: Book) -> ShelfBatch:
    taxon_ids = tuple(dict.fromkeys(taxon_id for taxon_id, _ in batch.lots))
    pairs = [(book.taxa.get(taxon_id), taxon_id) for taxon_id in taxon_ids]
    method = load_methods().get(batch.method_id)
    doubts = [
        _doubt(book.common_name(taxon_id), states.get(find_id)) for taxon_id, find_id in batch.lots if find_id
    ]
    return ShelfBatch(
        id=batch.id,
        kind=" + ".join(book.common_name(taxon_id) for taxon_id in taxon_ids),
        scientific_name=" + ".join(t.scientific_name if t else "not in the book" for t, _ in pairs),
        taxon_ids=taxon_ids,
        product=method.product if method else batch.method_id,
        method=batch.method_id,
        made_on=batch.made_on,
        against_advice=batch.against_advice,
        doubt="; ".join(dict.fromkeys(doubt for doubt in doubts if doubt)),
    )


def _doubt(kind: str, state: VerdictState | None) -> str:
    return "" if state in LETS_THROUGH else f"the last verdict on its {kind} is {state or 'none'}"
