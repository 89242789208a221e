"""The haul of an evening: lots out of the day's finds and their verdicts, or out of a file."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, time
from pathlib import Path

from underoak.book.load import Book
from underoak.errors import BadData, UserMistake
from underoak.intake.haul import read_haul
from underoak.ledger.bought import bought_on
from underoak.ledger.connection import Ledger
from underoak.ledger.evidence import finds_of_day, lapsed
from underoak.ledger.pantry import kept_lots, used_g
from underoak.ledger.places import spot_names
from underoak.model.kitchen import Dirt, Keeping, Lot
from underoak.sheets.wording import BOUGHT

#: A lot with less than this left is used up, g.
_NOTHING_G = 1.0
#: Finds without a time of day count as picked then.
_MORNING = time(9)


def lots_of_day(
    connection: Ledger,
    book: Book,
    day: date,
    *,
    picked: time = _MORNING,
    kept: tuple[Keeping, ...] = (),
    dirt: Dirt = "some",
) -> tuple[tuple[Lot, ...], tuple[str, ...]]:
    """What is left to put up of a day's finds and of what was bought on it, and notes on both.

    A lot is named after its find. Its verdict counts only while it stands: another name, more bodies or a
    changed book let it lapse. Grams that batches have taken are taken off.

    **Fails towards** setting aside, and towards older: without a time a find was picked at nine.
    """
    stored, used = kept_lots(connection), used_g(connection)
    finds = finds_of_day(connection, day)
    spots = spot_names(connection, [find.spot_id for find in finds])
    lots, notes = [], []
    for find in finds:
        lot_id = f"lot-{find.find_id}"
        called = f"{book.common_name(find.taxon_id)} of {spots.get(find.spot_id, find.spot_id)}"
        if find.fresh_g is None:
            notes.append(f"{called} was not weighed: it is not planned")
            continue
        if find.stage == "past":
            notes.append(f"{called} is past its prime: leave it")
            continue
        known = stored.get(lot_id)
        rest_g = max(find.fresh_g, known.fresh_g if known else 0.0) - used.get(lot_id, 0.0)
        if rest_g < _NOTHING_G:
            continue
        fresh = Lot(
            id=lot_id,
            taxon_id=find.taxon_id,
            state=None,
            fresh_g=rest_g,
            picked_at=datetime.combine(day, picked),
            find_id=find.find_id,
            kept=kept,
            dirt=dirt,
        )
        lot = replace(known, fresh_g=rest_g) if known else fresh
        why = lapsed(find, book.version)
        if why is None:
            lot = replace(lot, state=find.state, verdict_id=find.verdict_id)
        elif find.verdict_id is not None:
            notes.append(f"{called}: {why}; it counts as not vetted")
        lots.append(lot)
    for lot in bought_on(connection, day):
        rest_g = lot.fresh_g - used.get(lot.id, 0.0)
        if rest_g >= _NOTHING_G:
            lots.append(replace(lot, fresh_g=rest_g))
            notes.append(f"{book.common_name(lot.taxon_id)} from {lot.shop}: {BOUGHT}")
    return tuple(lots), tuple(notes)


def lots_of_file(path: Path, book: Book, now: datetime) -> tuple[tuple[Lot, ...], tuple[str, ...]]:
    """Lots of a haul file; BadData with every problem of it."""
    reading = read_haul(path, taxon_id=lambda name: book.find(name).id, now=now)
    if reading.problems:
        raise BadData(reading.problems)
    if not reading.records:
        raise UserMistake(f"{path.name} holds no lot", expected="at least one")
    return reading.records, (*reading.understood, "verdicts are taken as the file states them")
