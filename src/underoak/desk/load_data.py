"""Take in outside files: all or nothing, twice is once, and every problem is told."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from underoak.desk.load_kinds import KINDS, Context, Options
from underoak.errors import BadData, UserMistake
from underoak.intake.reading import Reading, read_bytes
from underoak.ledger.catalog import tables
from underoak.ledger.connection import Ledger
from underoak.ledger.database import open_ledger, open_to_read, writing
from underoak.ledger.places import places, spots
from underoak.model.problem import Problem
from underoak.settings import Home

if TYPE_CHECKING:
    from underoak.model.pack import Noted


@dataclass(frozen=True, slots=True)
class Loaded:
    """What became of one file. ``stored`` counts rows that were new or changed."""

    file: str
    kind: str
    sha256: str
    known_before: bool
    stored: int
    understood: tuple[str, ...]
    problems: tuple[Problem, ...]


@dataclass(frozen=True, slots=True)
class ReadFile:
    """One file as it was read, before anything is stored."""

    path: Path
    sha256: str
    known_before: bool
    reading: Reading[Any]


def read_files(
    home: Home, kind: str, files: Sequence[Path], *, options: Options, today: date
) -> list[ReadFile]:
    """Read the files without storing anything.

    Raises
    ------
    UserMistake   for a kind that does not exist
    BadData       when one of the files cannot be read at all
    """
    if kind not in KINDS:
        raise UserMistake(f"{kind!r} is no kind of file", expected="one of " + ", ".join(KINDS))
    context, known = _context(home, options, today)
    read = []
    problems: list[Problem] = []
    for path in files:
        try:
            digest = hashlib.sha256(f"{kind}{options.mark()}\0".encode() + read_bytes(path)).hexdigest()
            before = digest in known and not KINDS[kind].repeats
            reading = KINDS[kind].read(path, context)
            context = KINDS[kind].after(context, reading.records)
            read.append(ReadFile(path, digest, before, reading))
        except BadData as error:
            problems += error.problems
    if problems:
        raise BadData([*(problem for file in read for problem in file.reading.problems), *problems])
    return read


def _context(home: Home, options: Options, today: date) -> tuple[Context, set[str]]:
    """What readers may know of the ledger; the ledger is opened for reading only."""
    connection = open_to_read(home.ledger)
    try:
        where = home.settings.where
        context = Context(
            home=(where.longitude_deg, where.latitude_deg),
            places=tuple(places(connection)),
            spots=tuple(spots(connection)),
            pack_entries=_pack_entries(connection),
            today=today,
            timezone=where.timezone,
            options=options,
        )
        known = {row[0] for row in connection.execute("SELECT id FROM source_file WHERE partial = 0")}
    finally:
        connection.close()
    return context, known


def _pack_entries(connection: Ledger) -> tuple[Noted, ...]:
    """What telephones noted before; nothing in a ledger that is older than their table."""
    from underoak.ledger.pack import noted_entries

    return tuple(noted_entries(connection)) if "pack_entry" in tables(connection) else ()


def store_files(
    home: Home, kind: str, read: Sequence[ReadFile], *, accept_good: bool, today: date
) -> tuple[Loaded, ...]:
    """Store what was read, in one transaction for all files.

    A file that was loaded whole before is not stored again.

    Raises
    ------
    BadData   with every problem of every file, unless ``accept_good``; then nothing is stored
    """
    problems = [problem for file in read for problem in file.reading.problems]
    if problems and not accept_good:
        raise BadData(problems)
    connection = open_ledger(home.ledger)
    try:
        with writing(connection):
            return tuple(_store(connection, kind, file, today) for file in read)
    finally:
        connection.close()


def _store(connection: Ledger, kind: str, file: ReadFile, today: date) -> Loaded:
    stored = 0
    if not file.known_before:
        stored = KINDS[kind].store(connection, file.reading.records)
        connection.execute(
            "INSERT INTO source_file VALUES (?, ?, ?, ?, ?, ?) "
            "ON CONFLICT (id) DO UPDATE SET records = excluded.records, partial = excluded.partial",
            (file.sha256, kind, file.path.name, today.isoformat(), stored, bool(file.reading.problems)),
        )
    return Loaded(
        file=file.path.name,
        kind=kind,
        sha256=file.sha256,
        known_before=file.known_before,
        stored=stored,
        understood=file.reading.understood,
        problems=file.reading.problems,
    )
