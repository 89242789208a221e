"""Whether anything was stored since one last looked, without reading it."""

from __future__ import annotations

from collections.abc import Hashable
from contextlib import closing
from pathlib import Path

from underoak.ledger.database import open_to_read
from underoak.model.club import ClubAddress


def stamp(ledger: Path | ClubAddress) -> Hashable:
    """What is another one after every commit.

    A ledger file and its write-ahead log change in size or time; a club's ledger counts its transactions.
    """
    if isinstance(ledger, ClubAddress):
        with closing(open_to_read(ledger)) as connection:
            return int(connection.execute("SELECT changes FROM ledger_state").fetchone()[0])
    parts = []
    for path in (ledger, ledger.with_name(ledger.name + "-wal")):
        try:
            found = path.stat()
            parts.append((found.st_mtime_ns, found.st_size))
        except OSError:
            parts.append((0, 0))
    return tuple(parts)
