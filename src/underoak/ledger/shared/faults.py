"""What goes wrong with a club's server, in the same words as with a file."""

from __future__ import annotations

import sqlite3
from typing import Any

from underoak.errors import NoAnswer
from underoak.model.club import ClubAddress

_BUSY = ("another program is writing to the ledger", "wait for it, then try again")
_SERVER = "tell whoever looks after the club's server"
_GONE = ("the server of the club's ledger broke off, nothing was stored", "try again in a while")
_REFUSED = (
    "the server of the club's ledger refused {user}: wrong password, or no right to come in",
    "check PGPASSWORD or the file ~/.pgpass, and the user's name in the address",
)

#: SQLSTATE codes, whole or by their class (PostgreSQL manual, appendix A, from memory).
_TOLD = {
    "53100": ("the disk is full, nothing was stored", f"{_SERVER} to make room, then try again"),
    "53300": ("the server of the club's ledger has too many visitors", "try again in a while"),
    "55P03": _BUSY,
    "40": _BUSY,
    "42501": ("the ledger may not be written", "ask whoever looks after the club's server for the right to"),
    "25006": ("the ledger may not be written", "name the club's main server, not a copy of it"),
    "28": _REFUSED,
    "3D000": ("the club's server has no database {database}", "check the address, or have it made"),
    "08": _GONE,
    "57": _GONE,
    "25P03": _GONE,
    "54": ("a text is too long for the club's ledger, nothing was stored", "shorten it"),
    "53": ("the server of the club's ledger has no room to work, nothing was stored", _SERVER),
    "58": ("the disk does not take the ledger", _SERVER),
    "XX": ("the ledger is damaged", f"{_SERVER}: it may need a backup"),
}


def unreachable(address: ClubAddress, why: object) -> NoAnswer:
    """No connection could be made."""
    return NoAnswer(
        f"the club's ledger at {address} cannot be reached: {why}",
        remedy="check the network, the address and that its server runs",
    )


def broke_off() -> NoAnswer:
    """The connection was lost outside a commit."""
    return NoAnswer(_GONE[0], remedy=_GONE[1])


def lost_while_storing() -> NoAnswer:
    """The connection was lost after the commit was sent and before it was answered."""
    return NoAnswer(
        "the server of the club's ledger broke off while storing: it is stored whole or not at all",
        remedy="look which of the two before you do it again",
    )


def as_told(fields: dict[str, Any], address: ClubAddress) -> Exception:
    """The error for what the server said: NoAnswer in words where nobody's program is at fault.

    Broken rules of the schema and anything else come as sqlite3's IntegrityError and DatabaseError, which
    callers already know of a file.
    """
    code, message = str(fields.get("C", "")), str(fields.get("M", ""))
    if code.startswith("23"):
        return sqlite3.IntegrityError(message)
    told = _TOLD.get(code) or _TOLD.get(code[:2])
    if told is None:
        return sqlite3.DatabaseError(f"{message} ({code})")
    what, remedy = (words.format(user=address.user, database=address.database) for words in told)
    return NoAnswer(what, remedy=remedy)
