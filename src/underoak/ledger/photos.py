"""Photos of finds: which file shows which find. The files themselves lie in the home's folder."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from underoak.ledger.connection import Ledger


@dataclass(frozen=True, slots=True)
class Photo:
    """One picture of one find. ``file`` is a name in the folder photos, ``sha256`` that of its bytes."""

    sha256: str
    find_id: str
    file: str
    shows: str
    taken_on: date | None
    added_on: date


def store_photo(connection: Ledger, photo: Photo) -> None:
    """Store a photo inside the caller's transaction; the same picture of the same find is kept once."""
    connection.execute(
        "INSERT INTO photo (sha256, find_id, file, shows, taken_on, added_on) VALUES (?, ?, ?, ?, ?, ?) "
        "ON CONFLICT (sha256, find_id) DO NOTHING",
        (
            photo.sha256,
            photo.find_id,
            photo.file,
            photo.shows,
            photo.taken_on.isoformat() if photo.taken_on else None,
            photo.added_on.isoformat(),
        ),
    )


def photos(connection: Ledger, find_id: str | None = None) -> list[Photo]:
    """All photos, or those of one find, by day, file and find."""
    where, values = ("WHERE find_id = ? ", (find_id,)) if find_id else ("", ())
    rows = connection.execute(
        "SELECT sha256, find_id, file, shows, taken_on, added_on FROM photo "  # noqa: S608 - own constants
        f"{where}ORDER BY coalesce(taken_on, added_on), file, find_id",
        values,
    )
    return [
        Photo(
            row["sha256"],
            row["find_id"],
            row["file"],
            row["shows"],
            date.fromisoformat(row["taken_on"]) if row["taken_on"] else None,
            date.fromisoformat(row["added_on"]),
        )
        for row in rows
    ]
