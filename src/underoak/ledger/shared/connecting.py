"""Come to a club's server: socket, encryption, password."""

from __future__ import annotations

import os
import socket
import ssl
from collections.abc import Iterator
from contextlib import suppress
from typing import TYPE_CHECKING

from underoak.errors import NoAnswer
from underoak.ledger.shared.dialect import as_kept, as_meant
from underoak.ledger.shared.faults import as_told, unreachable
from underoak.ledger.shared.password import password_for
from underoak.model.club import ClubAddress

if TYPE_CHECKING:
    from pg8000.core import CoreConnection

#: How long to wait for a connection, and for any answer.
CONNECT_S, ANSWER_S = 10.0, 120.0
#: What every session asks of the server: to wait for a writer as long as for a file, and not to keep the
#: door shut for a computer that went away in the middle.
_SESSION = {
    "lock_timeout": "10s",
    "idle_in_transaction_session_timeout": "5min",
    "client_encoding": "utf8",
    "extra_float_digits": "1",
    "bytea_output": "hex",
    "standard_conforming_strings": "on",
}
_BOOLEAN, _TEXT, _VARCHAR, _NUMERIC = 16, 25, 1043, 1700


def connect(address: ClubAddress) -> CoreConnection:
    """A connection of the driver, with values going in and out as they do with a file.

    Raises
    ------
    NoAnswer   when the driver is not installed, the server cannot be reached, is not who it says, or refuses
    """
    try:
        from pg8000.core import CoreConnection
        from pg8000.exceptions import DatabaseError, InterfaceError
    except ImportError as error:
        raise NoAnswer(
            "a club's ledger needs a library that is not installed",
            remedy="install it: pip install 'underoak[club]', or -r requirements/club.txt",
        ) from error
    password = password_for(address, os.environ)
    encryption = _encryption(address)
    sock = _reached(address)
    try:
        link = CoreConnection(
            user=address.user,
            host=None if address.is_socket else address.host,
            database=address.database,
            password=password,
            ssl_context=encryption,
            sock=sock,
            application_name="underoak",
            startup_params=_SESSION,
        )
    except BaseException as error:
        with suppress(OSError):
            os.close(sock.detach())
        # Closing a door that the server has shut already fails too, and hides what the server said.
        for each in _behind(error):
            if isinstance(each, DatabaseError):
                raise as_told(each.args[0], address) from error
        if isinstance(error, (InterfaceError, OSError, ValueError)):
            raise unreachable(address, _reason(error)) from error
        if type(error).__module__.startswith("scramp"):
            raise unreachable(address, "it does not prove that it knows the password") from error
        raise
    _set_types(link)
    return link


def _behind(error: BaseException | None) -> Iterator[BaseException]:
    """An error and those during which it came about."""
    while error is not None:
        yield error
        error = error.__context__


def _reached(address: ClubAddress) -> socket.socket:
    try:
        if address.is_socket:
            sock = _by_socket(f"{address.host}/.s.PGSQL.{address.port}")
        else:
            sock = socket.create_connection((address.host, address.port), CONNECT_S)
            sock.setsockopt(socket.SOL_SOCKET, socket.SO_KEEPALIVE, 1)
            sock.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
    except OSError as error:
        raise unreachable(address, error.strerror or error) from error
    sock.settimeout(ANSWER_S)
    return sock


def _by_socket(path: str) -> socket.socket:
    sock = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
    sock.settimeout(CONNECT_S)
    try:
        sock.connect(path)
    except OSError:
        sock.close()
        raise
    return sock


def _encryption(address: ClubAddress) -> ssl.SSLContext | bool:
    """Certificate and name of the server are checked, or nothing is encrypted at all."""
    if not address.encrypted:
        return False
    try:
        return ssl.create_default_context(cafile=address.certificate or None)
    except OSError as error:
        raise NoAnswer(
            f"the certificate {address.certificate} cannot be read", remedy="check sslrootcert in the address"
        ) from error


def _reason(error: BaseException) -> str:
    if isinstance(error.__cause__, OSError):
        error = error.__cause__
    if isinstance(error, ssl.SSLCertVerificationError):
        return f"its certificate is not trusted ({error.verify_message})"
    return getattr(error, "strerror", None) or str(error)


def _set_types(link: CoreConnection) -> None:
    """Values as a file gives and takes them: truth as 0 and 1, no NaN, text with any letter."""
    link.pg_types[_TEXT] = link.pg_types[_VARCHAR] = as_meant
    link.pg_types[_BOOLEAN] = lambda text: int(text == "t")
    link.pg_types[_NUMERIC] = _number
    link.py_types[bool] = lambda value: "1" if value else "0"
    link.py_types[str] = as_kept
    link.py_types[float] = lambda value: None if value != value else float.__repr__(value)  # noqa: PLR0124


def _number(text: str) -> int | float:
    """Sums of whole numbers come as decimal ones."""
    return int(text) if text.lstrip("-").isdigit() else float(text)
