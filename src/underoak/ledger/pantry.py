"""Lots, batches and jars in the ledger."""

from __future__ import annotations

import json
from collections.abc import Collection, Iterable, Mapping
from datetime import date, datetime

from underoak.errors import UserMistake
from underoak.ledger.chosen import chosen
from underoak.ledger.codes import jar_meant
from underoak.ledger.connection import Ledger, Row
from underoak.model.kitchen import Batch, Jar, JarState, Keeping, Lot

_JAR = "id, batch_id, code, container, net_g, made_on, use_by, stands, cautions, state, state_on, state_note"


def store_lot(connection: Ledger, lot: Lot) -> None:
    """Store a lot that came from a find; a lot already there keeps its first record but for its verdict.

    A bought lot was stored when it was bought.
    """
    if lot.shop:
        return
    if lot.find_id is None:
        raise UserMistake(
            f"lot {lot.id} comes from no find",
            expected="a lot made from a find of the ledger, to be traced",
            remedy="write bought mushrooms down with 'underoak kitchen bought'",
        )
    connection.execute(
        "INSERT INTO lot (id, find_id, taxon_id, verdict_id, fresh_g, picked_on, picked_at, kept, dirt) "
        "VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?) "
        "ON CONFLICT (id) DO UPDATE SET verdict_id = coalesce(excluded.verdict_id, lot.verdict_id), "
        "fresh_g = CASE WHEN excluded.fresh_g > lot.fresh_g THEN excluded.fresh_g ELSE lot.fresh_g END",
        (
            lot.id,
            lot.find_id,
            lot.taxon_id,
            lot.verdict_id,
            lot.fresh_g,
            lot.picked_at.date().isoformat(),
            lot.picked_at.isoformat(),
            json.dumps([[k.hours, k.temperature_c] for k in lot.kept]),
            lot.dirt,
        ),
    )


def kept_lots(connection: Ledger, ids: Collection[str] | None = None) -> dict[str, Lot]:
    """Stored lots by id, without verdict state (a verdict may have lapsed; ask for it anew).

    All of them, or those of these ids.
    """
    columns = (
        "SELECT id, taxon_id, fresh_g, picked_on, picked_at, find_id, verdict_id, kept, dirt, shop "
        "FROM any_lot "
    )
    if ids is None:
        rows: Iterable[Row] = connection.execute(columns + "ORDER BY id")
    else:
        rows = chosen(connection, columns + "WHERE id IN (…) ORDER BY id", ids)
    return {
        row["id"]: Lot(
            id=row["id"],
            taxon_id=row["taxon_id"],
            state=None,
            fresh_g=row["fresh_g"],
            picked_at=datetime.fromisoformat(row["picked_at"] or row["picked_on"]),
            find_id=row["find_id"],
            verdict_id=row["verdict_id"],
            kept=tuple(Keeping(*pair) for pair in json.loads(row["kept"])),
            dirt=row["dirt"],
            cultivated=bool(row["shop"]),
            shop=row["shop"] or "",
        )
        for row in rows
    }


def used_g(connection: Ledger) -> dict[str, float]:
    """Fresh grams of each lot that batches have taken so far."""
    rows = connection.execute("SELECT lot_id, sum(fresh_g) FROM any_batch_lot GROUP BY lot_id")
    return {row[0]: row[1] for row in rows}


def store_batch(connection: Ledger, batch: Batch, jars: Iterable[Jar]) -> None:
    """Store a batch with its lots and jars inside the caller's transaction.

    Raises
    ------
    UserMistake   for a batch of no lots, and when a lot would give more than it weighed
    """
    if not batch.lots:
        raise UserMistake("a batch of nothing", expected="at least one lot with its grams")
    document = {
        "ready_at": batch.ready_at.isoformat() if batch.ready_at else None,
        "trays": batch.trays,
        "note": batch.note,
        "weighed": batch.weighed,
    }
    connection.execute(
        "INSERT INTO batch (id, method_id, made_on, book_version, document, against_advice) "
        "VALUES (?, ?, ?, ?, ?, ?)",
        (
            batch.id,
            batch.method_id,
            batch.made_on.isoformat(),
            batch.book_version,
            json.dumps(document),
            json.dumps(batch.against_advice, ensure_ascii=False),
        ),
    )
    used = used_g(connection)
    for lot_id, grams in batch.lots:
        bought = _check_enough(connection, lot_id, grams, used.get(lot_id, 0.0))
        table = "batch_bought" if bought else "batch_lot"
        connection.execute(f"INSERT INTO {table} VALUES (?, ?, ?)", (batch.id, lot_id, grams))  # noqa: S608
    for jar in jars:
        _store_jar(connection, jar)


def _check_enough(connection: Ledger, lot_id: str, grams: float, used: float) -> bool:
    """Whether the lot was bought, once it is known that so much of it is left."""
    row = connection.execute("SELECT fresh_g, shop FROM any_lot WHERE id = ?", (lot_id,)).fetchone()
    if row is None:
        raise UserMistake(f"there is no lot {lot_id}", remedy="see 'underoak kitchen' for the lots")
    if grams <= 0.0:
        raise UserMistake(f"{grams:g} g of lot {lot_id}", expected="more than 0 g")
    if grams + used > row["fresh_g"] + 1.0:
        raise UserMistake(
            f"{grams:g} g of lot {lot_id}, of which {row['fresh_g'] - used:g} g are left",
            expected="no more than is left",
            remedy="mend the grams, or weigh the find again",
        )
    return bool(row["shop"])


