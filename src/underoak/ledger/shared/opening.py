"""Open a club's ledger, make it, and bring its schema up to date."""

from __future__ import annotations

import sqlite3

from underoak.errors import NoAnswer, UserMistake
from underoak.ledger.catalog import schema_of, tables
from underoak.ledger.database import migrations, statements
from underoak.ledger.shared.connecting import connect
from underoak.ledger.shared.dialect import PRELUDE, schema_statements
from underoak.ledger.shared.session import SharedLedger
from underoak.model.club import ClubAddress

_STATE = (
    "CREATE TABLE ledger_state (single BOOLEAN PRIMARY KEY DEFAULT true CHECK (single), "
    "version BIGINT NOT NULL, changes BIGINT NOT NULL)",
    "INSERT INTO ledger_state (version, changes) VALUES (0, 0)",
)
#: Any number; two programs that make or migrate one database wait for each other by it.
_LOCK = "SELECT pg_advisory_xact_lock(20261121)"


def open_shared(address: ClubAddress, *, create: bool = False, as_it_is: bool = False) -> SharedLedger:
    """Connection to a club's ledger, migrated to the newest schema; ``as_it_is`` and only to read otherwise.

    A migration is one transaction: all of it is done, or nothing.

    Raises
    ------
    UserMistake   when the database holds no ledger and ``create`` is false
    NoAnswer      when the server cannot be reached or refuses, when the database holds something else, or
                  when a newer program made it or its owner has to bring it up to date
    """
    ledger = SharedLedger(address, connect(address))
    try:
        if as_it_is:
            ledger.plain("SET default_transaction_read_only = on")
        _bring_up_to_date(ledger, create=create, as_it_is=as_it_is)
    except BaseException:
        ledger.close()
        raise
    return ledger


def _bring_up_to_date(ledger: SharedLedger, *, create: bool, as_it_is: bool) -> None:
    version, newest = _version(ledger), migrations()[-1][0]
    if version is None:
        _refuse_unless_empty(ledger, create=create)
    elif version > newest:
        raise NoAnswer(
            f"the club's ledger has schema {version}, this program knows up to {newest}",
            remedy="update underoak",
        )
    if version != newest and not as_it_is:
        _migrate(ledger)


def _version(ledger: SharedLedger) -> int | None:
    """The schema's number, None where there is no ledger."""
    if ledger.execute("SELECT to_regclass('ledger_state')").fetchone()[0] is None:
        return None
    return schema_of(ledger)


def _refuse_unless_empty(ledger: SharedLedger, *, create: bool) -> None:
    if tables(ledger):
        raise NoAnswer(
            f"{ledger.address} holds something else than a ledger", remedy="name an empty database"
        )
    if not create:
        raise UserMistake(
            f"there is no ledger at {ledger.address}",
            expected="a database in which the club has made one",
            remedy=f"make it: underoak new DIR --ledger {ledger.address}",
        )
    encoding = ledger.execute("SELECT current_setting('server_encoding')").fetchone()[0]
    if encoding != "UTF8":
        raise NoAnswer(f"the database keeps text as {encoding}", remedy="make it with ENCODING 'UTF8'")


def _migrate(ledger: SharedLedger) -> None:
    ledger.plain("BEGIN")
    ledger.in_transaction = True
    try:
        ledger.plain(_LOCK)
        for statement in _missing(ledger):
            ledger.plain(statement)
        ledger.execute("COMMIT")
    except NoAnswer as error:
        _roll_back(ledger)
        if "may not be written" in error.problem.what:
            raise NoAnswer(
                "the club's ledger has an older schema, and you may not change it",
                remedy="let its owner run any underoak command on it once, after a backup",
            ) from error
        raise
    except sqlite3.Error as error:
        _roll_back(ledger)
        raise NoAnswer(
            f"the schema could not be brought up to date, nothing was changed: {error}",
            remedy="update underoak, and tell its makers",
        ) from error


def _roll_back(ledger: SharedLedger) -> None:
    if ledger.in_transaction:
        ledger.execute("ROLLBACK")


def _missing(ledger: SharedLedger) -> list[str]:
    """What is still to be done, asked after the lock: another program may have been quicker."""
    version = _version(ledger)
    todo = [] if version is not None else [*PRELUDE, *_STATE]
    for number, text in migrations():
        if number > (version or 0):
            todo += [part for statement in statements(text) for part in schema_statements(statement)]
            todo.append(f"UPDATE ledger_state SET version = {number}")  # noqa: S608 - own number
    return todo
