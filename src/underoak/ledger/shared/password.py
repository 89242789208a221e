"""The password for a club's ledger: from the environment or the driver's usual file, never from settings."""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path

from underoak.errors import NoAnswer
from underoak.model.club import ClubAddress


def password_for(address: ClubAddress, environment: Mapping[str, str]) -> str:
    """PGPASSWORD, else the first line of the password file that fits; empty where neither says one.

    Method: the PostgreSQL manual, section 34.16 "The Password File" (from memory): lines of
    host:port:database:user:password, ``*`` for any, a backslash before a colon or backslash that is meant.

    Raises
    ------
    NoAnswer   when others may read the password file
    """
    if told := environment.get("PGPASSWORD"):
        return told
    path = _file(environment)
    try:
        mode, text = path.stat().st_mode, path.read_text("utf-8")
    except (OSError, UnicodeDecodeError):
        return ""
    if os.name != "nt" and mode & 0o077:
        raise NoAnswer(
            f"the password file {path} may be read by others", remedy=f"make it yours alone: chmod 600 {path}"
        )
    host = "localhost" if address.is_socket else address.host
    wanted = ({address.host, host}, {str(address.port)}, {address.database}, {address.user})
    for line in text.splitlines():
        fields = _fields(line)
        if len(fields) == 5 and all(f == "*" or f in w for f, w in zip(fields, wanted, strict=False)):
            return fields[4]
    return ""


def _file(environment: Mapping[str, str]) -> Path:
    if told := environment.get("PGPASSFILE"):
        return Path(told)
    if os.name == "nt":
        return Path(environment.get("APPDATA", "")) / "postgresql" / "pgpass.conf"
    return Path(environment.get("HOME") or "~").expanduser() / ".pgpass"


def _fields(line: str) -> list[str]:
    """The parts between colons; a line that starts with ``#`` has none."""
    if line.startswith("#"):
        return []
    fields, escaped = [""], False
    for letter in line:
        if letter == ":" and not escaped and len(fields) < 5:
            fields.append("")
        elif letter != "\\" or escaped:
            fields[-1] += letter
        escaped = letter == "\\" and not escaped
    return fields
