"""A real PostgreSQL server for the tests: its own folder, socket, port, certificate and passwords."""

from __future__ import annotations

import os
import re
import secrets
import shutil
import socket
import subprocess
import tempfile
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

from underoak.ledger.shared.connecting import connect
from underoak.ledger.shared.opening import open_shared
from underoak.ledger.shared.session import SharedLedger
from underoak.model.club import ClubAddress

#: Older servers do not sort by a language of their own in each database.
OLDEST = 15
#: Databases that are there for the tests; each is emptied before it is lent.
DATABASES = ("one", "two", "three")
#: Nothing has to outlive the tests, so nothing is forced on to the disk.
_QUICK = ("fsync=off", "full_page_writes=off", "synchronous_commit=off", "shared_buffers=16MB")
_CERTIFICATE = (
    *("req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "2", "-subj", "/CN=localhost"),
    *("-addext", "subjectAltName=DNS:localhost", "-keyout", "server.key", "-out", "server.crt"),
)


def binaries() -> Path | None:
    """Folder of initdb and pg_ctl: that of the newest server on this computer, or None."""
    there = [Path(found) for found in (shutil.which("initdb"),) if found]
    there += Path("/usr/lib/postgresql").glob("*/bin/initdb")
    fit = [path for path in there if _version(path) >= OLDEST]
    return max(fit, key=_version).parent if fit else None


@cache
def _version(initdb: Path) -> int:
    """The number before the point in words such as "initdb (PostgreSQL) 15.14 (Debian 15.14-0)"."""
    told = subprocess.run([initdb, "--version"], capture_output=True, text=True, check=False).stdout
    found = re.search(r"\) (\d+)", told)
    return int(found[1]) if found else 0


@dataclass
class Server:
    """A running server. ``keeper`` owns the databases, ``boss`` is its superuser."""

    folder: Path
    port: int
    encrypted: bool
    passwords: dict[str, str]
    _open: dict[str, SharedLedger] = field(default_factory=dict)

    def address(self, database: str, user: str = "keeper") -> ClubAddress:
        return ClubAddress(user, str(self.folder), self.port, database, encrypted=False)

    def text(self, database: str, user: str = "keeper") -> str:
        return str(self.address(database, user))

    @property
    def pass_file(self) -> Path:
        return self.folder / "pgpass"

    def boss(self, database: str) -> SharedLedger:
        """The superuser's connection to a database, kept open."""
        if database not in self._open:
            self._open[database] = SharedLedger(
                self.address(database), connect(self.address(database, "boss"))
            )
        return self._open[database]

    def emptied(self, database: str) -> ClubAddress:
        """The address of a database whose ledger holds nothing."""
        boss = self.boss(database)
        boss.plain("BEGIN")
        # Neither triggers nor references stand in the way of who may say this.
        boss.plain("SET LOCAL session_replication_role = replica")
        for name in _tables(boss):
            boss.plain(f"DELETE FROM {name}")  # noqa: S608 - own tables
        boss.plain("COMMIT")
        return self.address(database)

    def stop(self) -> None:
        for ledger in self._open.values():
            ledger.close()
        _run(self.folder, "pg_ctl", "-D", "data", "-m", "immediate", "stop")
        shutil.rmtree(self.folder, ignore_errors=True)


def _tables(ledger: SharedLedger) -> list[str]:
    from underoak.ledger.catalog import tables

    return tables(ledger)


def start() -> Server:
    """A new server with three databases that hold an empty ledger each."""
    folder = Path(tempfile.mkdtemp(prefix="underoak-pg-"))
    passwords = {user: secrets.token_hex(8) for user in ("boss", "keeper", "member", "guest")}
    (folder / "first").write_text(passwords["boss"])
    encrypted = _make_certificate(folder)
    _hand_over(folder)
    _run(folder, "initdb", "-D", "data", "-U", "boss", "-A", "scram-sha-256", "--pwfile=first",
         "-E", "UTF8", "--locale=C", "-N")  # fmt: skip
    port = _free_port()
    options = [f"unix_socket_directories={folder}", "listen_addresses=127.0.0.1", f"port={port}", *_QUICK]
    if encrypted:
        options += ["ssl=on", f"ssl_cert_file={folder}/server.crt", f"ssl_key_file={folder}/server.key"]
    (folder / "options").write_text("".join(f"{o.replace('=', ' = ', 1)}\n" for o in map(_quoted, options)))
    with (folder / "data" / "postgresql.conf").open("a") as conf:
        conf.write((folder / "options").read_text())
    _run(folder, "pg_ctl", "-D", "data", "-w", "-l", "log", "start")
    server = Server(folder, port, encrypted, passwords)
    lines = [f"*:*:*:{user}:{word}\n" for user, word in passwords.items()]
    server.pass_file.touch(mode=0o600)
    server.pass_file.write_text("".join(lines))
    os.environ["PGPASSFILE"] = str(server.pass_file)
    _make_databases(server)
    return server


def _quoted(option: str) -> str:
    name, _, value = option.partition("=")
    return f"{name}='{value}'"


def _make_databases(server: Server) -> None:
    """Text is sorted by the language in them, so that a test sees where the ledger would lean on that."""
    boss = server.boss("postgres")
    for user in ("keeper", "member", "guest"):
        boss.plain(f"CREATE ROLE {user} LOGIN PASSWORD '{server.passwords[user]}'")
    boss.plain(
        f"CREATE DATABASE {DATABASES[0]} OWNER keeper TEMPLATE template0 ENCODING 'UTF8' "
        "LOCALE_PROVIDER icu ICU_LOCALE 'en-US' LOCALE 'C'"
    )
    open_shared(server.address(DATABASES[0]), create=True).close()
    for name in DATABASES[1:]:
        boss.plain(f"CREATE DATABASE {name} OWNER keeper TEMPLATE {DATABASES[0]}")


def _make_certificate(folder: Path) -> bool:
    """A certificate of the server's own, signed by itself."""
    if shutil.which("openssl") is None:
        return False
    subprocess.run(["openssl", *_CERTIFICATE], cwd=folder, check=True, capture_output=True)
    (folder / "server.key").chmod(0o600)
    return True


def _hand_over(folder: Path) -> None:
    """PostgreSQL does not run as root: the folder goes to its own user there."""
    if os.geteuid() == 0:
        folder.chmod(0o755)
        for path in (folder, *folder.iterdir()):
            shutil.chown(path, "postgres")


def _run(folder: Path, program: str, *words: str) -> None:
    where = binaries()
    assert where is not None
    user = ["runuser", "-u", "postgres", "--"] if os.geteuid() == 0 else []
    done = subprocess.run(
        [*user, str(where / program), *words], cwd=folder, check=False, stdin=subprocess.DEVNULL,
        stdout=(log := (folder / f"{program}.log").open("a")), stderr=log, timeout=120,
    )  # fmt: skip
    log.close()
    assert done.returncode == 0, (folder / f"{program}.log").read_text()


def _free_port() -> int:
    with socket.socket() as sock:
        sock.bind(("127.0.0.1", 0))
        return int(sock.getsockname()[1])
