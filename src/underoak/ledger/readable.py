"""Whether every record of a ledger can be read back, and whether those that prove themselves still do."""

from __future__ import annotations

import hashlib
import json
import math
import re
import sqlite3
from collections.abc import Callable
from typing import Any

from underoak.ledger.evidence import specimens
from underoak.ledger.ground import host_patches, terrains, trails, trees
from underoak.ledger.pack import noted_entries
from underoak.ledger.pantry import batches, jars, kept_lots
from underoak.ledger.photos import photos
from underoak.ledger.places import car_parks, places, spots
from underoak.ledger.reports import reports
from underoak.ledger.servings import servings
from underoak.ledger.verdicts import verdicts_of
from underoak.ledger.visits import visits
from underoak.ledger.weather import stations
from underoak.model.quantities import said

#: Photos lie in one folder of the home, under names made of their content.
PHOTO_NAME = re.compile(r"[0-9a-f]{20}\.(jpg|png|webp)")
_NOT_READ = (ValueError, TypeError, KeyError, IndexError, AttributeError, RecursionError, OverflowError)


def unreadable_records(connection: sqlite3.Connection) -> list[str]:
    """What in a ledger of the newest schema cannot be read back, in words by kind of record.

    Everything is read by the functions that every command uses, so that a record which would stop a command
    later is told here. Days, lists of names and outlines are looked at besides.
    """
    faults = [words for name, read in _READERS.items() if (words := _read(connection, name, read))]
    return faults + _bad_days(connection) + _bad_lists(connection) + _bad_outlines(connection)


def unproven_records(connection: sqlite3.Connection) -> list[str]:
    """Records that are not what their own id or sum says, and photos under a name that leads elsewhere."""
    verdicts = [row[0] for row in connection.execute(_VERDICTS) if _verdict_id(row) != row[0]]
    entries = [row[0] for row in connection.execute(_ENTRIES) if _entry_digest(row) != row[1]]
    names = [
        row[0] for row in connection.execute("SELECT file FROM photo") if not PHOTO_NAME.fullmatch(row[0])
    ]
    return [
        *_told(verdicts, "verdict is not what was once stored", "verdicts are not what was once stored"),
        *_told(
            entries,
            "entry of a telephone is not what was once stored",
            "entries of telephones are not what was once stored",
        ),
        *_told(
            names,
            "photo stands under a name that no photo of a home has",
            "photos stand under names that no photo of a home has",
        ),
    ]


_VERDICTS = "SELECT id, find_id, given_on, observations, answer FROM verdict"
_ENTRIES = "SELECT id, digest, device, document FROM pack_entry"


def _verdict_id(row: Any) -> str:
    """As `underoak.ledger.verdicts.store_verdict` makes it."""
    return hashlib.sha256("\n".join(row[1:5]).encode()).hexdigest()[:24]


def _entry_digest(row: Any) -> str:
    """As `underoak.ledger.pack.store_noted` makes it."""
    return hashlib.sha256(f"{row[2]}\n{row[3]}".encode()).hexdigest()


def _told(which: list[str], one: str, many: str) -> list[str]:
    return [f"{said(len(which), one, many)}, such as {which[0]!r:.60}"] if which else []


def _verdicts(connection: sqlite3.Connection) -> None:
    for (find_id,) in connection.execute("SELECT DISTINCT find_id FROM verdict").fetchall():
        verdicts_of(connection, find_id)


_READERS: dict[str, Callable[[sqlite3.Connection], Any]] = {
    "stations": stations,
    "woods": places,
    "car parks": car_parks,
    "spots": spots,
    "trails": trails,
    "trees": trees,
    "host patches": host_patches,
    "elevation grids": terrains,
    "visits": visits,
    "reports": reports,
    "verdicts": _verdicts,
    "lots": kept_lots,
    "batches": batches,
    "jars": jars,
    "servings": servings,
    "specimens": specimens,
    "photos": photos,
    "entries of telephones": noted_entries,
}


def _read(connection: sqlite3.Connection, name: str, read: Callable[[sqlite3.Connection], Any]) -> str:
    try:
        read(connection)
    except _NOT_READ as error:
        reason = (str(error).splitlines() or [type(error).__name__])[0]
        return f"a record of the {name} cannot be read: {reason:.120}"
    return ""


_DAYS = {
    "visit": ("day",),
    "weather_day": ("day",),
    "report": ("day",),
    "verdict": ("given_on",),
    "lot": ("picked_on",),
    "bought": ("bought_on",),
    "batch": ("made_on",),
    "jar": ("made_on", "use_by", "state_on"),
    "photo": ("taken_on", "added_on"),
    "answer": ("made_on", "for_day"),
    "learned": ("made_on",),
    "judgement": ("made_on",),
    "source_file": ("loaded_on",),
    "specimen": ("kept_on",),
    "place": ("permission_checked_on", "permission_expires_on"),
}


def _bad_days(connection: sqlite3.Connection) -> list[str]:
    """Days that no calendar has."""
    faults = []
    for table, columns in _DAYS.items():
        for column in columns:
            (count,) = connection.execute(
                f"SELECT count(*) FROM {table} WHERE date({column}) IS NOT {column} OR {column} < '0001'"  # noqa: S608
            ).fetchone()
            if count:
                faults.append(
                    said(count, f"row of {table} holds", f"rows of {table} hold") + f" no day in {column}"
                )
    return faults


_LISTS = (("visit", "people"), ("batch", "against_advice"), ("jar", "cautions"))


def _bad_lists(connection: sqlite3.Connection) -> list[str]:
    """Lists of names or sentences that hold something else."""
    return [
        f"a row of {table} holds no list of words in {column}"
        for table, column in _LISTS
        if not all(_is_list(row[0]) for row in connection.execute(f"SELECT {column} FROM {table}"))  # noqa: S608
    ]


def _is_list(text: str) -> bool:
    document = json.loads(text)
    return isinstance(document, list) and all(isinstance(item, str) for item in document)


_OUTLINES = (("place", "polygons", 3), ("host_patch", "polygons", 3), ("trail", "points", 1))


def _bad_outlines(connection: sqlite3.Connection) -> list[str]:
    """Outlines and paths that are no degrees."""
    return [
        f"a row of {table} holds no places in {column}"
        for table, column, depth in _OUTLINES
        if not all(
            _is_outline(json.loads(row[0]), depth)
            for row in connection.execute(f"SELECT {column} FROM {table}")  # noqa: S608
        )
    ]


def _is_outline(document: Any, depth: int) -> bool:
    if not isinstance(document, list):
        return False
    if depth:
        return all(_is_outline(part, depth - 1) for part in document)
    numbers = [part for part in document if isinstance(part, int | float) and not isinstance(part, bool)]
    return len(numbers) == len(document) == 2 and all(
        math.isfinite(part) and abs(part) <= most for part, most in zip(numbers, (180.0, 90.0), strict=True)
    )
