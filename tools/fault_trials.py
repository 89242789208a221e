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
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path

from tools.fault_damage import damaged_pages, migrations_cut, opened_together, photos_gone, synchronous
from tools.fault_outcome import Outcome, acknowledged, forked
from tools.fault_writes import WRITES, Write, invented, numbered

from underoak.book.load import load_book
from underoak.ledger.backup import ledger_faults
from underoak.settings import Home

NOBODY = 65534


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
            _loop(write, home, first, most=30)(pipe)

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


def trials(folder: Path, rng: random.Random, *, small: bool) -> Iterator[tuple[str, Callable[[], Outcome]]]:
    """Names of all trials, and how to run each."""
    kills = 2 if small else -(-500 // len(WRITES))
    yield "synchronous", lambda: synchronous(folder)
    for write in WRITES:
        yield f"killed: {write.name}", partial(power_cuts, write, folder / "killed", kills, rng)
    for write in WRITES[::4] if small else WRITES:
        if write.name != "restore":  # it writes what backup writes
            yield (
                f"full disk: {write.name}",
                partial(full_disk, write, folder / "full", 1 if small else 20, rng),
            )
    yield "read-only", lambda: read_only(folder)
    yield "at once", lambda: two_writers(folder, 2 if small else 4, 10 if small else 60)
    yield "migrated by two", lambda: opened_together(folder, 3 if small else 40)
    yield "damaged pages", lambda: damaged_pages(folder, 8 if small else 500, rng)
    yield "photo folder gone", lambda: photos_gone(folder)
    yield "migration", lambda: migrations_cut(folder, most_each=2 if small else None)


def run(folder: Path, *, small: bool, seed: int, only: str = "") -> list[Outcome]:
    """All trials, or those whose name holds a text; each is printed when it is done."""
    rng = random.Random(seed)  # noqa: S311 - a seed, not a secret
    load_book()
    outcomes = []
    for name, trial in trials(folder, rng, small=small):
        if only in name:
            outcomes.append(trial())
            print(outcomes[-1].line(), flush=True)
    return outcomes


def main() -> int:
    """Run from the command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--small", action="store_true", help="a few of each, in seconds")
    parser.add_argument("--only", default="", help="trials whose name holds this text")
    parser.add_argument("--seed", type=int, default=20261003)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="underoak-faults-") as name:
        folder = Path(name)
        folder.chmod(0o755)
        outcomes = run(folder, small=options.small, seed=options.seed, only=options.only)
    bad = sum(not outcome.well for outcome in outcomes)
    tries = sum(outcome.tries for outcome in outcomes)
    print(f"{tries} faults in {len(outcomes)} trials; {bad} trial(s) went wrong (seed {options.seed})")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
