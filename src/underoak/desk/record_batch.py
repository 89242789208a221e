"""Write down what was made in the kitchen: batches with their lots and jars."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any

from underoak.book.load import Book, load_book
from underoak.book.methods import load_methods
from underoak.desk.haul import lots_of_day
from underoak.errors import UserMistake
from underoak.kitchen.cautions import travelling
from underoak.kitchen.methods import against_advice
from underoak.kitchen.use_by import use_by
from underoak.ledger.codes import next_batch_id
from underoak.ledger.connection import Ledger
from underoak.ledger.database import open_ledger, writing
from underoak.ledger.evidence import evidence_of, lapsed, store_specimen
from underoak.ledger.kitchen_plans import last_plan
from underoak.ledger.pantry import kept_lots, store_batch, store_lot
from underoak.model.kitchen import Batch, Jar, Lot
from underoak.model.method import Method, Where
from underoak.model.quantities import weight
from underoak.settings import Home
from underoak.sheets.wording import AGAINST_ADVICE, BOUGHT_CAUTION, alcohol_caution


@dataclass(frozen=True, slots=True)
class BatchNote:
    """What a person says was made. Tasks name the last plan's; else a method with lots and units.

    ``units`` is (how many, grams of product in each). ``anyway`` records what was done against the advice.
    """

    tasks: Sequence[str] = ()
    method: str | None = None
    lots: Sequence[tuple[str, float]] = ()
    units: tuple[int, float] | None = None
    stands: Where | None = None
    specimen: str = ""
    anyway: bool = False
    note: str = ""


@dataclass(frozen=True, slots=True)
class MadeBatch:
    """A batch that was stored, its jars and the cautions on them; ``bought`` where a shop was its source."""

    batch: Batch
    method: str
    jars: tuple[Jar, ...]
    cautions: tuple[str, ...]
    bought: bool = False


@dataclass(frozen=True, slots=True)
class _Work:
    method: Method
    lots: tuple[tuple[str, float], ...]
    units: tuple[int, float] | None
    ready_at: datetime | None = None
    trays: int = 0


def record_batches(home: Home, note: BatchNote, *, day: date) -> tuple[MadeBatch, ...]:
    """Store what was made on ``day``: all of it, or nothing.

    Raises
    ------
    UserMistake   for unknown tasks, methods or lots, more grams than are left, jars of nothing, a batch of
                  several unvetted kinds, and anything against the advice unless ``anyway``

    **Fails towards** refusing; what is recorded anyway stands under its warning and is never offered.
    """
    connection = open_ledger(home.ledger)
    try:
        book, methods = load_book(), load_methods()
        known = _known_lots(connection, book, day)
        made = []
        with writing(connection):
            for work in _works(connection, note, methods, day=day, book=book, known=known):
                made.append(_record(connection, note, work, day=day, book=book, known=known))
        return tuple(made)
    finally:
        connection.close()


def _known_lots(connection: Ledger, book: Book, day: date) -> dict[str, Lot]:
    """Lots of the day and stored ones, each with the verdict that stands now."""
    stored = kept_lots(connection)
    found = {e.find_id: e for e in evidence_of(connection, [lot.find_id or "" for lot in stored.values()])}
    known = {}
    for lot in stored.values():
        evidence = found.get(lot.find_id or "")
        if evidence is not None and lapsed(evidence, book.version) is None:
            known[lot.id] = replace(lot, state=evidence.state, verdict_id=evidence.verdict_id)
        else:
            known[lot.id] = lot
    today, _ = lots_of_day(connection, book, day)
    return {**{lot.id: lot for lot in today}, **known}


def _works(
    connection: Ledger,
    note: BatchNote,
    methods: Mapping[str, Method],
    *,
    day: date,
    book: Book,
    known: Mapping[str, Lot],
) -> Iterator[_Work]:
    if bool(note.tasks) == bool(note.method):
        raise UserMistake("nothing was named", expected="tasks of the plan, or --method with --lot")
    if note.method is not None:
        if note.method not in methods:
            raise UserMistake(f"there is no method {note.method!r}", expected="one of " + ", ".join(methods))
        if not note.lots:
            raise UserMistake("a batch of nothing", where="--lot", expected="at least one LOT=GRAMS")
        lots = tuple((_lot_meant(name, known, book, day), grams) for name, grams in note.lots)
        yield _Work(methods[note.method], lots, note.units)
        return
    planned = _last_plan(connection, day)
    for name in note.tasks:
        if name not in planned:
            raise UserMistake(
                f"the plan of {day} has no task {name!r}", expected=", ".join(planned) or "a plan"
            )
        task = planned[name]
        ends = [s["end"] for s in task["steps"] if any(u[0] == "tray" for u in s["uses"])]
        trays = [u[1] for s in task["steps"] for u in s["uses"] if u[0] == "tray"]
        low, high = task["product_g"]
        units = (task["containers"], (low + high) / 2 / task["containers"]) if task["containers"] else None
        yield _Work(
            methods[task["method_id"]],
            ((task["lot_id"], task["fresh_g"]),),
            note.units or units,
            datetime.fromisoformat(max(ends)) if ends else None,
            max(trays, default=0),
        )


def _lot_meant(name: str, known: Mapping[str, Lot], book: Book, day: date) -> str:
    """The lot that a person names: by its id, by its find, or by a kind of which the day has one lot only."""
    if name in known or f"lot-{name}" in known:
        return name if name in known else f"lot-{name}"
    of_day = {lot.id: lot for lot in known.values() if lot.picked_at.date() == day}
    kind = _kind_meant(name, book)
    meant = [lot for lot in of_day.values() if lot.taxon_id == kind]
    if len(meant) == 1:
        return meant[0].id
    choice = [
        f"{lot.id} ({book.common_name(lot.taxon_id)}, {weight(lot.fresh_g)})"
        for lot in meant or of_day.values()
    ]
    raise UserMistake(
        f"{len(meant)} lots of {day} are {name!r}" if meant else f"there is no lot {name} on {day}",
        where="--lot",
        expected=", ".join(choice) or "a find of the day",
    )


def _kind_meant(name: str, book: Book) -> str:
    try:
        return book.find(name).id
    except UserMistake:
        return "_".join(name.lower().split())


def _last_plan(connection: Ledger, day: date) -> dict[str, Any]:
    plan = last_plan(connection, day)
    return {task["id"]: task for task in plan["tasks"]} if plan else {}


def _record(
    connection: Ledger,
    note: BatchNote,
    work: _Work,
    *,
    day: date,
    book: Book,
    known: Mapping[str, Lot],
) -> MadeBatch:
    lots = _lots_of(work, known)
    pairs = [(lot, book.taxa.get(lot.taxon_id)) for lot in lots]
    against = against_advice(pairs, work.method, stands=note.stands)
    if against and not note.anyway:
        raise UserMistake(
            "this is against the advice: " + "; ".join(against),
            remedy="do not keep it as food; to have it on record under its warning, add --anyway",
        )
    for lot in lots:
        store_lot(connection, lot)
        if note.specimen and lot.find_id:
            store_specimen(connection, lot.find_id, note.specimen, day)
    batch = Batch(
        id=next_batch_id(connection, day),
        method_id=work.method.id,
        made_on=day,
        book_version=book.version,
        lots=work.lots,
        against_advice=against,
        ready_at=work.ready_at,
        trays=work.trays,
        note=note.note,
        weighed=note.units is not None,
    )
    cautions = _cautions(work, pairs, against)
    jars = tuple(_jars(batch, work, note, cautions))
    store_batch(connection, batch, jars)
    return MadeBatch(batch, work.method.name, jars, cautions, any(lot.shop for lot in lots))


def _lots_of(work: _Work, known: Mapping[str, Lot]) -> list[Lot]:
    missing = [name for name, _ in work.lots if name not in known]
    if missing:
        raise UserMistake(
            f"there is no lot {', '.join(missing)}", expected=", ".join(sorted(known)) or "a find of the day"
        )
    lots = [known[name] for name, _ in work.lots]
    kinds = {lot.taxon_id for lot in lots}
    if len(kinds) > 1 and any(lot.state not in ("consistent", "confirmed") for lot in lots):
        raise UserMistake(
            f"a batch of {len(kinds)} kinds, not all of them vetted: {', '.join(sorted(kinds))}",
            expected="one kind a batch, or kinds that all stand as 'consistent' or 'confirmed'",
            remedy="keep them apart: mixed, nobody can say later what was eaten",
        )
    return lots


def _cautions(work: _Work, pairs: Sequence[tuple[Lot, Any]], against: tuple[str, ...]) -> tuple[str, ...]:
    words = [AGAINST_ADVICE] if against else []
    words += [BOUGHT_CAUTION for lot, _ in pairs if lot.shop][:1]
    for _, taxon in pairs:
        words += travelling(work.method, taxon, known=False, alcohol=alcohol_caution, against_advice=against)
    return tuple(dict.fromkeys(words))


def _jars(batch: Batch, work: _Work, note: BatchNote, cautions: tuple[str, ...]) -> Iterator[Jar]:
    if work.units is None:
        if work.method.outcome == "keep":
            raise UserMistake(
                "jars of nothing", where="--units", expected="how many and grams in each, such as 5x300"
            )
        return
    count, grams = work.units
    if not 1 <= count <= 500 or not 0.0 < grams <= 20_000.0:
        raise UserMistake(
            f"{count} × {grams:g} g", where="--units", expected="1 to 500 units of more than 0 g each"
        )
    packing = work.method.packing
    place = note.stands or work.method.product_stands
    for number in range(1, count + 1):
        code = f"{batch.id}-{number:02d}"
        yield Jar(
            id=code,
            batch_id=batch.id,
            code=code,
            container=packing.container if packing else "dish",
            net_g=round(grams, 1),
            made_on=batch.made_on,
            use_by=None if batch.against_advice else use_by(work.method, batch.made_on, place),
            stands=place,
            cautions=cautions,
        )
