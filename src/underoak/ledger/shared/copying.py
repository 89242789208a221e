"""A club's ledger as a file: what a backup holds, and what is joined into another ledger."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path

from underoak.ledger.catalog import columns_and_key, defer_references, tables
from underoak.ledger.database import open_ledger, writing
from underoak.ledger.shared.session import SharedLedger
from underoak.model.club import ClubAddress


def copy_shared(address: ClubAddress, target: Path) -> None:
    """Write a ledger file with every record of a club's ledger, all of one moment.

    Raises
    ------
    NoAnswer      when the club's ledger cannot be read
    """
    with closing(open_ledger(address)) as club, closing(open_ledger(target, create=True)) as file:
        with club.snapshot(), writing(file):
            defer_references(file)
            for table in tables(file):
                names, _ = columns_and_key(file, table)
                columns, marks = ", ".join(names), ", ".join("?" * len(names))
                # What a trigger of the file has written already stays as it is.
                file.executemany(
                    f"INSERT INTO {table} ({columns}) VALUES ({marks}) ON CONFLICT DO NOTHING",  # noqa: S608
                    (tuple(row) for row in club.execute(_all_of(club, table, columns))),
                )
        file.execute("PRAGMA journal_mode = DELETE")


def _all_of(club: SharedLedger, table: str, columns: str) -> str:
    """Every row of a table in the order of insertion; by key where none is kept, as in a file."""
    counted = club.execute(
        "SELECT 1 FROM pg_attribute WHERE attrelid = to_regclass(?) AND attname = 'rowid'", (table,)
    ).fetchone()
    order = "rowid" if counted else ", ".join(columns_and_key(club, table)[1])
    return f"SELECT {columns} FROM {table} ORDER BY {order}"  # noqa: S608 - own schema
