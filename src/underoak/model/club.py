"""Where a club keeps its ledger: the address of a PostgreSQL database, never with a password in it."""

from __future__ import annotations

from dataclasses import dataclass
from ipaddress import ip_address
from urllib.parse import parse_qs, unquote, urlsplit

#: How an address is written.
EXAMPLE = "postgresql://ada@club.example/underoak"
_OPTIONS = frozenset({"host", "sslmode", "sslrootcert"})
_SAFEGUARDS = ("verify-full", "disable")


@dataclass(frozen=True, slots=True)
class ClubAddress:
    """One database of one server, and who comes to it.

    ``host`` is a name, a number, or the folder of a Unix socket. ``certificate`` names a file with the
    authority that signed the server's certificate; empty means those this computer trusts.
    """

    user: str
    host: str
    port: int
    database: str
    encrypted: bool
    certificate: str = ""

    @property
    def is_socket(self) -> bool:
        """Whether the server is reached by a socket in the file system."""
        return self.host.startswith("/")

    @property
    def is_here(self) -> bool:
        """Whether the server runs on this very computer."""
        return _is_here(self.host)

    def __str__(self) -> str:
        port = "" if self.port == 5432 else f":{self.port}"
        if self.is_socket:
            return f"postgresql://{self.user}@{port}/{self.database}?host={self.host}"
        host = f"[{self.host}]" if ":" in self.host else self.host
        return f"postgresql://{self.user}@{host}{port}/{self.database}"


def parse_address(text: str) -> ClubAddress:
    """The parts of an address such as ``postgresql://ada@club.example/underoak``.

    Method: the form of the PostgreSQL manual, section 34.1.1.2 "Connection URIs" (from memory), with the
    options ``host`` (folder of a socket), ``sslmode`` (verify-full or disable) and ``sslrootcert``.
    **Fails towards** encryption: any server but this computer's own is reached by TLS with its certificate
    and name checked, unless the address says ``sslmode=disable``.

    Raises ValueError in words for anything else, also for a password inside the address.
    """
    try:
        parts = urlsplit(text)
        port = parts.port or 5432
    except ValueError as error:
        raise ValueError(f"it is no address; write it like {EXAMPLE}") from error
    options = {key: values[-1] for key, values in parse_qs(parts.query, keep_blank_values=True).items()}
    if parts.password is not None or "password" in options:
        raise ValueError("no password belongs here; put it into PGPASSWORD or the file ~/.pgpass")
    host = options.get("host") or unquote(parts.hostname or "")
    user, database = unquote(parts.username or ""), unquote(parts.path.strip("/"))
    if parts.scheme not in ("postgresql", "postgres") or not (user and host and database) or parts.fragment:
        raise ValueError(f"it is no whole address; write it like {EXAMPLE}")
    if unknown := sorted(options.keys() - _OPTIONS):
        raise ValueError(f"{unknown[0]!r} is no option here; there are {', '.join(sorted(_OPTIONS))}")
    safeguard = options.get("sslmode") or ("disable" if _is_here(host) else "verify-full")
    if safeguard not in _SAFEGUARDS:
        raise ValueError(f"sslmode={safeguard} does not check whose server it is; say verify-full or disable")
    if any(ord(letter) < 32 for letter in user + host + database):
        raise ValueError("it holds a control character")
    return ClubAddress(user, host, port, database, safeguard != "disable", options.get("sslrootcert", ""))


def _is_here(host: str) -> bool:
    """Whether a host is this computer itself."""
    if host.startswith("/") or host == "localhost":
        return True
    try:
        return ip_address(host).is_loopback
    except ValueError:
        return False
