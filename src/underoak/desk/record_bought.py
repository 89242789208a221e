"""Write down bought mushrooms, so that their jars lead back to a shop and a day."""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime

from underoak.book.load import Book, load_book
from underoak.errors import BadData, UserMistake
from underoak.ledger.bought import bought_on, store_bought
from underoak.ledger.database import open_ledger, writing
from underoak.model.book import Taxon
from underoak.model.kitchen import Lot
from underoak.model.problem import Problem
from underoak.settings import Home
from underoak.sheets.wording import BOUGHT_CAUTION, EATING_CAUTIONS

#: More fresh grams than this in one purchase are taken for a slip (common practice, no source).
MOST_G = 20_000.0


@dataclass(frozen=True, slots=True)
class BoughtNote:
    """What was bought: the seller's name of it, fresh grams, where, when, and whether it was grown."""

    kind: str
    fresh_g: float
    shop: str
    at: datetime
    grown: bool


@dataclass(frozen=True, slots=True)
class BoughtLot:
    """A bought lot as it was stored, its kind in words, and what has to be said."""

    lot: Lot
    kind: str
    cautions: tuple[str, ...]


def record_bought(home: Home, note: BoughtNote, *, now: datetime) -> BoughtLot:
    """Store a purchase; the kitchen plans it with the finds of that day.

    Nothing here vets it, and no verdict is ever given on it: the seller named it.

    Raises
    ------
    BadData   for what is no purchase of grown mushrooms: every problem at once

    **Fails towards** refusing: what was gathered and sold is no grown mushroom, and neither is a kind that
    the book holds as dangerous or as living with trees' roots only; canning is open to grown ones.
    """
    book = load_book()
    taxon = _meant(book, note.kind)
    problems = list(_problems(note, taxon, now))
    if problems:
        raise BadData(problems)
    lot = Lot(
        id=f"bought-{uuid.uuid4().hex[:12]}",
        taxon_id=taxon.id if taxon else "_".join(note.kind.lower().split()),
        state=None,
        fresh_g=note.fresh_g,
        picked_at=note.at,
        dirt="clean",
        cultivated=True,
        shop=" ".join(note.shop.split()),
    )
    connection = open_ledger(home.ledger)
    try:
        with writing(connection):
            store_bought(connection, lot)
    finally:
        connection.close()
    own = tuple(caution.words for caution in taxon.cautions) if taxon else ()
    return BoughtLot(lot, book.common_name(lot.taxon_id), (BOUGHT_CAUTION, *own, *EATING_CAUTIONS))


def bought_of_day(home: Home, day: date) -> tuple[tuple[Lot, str], ...]:
    """What was bought on a day, each with its kind in words."""
    connection = open_ledger(home.ledger)
    try:
        return tuple((lot, load_book().common_name(lot.taxon_id)) for lot in bought_on(connection, day))
    finally:
        connection.close()


def _meant(book: Book, kind: str) -> Taxon | None:
    """The book's entry of a name; None where it has none, for shops sell what the book does not hold."""
    try:
        return book.find(kind)
    except UserMistake:
        meant = book.may_mean(kind)
        return next((taxon for taxon in meant if _danger(taxon)), meant[0] if len(meant) == 1 else None)


def _problems(note: BoughtNote, taxon: Taxon | None, now: datetime) -> Iterator[Problem]:
    if not 2 <= len(note.kind.strip()) <= 60:
        yield Problem("no name of the mushroom", "kind", "what the seller calls it, 2 to 60 letters")
    if not 1.0 <= note.fresh_g <= MOST_G:
        yield Problem(f"{note.fresh_g:g} g", "grams", f"1 to {MOST_G:.0f}")
    if not 1 <= len(note.shop.strip()) <= 100:
        yield Problem("no shop", "shop", "where it was bought, up to 100 letters")
    if note.at > now:
        yield Problem(f"bought at {note.at:%Y-%m-%d %H:%M}, which is to come", "at", "a time that is over")
    if not note.grown:
        yield Problem(
            "it is not said that it was grown",
            "grown",
            "mushrooms that were grown, as the package or the seller says",
            "what was gathered and sold is kept out: have a person who knows look at it",
        )
    if taxon is not None and (why := _danger(taxon) or _never_grown(taxon)):
        yield Problem(f"{taxon.called} {why}", "kind", "a kind that is grown and sold")


def _danger(taxon: Taxon) -> str:
    dangerous = taxon.never_gather or taxon.harm.danger not in ("none", "mild")
    return "stands in the book as dangerous, or as never to be gathered" if dangerous else ""


def _never_grown(taxon: Taxon) -> str:
    """Kinds that the book finds only on the ground under trees of their own live with the trees' roots."""
    rooted = set(taxon.habitat.substrate) <= {"soil", "litter"} and bool(taxon.habitat.hosts)
    return "lives with the roots of trees and is not grown: what is sold was gathered" if rooted else ""
