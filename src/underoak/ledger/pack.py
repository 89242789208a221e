"""Entries of telephones: only ever added."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable

from pydantic import TypeAdapter

from underoak.ledger.connection import Ledger
from underoak.model.pack import Entry, Noted, PackHead
from underoak.model.visits import Find

_ENTRY: TypeAdapter[Entry] = TypeAdapter(Entry)


def store_noted(connection: Ledger, noted: Iterable[Noted]) -> list[Noted]:
    """Add entries inside the caller's transaction and hand back those that were not there before."""
    fresh = []
    for one in noted:
        document = one.entry.model_dump_json()
        digest = hashlib.sha256(f"{one.device}\n{document}".encode()).hexdigest()
        head = one.pack.model_dump_json()
        cursor = connection.execute(
            "INSERT INTO pack_entry VALUES (?, ?, ?, ?, ?, ?, ?) ON CONFLICT DO NOTHING",
            (one.pack.id, one.entry.id, digest, one.device, one.entry.about, head, document),
        )
        if cursor.rowcount:
            fresh.append(one)
    return fresh


def correct_find(connection: Ledger, find: Find) -> None:
    """Give a stored find another name, spot or amount; its verdicts stay, under the old name."""
    connection.execute(
        "UPDATE find SET spot_id = ?, taxon_id = ?, stage = ?, bodies = ?, fresh_g = ?, note = ? "
        "WHERE id = ?",
        (find.spot_id, find.taxon_id, find.stage, find.bodies, find.fresh_g, find.note, find.id),
    )


def noted_entries(connection: Ledger, pack_id: str | None = None) -> list[Noted]:
    """All entries, or those of one pack, in the order in which they were loaded."""
    where, values = ("WHERE pack_id = ? ", (pack_id,)) if pack_id else ("", ())
    rows = connection.execute(
        f"SELECT head, device, document FROM pack_entry {where}ORDER BY rowid",  # noqa: S608 - own constants
        values,
    )
    return [
        Noted(
            PackHead.model_validate_json(row["head"], strict=True),
            row["device"],
            _ENTRY.validate_json(row["document"], strict=True),
        )
        for row in rows
    ]
