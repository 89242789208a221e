"""A small ledger with a row in every table: where a table is empty, nothing in it can be spoilt."""

from __future__ import annotations

import hashlib
import json
import sqlite3
import zlib
from contextlib import closing

from underoak.ledger.database import open_ledger, writing
from underoak.settings import Home

_RING = json.dumps([[[[-74.51, 41.5], [-74.5, 41.5], [-74.5, 41.51], [-74.51, 41.5]]]])
_HEAD = json.dumps({"id": "0123456789ab", "place_id": "wood", "day": "2026-10-03", "book_version": "b"})
_WALK = json.dumps(
    {"id": "ada1-1", "number": 1, "at": "2026-10-03T09:00:00Z", "kind": "walk", "holder": "Ada", "people": []}
)
_DIGEST = "ab" * 32
_WALK_DIGEST = hashlib.sha256(f"ada1\n{_WALK}".encode()).hexdigest()

#: Rows by table, in an order in which each finds what it refers to.
ROWS: dict[str, tuple[object, ...]] = {
    "source_file": (_DIGEST, "visits", "a.csv", "2026-10-03", 3, 0),
    "station": ("st", "Station", 41.5, -74.5, 200.0),
    "weather_day": ("st", "2026-10-03", 0, 1.5, 3.0, 12.0, 2.0, 1.0, 9.0),
    "car_park": ("car", "Car park", -74.5, 41.5),
    "trail": ("trail", "Ridge", "[[-74.5, 41.5], [-74.51, 41.51]]", "[200.0, 210.0]", "", 0, 0),
    "tree": ("tree", -74.5, 41.5, "Quercus alba", "oak", 60.0, "living"),
    "host_patch": ("patch", "Oaks", _RING, "oak", 30.0),
    "terrain": ("grid", "Grid", -74.6, 41.6, 0.01, 0.01, 1, 2, zlib.compress(b"\0\0\x80?\0\0\0@")),
    "report": ("r1", "2025-10-03", "Grifola frondosa", "grifola_frondosa", -74.5, 41.5, 100.0, 1, "a.csv"),
    "photo": (_DIGEST, "f1", f"{_DIGEST[:20]}.jpg", "pores", "2026-10-03", "2026-10-04"),
    "lot": ("f1", "f1", "grifola_frondosa", None, 1500.0, "2026-10-03", "2026-10-03T10:00:00",
            "[[2.0, 15.0]]", "some"),
    "batch": ("261003-1", "freeze", "2026-10-03", "b",
              json.dumps({"ready_at": None, "trays": 0, "note": "", "weighed": True}), '["raw"]'),
    "batch_lot": ("261003-1", "f1", 400.0),
    "bought": ("bought-1", "pleurotus_ostreatus_group", "Invented Market", 800.0, "2026-10-03",
               "2026-10-03T12:00:00"),
    "batch_bought": ("261003-1", "bought-1", 300.0),
    "jar": ("261003-1-01", "261003-1", "261003-1-01", "freezer_bag", 300.0, "2026-10-03", "2027-10-03",
            "kept", None, '["Never raw."]', "freezer", ""),
    "serving": ("e1", "2026-10-05T18:00", "Ada", "grifola_frondosa", "261003-1-01", "261003-1", 80.0, 1, "",
                None, ""),
    "specimen": ("f1", "refrigerator", "2026-10-03"),
    "answer": ("a1", "week", "2026-10-03", "2026-10-04", "b", "{}", "{}"),
    "learned": ("l1", "grifola_frondosa", "2026-10-03", "b", "{}"),
    "judgement": ("j1", "2026-10-03", "b", "{}"),
    "pack_entry": ("0123456789ab", "ada1-1", _WALK_DIGEST, "ada1", "walk:ada1", _HEAD, _WALK),
}  # fmt: skip


def full_ledger(home: Home) -> None:
    """Fill every table of an invented home that has a find ``f1``."""
    with closing(open_ledger(home.ledger_path)) as connection, writing(connection):
        for table, row in ROWS.items():
            _insert(connection, table, row)


def _insert(connection: sqlite3.Connection, table: str, row: tuple[object, ...]) -> None:
    columns = len(connection.execute(f"PRAGMA table_info({table})").fetchall())
    cells = (*row, *(None,) * (columns - len(row)))
    connection.execute(f"INSERT INTO {table} VALUES ({', '.join('?' * columns)})", cells)  # noqa: S608
