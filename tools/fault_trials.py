"""Faults on purpose: nothing that was acknowledged may be lost, and nothing half-written may remain.

Run it as ``python -m tools.fault_trials`` (some minutes) or with ``--small`` (seconds). It prints one line of
figures for each trial and ends with code 1 if anything was lost, half-written or ended in a crash.

A killed process is not a cut of the power: what the operating system holds is not lost here. For that the
ledger relies on SQLite's write-ahead log with synchronous = FULL, which is checked.
"""

from __future__ import annotations

import argparse
import os
import random
import resource
import shutil
import signal
import sqlite3
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

from tools.fault_writes import DAY, WRITES, Write, count, invented, numbered

from underoak.book.load import load_book
from underoak.desk.check_home import check_home
from underoak.desk.share_finds import Choices, share_finds
from underoak.errors import UnderoakError
from underoak.ledger.backup import ledger_faults
from underoak.ledger.database import in_words, migrations, open_ledger
from underoak.ledger.visits import visits
from underoak.settings import Home

NOBODY = 65534


@dataclass
class Outcome:
    """What one trial came to. ``lost``, ``half`` and ``crashed`` must stay empty."""

    name: str
    tries: int = 0
    acknowledged: int = 0
    told: int = 0
    lost: list[str] = field(default_factory=list)
    half: list[str] = field(default_factory=list)
    crashed: list[str] = field(default_factory=list)
    words: str = ""

    @property
    def well(self) -> bool:
        """Whether nothing was lost, half-written or crashed."""
        return not (self.lost or self.half or self.crashed)

    def line(self) -> str:
        """One line of figures."""
        text = (
            f"{self.name:28} {self.tries:5} tries, {self.acknowledged:6} acknowledged, {self.told:4} told, "
            f"{len(self.lost)} lost, {len(self.half)} half-written, {len(self.crashed)} crashed"
        )
        shown = [*self.lost[:3], *self.half[:3], *self.crashed[:3]]
        return "\n    ".join([f"{text}. {self.words}".rstrip(), *shown])


def forked(work: Callable[[int], None], after_s: float | None = None) -> tuple[int, bytes]:
    """Run ``work`` in another process, killed after a time; (exit status, what it wrote to its pipe)."""
    read, write = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(read)
        code = 0
        try:
            work(write)
        except UnderoakError:
            code = 4
        except BaseException as error:
            code = 4 if in_words(error) else 1
            os.write(write, f"\n!{error!r}".encode())
        os._exit(code)
    os.close(write)
    if after_s is not None:
        time.sleep(after_s)
        os.kill(child, signal.SIGKILL)
    with os.fdopen(read, "rb") as pipe:
        told = pipe.read()
    return os.waitpid(child, 0)[1], told


def acknowledged(told: bytes) -> tuple[list[int], str]:
    """Numbers of writes that were acknowledged, and the error that ended them, if any."""
    numbers, _, error = told.decode().partition("!")
    return [int(line) for line in numbers.split()], error


def check_writes(write: Write, home: Home, first: int, done: list[int], outcome: Outcome) -> int:
    """Look at every write that may have begun; the next number that nobody has used."""
    outcome.acknowledged += len(done)
    last = max(done, default=first - 1) + 1
    for number in range(first, last + 1):
        parts = write.parts(home, number)
        if number in done and parts != write.of:
            outcome.lost.append(f"{write.name} {number}: {parts} of {write.of} parts")
        elif parts not in (0, write.of):
            outcome.half.append(f"{write.name} {number}: {parts} of {write.of} parts")
    outcome.half += [f"{write.name}: {fault}" for fault in ledger_faults(home.ledger_path)]
    return last + 1


def _loop(write: Write, home: Home, first: int, most: int = 10**6) -> Callable[[int], None]:
    def work(pipe: int) -> None:
        for number in numbered(write, home, first):
            os.write(pipe, f"{number}\n".encode())
            if number - first + 1 >= most:
                break

    return work


def power_cuts(write: Write, folder: Path, kills: int, rng: random.Random) -> Outcome:
    """Kill at random moments of one kind of write."""
    outcome = Outcome(f"killed: {write.name}")
    home = invented(folder / write.name.replace(" ", "-"))
    began = time.monotonic()
    status, told = forked(_loop(write, home, 0, most=3))
    each_s = (time.monotonic() - began) / 3
    done, error = acknowledged(told)
    if status:
        outcome.crashed.append(error)
    first = check_writes(write, home, 0, done, outcome)
    for _ in range(kills):
        outcome.tries += 1
        _, told = forked(_loop(write, home, first), after_s=rng.uniform(0.0, 2.5 * each_s))
        done, error = acknowledged(told)
        if error:
            outcome.crashed.append(error)
        first = check_writes(write, home, first, done, outcome)
    return outcome


