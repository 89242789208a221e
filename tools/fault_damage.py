"""Trials of damage: pages, photos, and schema steps that are cut short or run twice."""

from __future__ import annotations

import os
import random
import shutil
import signal
import sqlite3
from contextlib import closing
from datetime import date
from pathlib import Path

from tools.fault_outcome import Outcome, forked
from tools.fault_writes import DAY, WRITES, count, invented, some_writes

from underoak.desk.check_home import check_home
from underoak.desk.share_finds import Choices, share_finds
from underoak.errors import UnderoakError
from underoak.ledger.backup import ledger_faults
from underoak.ledger.database import in_words, migrations, open_ledger
from underoak.ledger.visits import visits
from underoak.settings import Home


def damaged_pages(folder: Path, tries: int, rng: random.Random) -> Outcome:
    """Random bytes, blank pages or a cut end: told, or the ledger still says what it said."""
    outcome = Outcome("damaged pages")
    home = invented(folder / "pages")
    some_writes(WRITES[0], home, 40)
    with closing(open_ledger(home.ledger_path)) as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    whole, before = home.ledger_path.read_bytes(), _said(home)
    unseen = 0
    for _ in range(tries):
        outcome.tries += 1
        home.ledger_path.write_bytes(_spoilt(whole, rng))
        for ending in ("-wal", "-shm"):
            home.ledger_path.with_name(home.ledger_path.name + ending).unlink(missing_ok=True)
        try:
            told = bool(check_home(home, today=date(2026, 12, 1)).ailments)
            said = None if told else _said(home)
        except UnderoakError:
            told, said = True, None
        except Exception as error:
            told, said = in_words(error) is not None, None
            if not told:
                outcome.crashed.append(repr(error))
        outcome.told += told
        unseen += not told and said != before
    outcome.words = f"{unseen} changed a value unseen (SQLite keeps no checksum of its pages; a backup does)"
    return outcome


def _said(home: Home) -> object:
    with closing(open_ledger(home.ledger_path)) as connection:
        return visits(connection)


def _spoilt(whole: bytes, rng: random.Random) -> bytes:
    data = bytearray(whole)
    page = 4096 * rng.randrange(len(data) // 4096)
    kind = rng.choice(["noise", "blank", "bytes", "cut"])
    if kind == "cut":
        return bytes(data[: rng.randrange(len(data))])
    if kind == "bytes":
        for _ in range(8):
            data[page + rng.randrange(4096)] = rng.randrange(256)
        return bytes(data)
    data[page : page + 4096] = bytes(4096) if kind == "blank" else rng.randbytes(4096)
    return bytes(data)


def photos_gone(folder: Path) -> Outcome:
    """The folder photos was thrown away."""
    outcome = Outcome("photo folder gone", tries=1)
    home = invented(folder / "photos-gone")
    photo = next(write for write in WRITES if write.name == "photo")
    photo.do(home, 0)
    shutil.rmtree(home.photos)
    try:
        told = check_home(home, today=DAY).ailments
        outcome.told = sum("gone" in each.what for each in told)
        share_finds(home, folder / "without.zip", Choices(photos=True), today=DAY)
        photo.do(home, 1)
        outcome.acknowledged = photo.parts(home, 1) == photo.of
        check_home(home, today=DAY, repair=frozenset({"photos"}))
        if count(home, "SELECT count(*) FROM photo") != 1:
            outcome.lost.append("the wrong photo was forgotten")
    except Exception as error:
        outcome.crashed.append(repr(error))
    return outcome


def migrations_cut(folder: Path, most_each: int | None = None) -> Outcome:
    """Kill before every statement of every schema step, from every earlier schema on; then open again."""
    outcome = Outcome("migration interrupted")
    steps = migrations()
    newest = steps[-1][0]
    for version in range(1, newest):
        path = folder / f"schema-{version}.sqlite3"
        _old_ledger(path, version)
        original, statement = path.read_bytes(), 0
        while most_each is None or statement < most_each:
            path.write_bytes(original)
            status, _ = forked(lambda _, at=statement: _cut_at(path, at))  # type: ignore[misc] # noqa: B023
            outcome.tries += 1
            if ledger_faults(path):
                outcome.half.append(f"schema {version}, statement {statement}: {ledger_faults(path)[0]}")
            with closing(open_ledger(path)) as connection:
                reached = connection.execute("PRAGMA user_version").fetchone()[0]
                kept = connection.execute("SELECT count(*) FROM visit").fetchone()[0]
            if reached != newest or kept != 5 or ledger_faults(path):
                outcome.lost.append(
                    f"schema {version}, statement {statement}: {kept} visits, schema {reached}"
                )
            for leftover in folder.glob(f"schema-{version}*"):
                leftover.unlink()
            if status == 0:
                break
            statement += 1
    return outcome


def _old_ledger(path: Path, version: int) -> None:
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        for number, text in migrations():
            if number <= version:
                connection.executescript(f"{text}\nPRAGMA user_version = {number};")
        connection.execute(
            "INSERT INTO place (id, name, polygons, permission_status) VALUES ('p','P','[]','unknown')"
        )
        connection.executemany(
            "INSERT INTO visit (id, day, place_id) VALUES (?, '2026-10-03', 'p')",
            [(f"v{n}",) for n in range(5)],
        )


def _cut_at(path: Path, at: int) -> None:
    """Open the ledger, and die just before statement ``at``."""
    seen = 0
    connect = sqlite3.connect

    def watched(*arguments: object, **named: object) -> sqlite3.Connection:
        connection = connect(*arguments, **named)  # type: ignore[call-overload]
        connection.set_trace_callback(lambda _: _die_at())
        return connection  # type: ignore[no-any-return]

    def _die_at() -> None:
        nonlocal seen
        if seen == at:
            os.kill(os.getpid(), signal.SIGKILL)
        seen += 1

    sqlite3.connect = watched  # type: ignore[assignment]
    open_ledger(path).close()


def opened_together(folder: Path, tries: int) -> Outcome:
    """Two processes open an old ledger at the same moment; both bring it to the newest schema."""
    outcome = Outcome("migrated by two at once")
    for number in range(tries):
        path = folder / f"old-{number}.sqlite3"
        _old_ledger(path, 1)
        children = []
        for _ in range(2):
            child = os.fork()
            if child == 0:
                code = 0
                try:
                    open_ledger(path).close()
                except BaseException as error:
                    print(f"    {error!r}", flush=True)
                    code = 1
                os._exit(code)
            children.append(child)
        outcome.tries += 1
        if any(os.waitpid(child, 0)[1] for child in children):
            outcome.crashed.append(f"try {number}")
        if ledger_faults(path):
            outcome.half.append(f"try {number}: {ledger_faults(path)[0]}")
    return outcome


def synchronous(folder: Path) -> Outcome:
    """The setting that makes a commit reach the disk."""
    outcome = Outcome("synchronous = FULL", tries=1)
    with closing(open_ledger(invented(folder / "sync").ledger_path)) as connection:
        found = connection.execute("PRAGMA synchronous").fetchone()[0]
    if found < 2:
        outcome.lost.append(f"synchronous is {found}: a cut of the power may lose what was acknowledged")
    return outcome
