"""Open, create and migrate the ledger; one transaction for each change."""

from __future__ import annotations

import os
import re
import sqlite3
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING, overload

from underoak.errors import NoAnswer, UserMistake
from underoak.ledger.connection import Ledger

if TYPE_CHECKING:
    from underoak.ledger.shared.session import SharedLedger
    from underoak.model.club import ClubAddress

_NAME = re.compile(r"(\d{4})_\w+\.sql$")


def migrations() -> list[tuple[int, str]]:
    """All schema steps as (version, SQL text), oldest first."""
    folder = resources.files("underoak.ledger") / "schema"
    steps = [(int(m[1]), f.read_text("utf-8")) for f in folder.iterdir() if (m := _NAME.match(f.name))]
    return sorted(steps)


@overload
def open_ledger(at: Path, *, create: bool = False) -> sqlite3.Connection: ...


@overload
def open_ledger(at: ClubAddress, *, create: bool = False) -> SharedLedger: ...


@overload
def open_ledger(at: Path | ClubAddress, *, create: bool = False) -> Ledger: ...


def open_ledger(at: Path | ClubAddress, *, create: bool = False) -> Ledger:
    """Connection to the ledger in a file or on a club's server, migrated to the newest schema.

    Every write needs `writing`.

    Raises
    ------
    UserMistake   when there is no ledger and ``create`` is false
    NoAnswer      when it is no whole ledger, was written by a newer program, or cannot be written now
    """
    if isinstance(at, Path):
        return _open_file(at, create=create)
    from underoak.ledger.shared.opening import open_shared

    return open_shared(at, create=create)


@overload
def open_to_read(at: Path) -> sqlite3.Connection: ...


@overload
def open_to_read(at: Path | ClubAddress) -> Ledger: ...


def open_to_read(at: Path | ClubAddress) -> Ledger:
    """Connection to a ledger as it is: nothing can be written through it, and no schema is changed.

    Raises sqlite3.Error for a file that is none, and what `open_ledger` raises for a club's server.
    """
    if isinstance(at, Path):
        connection = sqlite3.connect(f"{at.absolute().as_uri()}?mode=ro", uri=True, timeout=10.0)
        connection.row_factory = sqlite3.Row
        return connection
    from underoak.ledger.shared.opening import open_shared

    return open_shared(at, as_it_is=True)


def _open_file(path: Path, *, create: bool) -> sqlite3.Connection:
    """Connection to a ledger file.

    Foreign keys are on, journal is a write-ahead log. Before a migration the old file is copied beside itself
    as ``ledger.before-NNNN.sqlite3``.
    """
    if not create and not path.exists():
        raise UserMistake(
            f"there is no ledger at {path}",
            expected="a home made with 'underoak new DIR'",
            remedy="make one, or name it with --home",
        )
    try:
        connection = sqlite3.connect(path, isolation_level=None, timeout=10.0)
    except sqlite3.OperationalError as error:
        raise NoAnswer(
            f"{path} cannot be opened", remedy="check who may read and write the folder"
        ) from error
    connection.row_factory = sqlite3.Row
    try:
        connection.execute("PRAGMA foreign_keys = ON")
        version = int(connection.execute("PRAGMA user_version").fetchone()[0])
        _write_ahead(connection)
        connection.execute("PRAGMA cache_size = -65536")  # 64 MB: a million weather rows load at once
        _migrate(connection, path, version)
    except (sqlite3.DatabaseError, UnicodeDecodeError) as error:
        connection.close()
        if told := in_words(error):
            raise told from error
        raise NoAnswer(f"{path} is not a whole ledger: {error}", remedy="see 'underoak doctor'") from error
    except BaseException:
        connection.close()
        raise
    return connection


def _write_ahead(connection: sqlite3.Connection) -> None:
    """Keep a write-ahead log. SQLite does not wait by itself where another program is changing to it too."""
    for tries_left in range(100, -1, -1):
        try:
            connection.execute("PRAGMA journal_mode = WAL")
        except sqlite3.OperationalError as error:
            if error.sqlite_errorcode & 0xFF != sqlite3.SQLITE_BUSY or not tries_left:
                raise
            time.sleep(0.1)
        else:
            return


def _migrate(connection: sqlite3.Connection, path: Path, version: int) -> None:
    steps = migrations()
    newest = steps[-1][0]
    if version > newest:
        raise NoAnswer(
            f"{path} has schema {version}, this program knows up to {newest}", remedy="update underoak"
        )
    if version == 0 and connection.execute("SELECT 1 FROM sqlite_master").fetchone():
        raise NoAnswer(f"{path} holds something else than a ledger", remedy="name another home")
    if 0 < version < newest:
        _copy_aside(connection, path.with_name(f"{path.stem}.before-{newest:04d}{path.suffix}"))
    for number, text in steps:
        if number > version:
            _step(connection, number, text)


def _copy_aside(connection: sqlite3.Connection, target: Path) -> None:
    """A whole copy under its name, or none."""
    half = target.with_name(f"{target.name}.{os.getpid()}.part")
    half.unlink(missing_ok=True)
    with closing(sqlite3.connect(half)) as copy:
        connection.backup(copy)
    half.replace(target)


def _step(connection: sqlite3.Connection, number: int, text: str) -> None:
    """One schema step in one transaction; nothing where another process was quicker."""
    with writing(connection):
        if int(connection.execute("PRAGMA user_version").fetchone()[0]) >= number:
            return
        for statement in statements(text):
            connection.execute(statement)
        connection.execute(f"PRAGMA user_version = {number}")


def statements(text: str) -> Iterator[str]:
    """The single statements of a schema step; a trigger is one, whatever stands inside it."""
    part = ""
    for piece in re.split(r"(?<=;)", text):
        part += piece
        if sqlite3.complete_statement(part):
            yield part
            part = ""


@contextmanager
def writing(connection: Ledger) -> Iterator[Ledger]:
    """One transaction: all of it is stored, or nothing. Writers come one after the other.

    Raises
    ------
    NoAnswer      when it cannot be stored: the disk is full or may not be written, another program holds
                  the ledger, or the club's server broke off; nothing of it is stored then
    """
    try:
        connection.execute("BEGIN IMMEDIATE")
        yield connection
        connection.execute("COMMIT")
    except BaseException as error:
        # A full disk or a lost server has ended the transaction by itself.
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        if told := in_words(error):
            raise told from error
        raise


#: SQLite's primary result codes that are no fault of the program, in words, and what to do.
_TOLD = {
    sqlite3.SQLITE_BUSY: ("another program is writing to the ledger", "wait for it, then try again"),
    sqlite3.SQLITE_FULL: ("the disk is full, nothing was stored", "make room, then try again"),
    sqlite3.SQLITE_IOERR: ("the disk does not take the ledger", "make room and check the disk"),
    sqlite3.SQLITE_READONLY: ("the ledger may not be written", "check who owns the home's folder"),
    sqlite3.SQLITE_CANTOPEN: (
        "the ledger cannot be opened",
        "check who may read and write the home's folder",
    ),
    sqlite3.SQLITE_CORRUPT: ("the ledger is damaged", "see 'underoak doctor'"),
    sqlite3.SQLITE_NOTADB: ("the ledger is damaged or is no ledger", "see 'underoak doctor'"),
}


def in_words(error: BaseException) -> NoAnswer | None:
    """What a person is told when the disk or another program is at fault; None for anything else."""
    if not isinstance(error, sqlite3.Error):
        return None
    told = _TOLD.get(getattr(error, "sqlite_errorcode", 0) & 0xFF)
    return NoAnswer(told[0], remedy=told[1]) if told else None