def full_disk(write: Write, folder: Path, tries: int, rng: random.Random) -> Outcome:
    """Files may grow by a few kilobytes only, then every write fails."""
    outcome = Outcome(f"full disk: {write.name}")
    home = invented(folder / write.name.replace(" ", "-"))
    first = 0
    for _ in range(tries):
        outcome.tries += 1
        most = int(home.ledger_path.stat().st_size * rng.uniform(0.02, 1.1))

        def work(pipe: int, most: int = most, first: int = first) -> None:
            resource.setrlimit(resource.RLIMIT_FSIZE, (most, most))
            _loop(write, home, first, most=60)(pipe)

        status, told = forked(work)
        done, error = acknowledged(told)
        outcome.told += os.waitstatus_to_exitcode(status) == 4
        if os.waitstatus_to_exitcode(status) not in (0, 4):
            outcome.crashed.append(f"{write.name}: {error}")
        first = check_writes(write, home, first, done, outcome)
    return outcome


def read_only(folder: Path) -> Outcome:
    """A home that may not be written: everything is told, nothing changes."""
    outcome = Outcome("read-only folder")
    for write in WRITES:
        if write.name in ("backup", "share", "restore", "new home"):
            continue  # these write elsewhere; where they write into the home they fail as the others do
        home = invented(folder / f"ro-{write.name.replace(' ', '-')}")
        before = home.ledger_path.read_bytes()

        def work(pipe: int, write: Write = write, home: Home = home) -> None:
            _loop(write, home, 0, most=1)(pipe)

        _allow(home.folder, writing=False)
        status, told = forked(lambda pipe, work=work: _as_nobody(lambda: work(pipe)))  # type: ignore[misc]
        _allow(home.folder, writing=True)
        outcome.tries += 1
        done, error = acknowledged(told)
        code = os.waitstatus_to_exitcode(status)
        outcome.told += code == 4
        if code not in (0, 4):
            outcome.crashed.append(f"{write.name}: {error}")
        if done or home.ledger_path.read_bytes() != before:
            outcome.half.append(f"{write.name}: something was written")
    return outcome


def _as_nobody(work: Callable[[], None]) -> None:
    if os.geteuid() == 0:
        os.setgid(NOBODY)
        os.setuid(NOBODY)
    work()


def _allow(folder: Path, *, writing: bool) -> None:
    for path in (folder, *folder.rglob("*")):
        path.chmod((0o755 if path.is_dir() else 0o644) if writing else (0o555 if path.is_dir() else 0o444))


def two_writers(folder: Path, writers: int, each: int) -> Outcome:
    """Several processes write at once."""
    outcome = Outcome(f"{writers} processes at once")
    home = invented(folder / "many")
    write = WRITES[0]
    children, pipes = [], []
    for number in range(writers):
        read, end = os.pipe()
        child = os.fork()
        if child == 0:
            try:
                _loop(write, home, 10_000 * (number + 1), most=each)(end)
            except BaseException as failure:
                os.write(end, f"!{failure!r}".encode())
            os._exit(0)
        os.close(end)
        children.append(child)
        pipes.append(read)
    for number, (child, read) in enumerate(zip(children, pipes, strict=True)):
        with os.fdopen(read, "rb") as pipe:
            done, error = acknowledged(pipe.read())
        os.waitpid(child, 0)
        outcome.tries += 1
        if error or len(done) != each:
            outcome.crashed.append(error or f"only {len(done)} writes")
        check_writes(write, home, 10_000 * (number + 1), done, outcome)
    return outcome


def damaged_pages(folder: Path, tries: int, rng: random.Random) -> Outcome:
    """Random bytes, blank pages or a cut end: told, or the ledger still says what it said."""
    outcome = Outcome("damaged pages")
    home = invented(folder / "pages")
    forked(_loop(WRITES[0], home, 0, most=40))
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


def run(folder: Path, *, small: bool, seed: int) -> list[Outcome]:
    """All trials; each is printed when it is done."""
    rng = random.Random(seed)  # noqa: S311 - a seed, not a secret
    load_book()
    kills = 2 if small else -(-500 // len(WRITES))
    outcomes = []

    def note(outcome: Outcome) -> None:
        outcomes.append(outcome)
        print(outcome.line(), flush=True)

    note(synchronous(folder))
    for write in WRITES:
        note(power_cuts(write, folder, kills, rng))
    for write in WRITES[::4] if small else WRITES:
        if write.name != "restore":
            note(full_disk(write, folder / "full", 1 if small else 20, rng))
    note(read_only(folder))
    note(two_writers(folder, 2 if small else 4, 10 if small else 60))
    note(opened_together(folder, 3 if small else 40))
    note(damaged_pages(folder, 8 if small else 500, rng))
    note(photos_gone(folder))
    note(migrations_cut(folder, most_each=2 if small else None))
    return outcomes


def main() -> int:
    """Run from the command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--small", action="store_true", help="a few of each, in seconds")
    parser.add_argument("--seed", type=int, default=20261003)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="underoak-faults-") as name:
        folder = Path(name)
        folder.chmod(0o755)
        outcomes = run(folder, small=options.small, seed=options.seed)
    bad = sum(not outcome.well for outcome in outcomes)
    tries = sum(outcome.tries for outcome in outcomes)
    print(f"{tries} faults in {len(outcomes)} trials; {bad} trial(s) went wrong (seed {options.seed})")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
