"""What the household's own batches gave, and how it moves the book's ranges when an evening is planned."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from datetime import date

from underoak.book.load import Book
from underoak.desk.review_answers import weighed_batches
from underoak.desk.review_finds import book_yield
from underoak.kitchen.yields import CLEANED_SHARE
from underoak.ledger.connection import Ledger
from underoak.ledger.pantry import batches
from underoak.ledger.shelf import lot_taxa, net_of_batches
from underoak.model.method import Method
from underoak.model.quantities import counted
from underoak.review.own_yields import OwnYield, own_yields


def made_yields(
    connection: Ledger, book: Book, methods: Mapping[str, Method], until: date
) -> tuple[tuple[OwnYield, ...], int]:
    """Yields of batches weighed up to a day, and how many were only booked with the plan's weights."""
    weighed, booked = weighed_batches(
        [batch for batch in batches(connection).values() if batch.made_on <= until],
        net_of_batches(connection),
        taxa=lot_taxa(connection),
        methods=methods,
    )
    known = {(b.taxon_id, b.method_id): book_yield(book, methods[b.method_id], b.taxon_id) for b in weighed}
    return own_yields(weighed, known), booked


def with_own_yields(
    methods: Mapping[str, Method], book: Book, made: Sequence[OwnYield]
) -> Mapping[str, Method]:
    """The methods, of which each gives what book and own batches give together.

    Only amounts of product move: jars, room and what stands on the sheet. What goes in, times, temperatures
    and days are the book's and stay.
    """
    moved = dict(methods)
    for one in made:
        method = moved[one.method_id]
        taxon = book.taxa.get(one.taxon_id)
        low, high = taxon.kitchen.cleaned_share if taxon and taxon.kitchen else CLEANED_SHARE
        if method.yields is None:
            continue
        own = {one.taxon_id: (one.joined[0] / low, one.joined[1] / high)}  # the book counts from cleaned ones
        yields = method.yields.model_copy(update={"by_taxon": {**method.yields.by_taxon, **own}})
        moved[method.id] = method.model_copy(update={"yields": yields})
    return moved


def yield_words(
    made: Sequence[OwnYield], planned: Collection[tuple[str, str]], book: Book, methods: Mapping[str, Method]
) -> Iterator[str]:
    """What was moved in a plan of these (taxon, method) pairs, with the book's own value beside it."""
    for one in made:
        if (one.taxon_id, one.method_id) in planned and one.book:
            name = book.taxa[one.taxon_id].scientific_name if one.taxon_id in book.taxa else one.taxon_id
            yield (
                f"{name}, {methods[one.method_id].name.lower()}: {_span(one.joined)} from 1 kg, by the book "
                f"and {counted(one.batches, 'weighed batch')} of your own; the book alone says "
                f"{_span(one.book)}"
            )


def _span(pair: tuple[float, float]) -> str:
    return f"{pair[0]:.0f} to {pair[1]:.0f} g"