def _store_jar(connection: Ledger, jar: Jar) -> None:
    connection.execute(
        f"INSERT INTO jar ({_JAR}) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",  # noqa: S608
        (
            jar.id,
            jar.batch_id,
            jar.code,
            jar.container,
            jar.net_g,
            jar.made_on.isoformat(),
            jar.use_by.isoformat() if jar.use_by else None,
            jar.stands,
            json.dumps(jar.cautions, ensure_ascii=False),
            jar.state,
            jar.state_on.isoformat() if jar.state_on else None,
            jar.state_note,
        ),
    )


def batches(connection: Ledger, ids: Collection[str] | None = None) -> dict[str, Batch]:
    """Batches by id with their lots, by the day they were made on: all of them, or those of these ids."""
    parts = "SELECT batch_id, lot_id, fresh_g FROM any_batch_lot {} ORDER BY batch_id, lot_id"
    heads = "SELECT id, method_id, made_on, book_version, document, against_advice FROM batch {} "
    if ids is None:
        taken: Iterable[Row] = connection.execute(parts.format(""))
        rows: Iterable[Row] = connection.execute(heads.format("") + "ORDER BY made_on, id")
    else:
        taken = chosen(connection, parts.format("WHERE batch_id IN (…)"), ids)
        found = chosen(connection, heads.format("WHERE id IN (…)"), ids)
        rows = sorted(found, key=lambda row: (row["made_on"], row["id"]))
    lots: dict[str, list[tuple[str, float]]] = {}
    for row in taken:
        lots.setdefault(row[0], []).append((row[1], row[2]))
    return {row["id"]: _batch(row, tuple(lots.get(row["id"], ()))) for row in rows}


def batches_with(connection: Ledger, lot_ids: Iterable[str]) -> set[str]:
    """Ids of the batches that took any of these lots."""
    return {
        row[0]
        for row in chosen(connection, "SELECT batch_id FROM any_batch_lot WHERE lot_id IN (…)", lot_ids)
    }


def _batch(row: Row, lots: tuple[tuple[str, float], ...]) -> Batch:
    document: Mapping[str, str | int | None] = json.loads(row["document"])
    ready = document.get("ready_at")
    return Batch(
        id=row["id"],
        method_id=row["method_id"],
        made_on=date.fromisoformat(row["made_on"]),
        book_version=row["book_version"],
        lots=lots,
        against_advice=tuple(json.loads(row["against_advice"])),
        ready_at=datetime.fromisoformat(str(ready)) if ready else None,
        trays=int(document.get("trays") or 0),
        note=str(document.get("note") or ""),
        weighed=bool(document.get("weighed")),
    )


def jars(connection: Ledger, *, batch_ids: Collection[str] | None = None) -> tuple[Jar, ...]:
    """Jars, the ones to use first at the front: all that were ever filled, or those of these batches."""
    columns = f"SELECT {_JAR} FROM jar "  # noqa: S608
    if batch_ids is None:
        rows = connection.execute(columns + "ORDER BY use_by IS NULL, use_by, made_on, code")
        return tuple(_jar(row) for row in rows)
    found = [_jar(row) for row in chosen(connection, columns + "WHERE batch_id IN (…)", batch_ids)]
    return tuple(sorted(found, key=lambda jar: (jar.use_by or date.max, jar.made_on, jar.code)))


def jars_of(connection: Ledger, codes: Iterable[str]) -> dict[str, Jar]:
    """Jars by their codes as they are stored; codes that are none are passed over."""
    rows = chosen(connection, f"SELECT {_JAR} FROM jar WHERE code IN (…)", codes)  # noqa: S608
    return {row["code"]: _jar(row) for row in rows}


def jar_by_code(connection: Ledger, code: str) -> Jar:
    """The jar with a code, upper or lower case, with the household's tag or without.

    Raises UserMistake, which names the nearest codes.
    """
    meant = jar_meant(connection, code)
    if meant is None:
        near = connection.execute(
            "SELECT code FROM jar WHERE lower(substr(code, 1, ?)) = lower(?) ORDER BY code LIMIT 5",
            (len(code[:10]), code[:10]),
        )
        known = ", ".join(r[0] for r in near)
        raise UserMistake(
            f"there is no jar {code!r}",
            expected=f"a code such as {known}" if known else "the code on a label",
        )
    return jars_of(connection, [meant])[meant]


def _jar(row: Row) -> Jar:
    return Jar(
        id=row["id"],
        batch_id=row["batch_id"],
        code=row["code"],
        container=row["container"],
        net_g=row["net_g"],
        made_on=date.fromisoformat(row["made_on"]),
        use_by=date.fromisoformat(row["use_by"]) if row["use_by"] else None,
        stands=row["stands"],
        cautions=tuple(json.loads(row["cautions"])),
        state=row["state"],
        state_on=date.fromisoformat(row["state_on"]) if row["state_on"] else None,
        state_note=row["state_note"],
    )


def set_jar_state(connection: Ledger, code: str, state: JarState, on: date, note: str = "") -> Jar:
    """Note what became of a jar; the jar as it stands then.

    Raises
    ------
    UserMistake   for an unknown code, or a day before the jar was filled
    """
    jar = jar_by_code(connection, code)
    if on < jar.made_on:
        raise UserMistake(
            f"jar {jar.code} was filled on {jar.made_on}, not yet on {on}", expected="a later day"
        )
    connection.execute(
        "UPDATE jar SET state = ?, state_on = ?, state_note = ? WHERE id = ?",
        (state, on.isoformat(), note, jar.id),
    )
    return jar_by_code(connection, code)
