"""The way back from a jar, and forward from a find, in the ledger."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import date

from underoak.errors import UserMistake
from underoak.ledger.codes import batch_meant
from underoak.ledger.connection import Ledger
from underoak.ledger.evidence import FindEvidence, evidence_of, specimens
from underoak.ledger.pantry import batches, batches_with, jar_by_code, jars, kept_lots
from underoak.ledger.servings import Serving, servings_of
from underoak.model.kitchen import Batch, Jar


@dataclass(frozen=True, slots=True)
class DayWeather:
    """What a station knows of one day."""

    station: str
    rain_mm: float | None
    tmin_c: float | None
    tmax_c: float | None


@dataclass(frozen=True, slots=True)
class Origin:
    """Where one lot of a batch comes from: a find with its evidence, or a shop where ``evidence`` is None."""

    lot_id: str
    grams: float
    taxon_id: str
    day: date
    evidence: FindEvidence | None
    place: str
    spot: str = ""
    tree: str = ""
    people: tuple[str, ...] = ()
    weather: tuple[DayWeather, ...] = ()
    specimens: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Trace:
    """A jar (or a batch eaten fresh) with everything behind it, and everybody who ate of it."""

    jar: Jar | None
    batch: Batch
    origins: tuple[Origin, ...]
    eaten: tuple[Serving, ...]


@dataclass(frozen=True, slots=True)
class Recall:
    """Everything that holds a find, lot or batch: batches, units wherever they are, and who ate of them."""

    of: str
    batches: tuple[Batch, ...]
    jars: tuple[Jar, ...]
    eaten: tuple[Serving, ...]


def trace_jar(connection: Ledger, code: str) -> Trace:
    """From a jar's code to batch, lots, finds, verdicts, tree, place, day, weather and people."""
    jar = jar_by_code(connection, code)
    return _trace(connection, batches(connection, [jar.batch_id])[jar.batch_id], jar)


def trace_batch(connection: Ledger, batch_id: str) -> Trace:
    """The same for a whole batch, which may have been eaten fresh and fill no jar."""
    meant = batch_meant(connection, batch_id)
    if meant is None:
        last = connection.execute("SELECT id FROM batch ORDER BY made_on DESC, id DESC LIMIT 5")
        known = ", ".join(row[0] for row in last.fetchall()[::-1])
        raise UserMistake(f"there is no batch {batch_id!r}", expected=known or "one that was made")
    return _trace(connection, batches(connection, [meant])[meant], None)


def _trace(connection: Ledger, batch: Batch, jar: Jar | None) -> Trace:
    lots = kept_lots(connection, [lot_id for lot_id, _ in batch.lots])
    finds = [lot.find_id for lot in lots.values() if lot.find_id]
    told = {evidence.find_id: evidence for evidence in evidence_of(connection, finds)}
    kept = specimens(connection, finds)
    origins = []
    for lot_id, grams in batch.lots:
        lot = lots[lot_id]
        if lot.shop:
            origins.append(Origin(lot_id, grams, lot.taxon_id, lot.picked_at.date(), None, lot.shop))
            continue
        evidence = told[lot.find_id or ""]
        origins.append(_origin(connection, lot_id, grams, evidence, kept.get(evidence.find_id, ())))
    eaten = servings_of(connection, batch_ids=[batch.id], jar_ids=[jar.id] if jar else [])
    return Trace(jar, batch, tuple(origins), eaten)


def _origin(
    connection: Ledger, lot_id: str, grams: float, evidence: FindEvidence, kept: tuple[str, ...]
) -> Origin:
    row = connection.execute(
        "SELECT p.name AS place, s.name AS spot, s.host_group, s.diameter_cm, t.species_text, v.people "
        "FROM visit v JOIN place p ON p.id = v.place_id JOIN spot s ON s.id = ? "
        "LEFT JOIN tree t ON t.id = s.tree_id WHERE v.id = ?",
        (evidence.spot_id, evidence.visit_id),
    ).fetchone()
    tree = row["species_text"] or row["host_group"].replace("_", " ")
    if row["diameter_cm"]:
        tree += f", {row['diameter_cm']:.0f} cm"
    return Origin(
        lot_id=lot_id,
        grams=grams,
        taxon_id=evidence.taxon_id,
        day=evidence.day,
        evidence=evidence,
        place=row["place"],
        spot=row["spot"],
        tree=tree,
        people=tuple(json.loads(row["people"])),
        weather=_weather(connection, evidence.day),
        specimens=kept,
    )


def _weather(connection: Ledger, day: date) -> tuple[DayWeather, ...]:
    rows = connection.execute(
        "SELECT s.name, w.rain_mm, w.tmin_c, w.tmax_c "
        "FROM weather_day w JOIN station s ON s.id = w.station_id "
        "WHERE w.day = ? AND w.forecast = 0 ORDER BY s.name",
        (day.isoformat(),),
    )
    return tuple(DayWeather(*row) for row in rows)


def recall(connection: Ledger, *, kind: str, name: str) -> Recall:
    """Everything that holds a find, a lot or a batch (``kind``), wherever it is now.

    **Fails towards** more: every unit of every batch that took any of it.
    """
    name = (batch_meant(connection, name) or name) if kind == "batch" else name
    ids = batches_with(connection, _lots_named(connection, kind, name))
    if kind == "batch":
        ids.add(name)
    held = tuple(batches(connection, ids).values())
    units = jars(connection, batch_ids=ids)
    eaten = servings_of(connection, batch_ids=ids, jar_ids=[jar.id for jar in units])
    return Recall(f"{kind} {name}", held, units, eaten)


def _lots_named(connection: Ledger, kind: str, name: str) -> list[str]:
    question = {
        "find": ("SELECT id FROM find WHERE id = ?", "SELECT id FROM lot WHERE find_id = ?"),
        "lot": ("SELECT id FROM any_lot WHERE id = ?", "SELECT id FROM any_lot WHERE id = ?"),
        "batch": (
            "SELECT id FROM batch WHERE id = ?",
            "SELECT lot_id FROM batch_lot WHERE 1 = 0 AND batch_id = ?",
        ),
    }[kind]
    if connection.execute(question[0], (name,)).fetchone() is None:
        raise UserMistake(f"there is no {kind} {name!r}", remedy="take the name from 'underoak trace CODE'")
    return [row[0] for row in connection.execute(question[1], (name,))]
