"""Spoil files at random and read them: every reader answers, or says what is wrong.

``python -m tools.fuzz_readers`` runs a million cases in all (about half an hour); ``--cases N`` another
number. Every case follows from the reader's name and its number alone: ``--reader NAME --case N`` runs one
again, ``--write FILE`` keeps its bytes. Ends with code 1 if any case crashed, took more than 2 s, wrote a
file outside its folder, or took more than 500 MB.

Method: whole files (`tools.fuzz_seeds`) are cut, doubled, spliced and sprinkled with bytes and with texts
that have broken readers before. Batches run in a process of their own, which an alarm interrupts.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import resource
import signal
import sys
import tempfile
import time
import traceback
import zlib
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

from tools.fuzz_seeds import Reader, memory, readers

from underoak.errors import UnderoakError

LONGEST_S = 2.0
MOST_GROWTH_MB = 500
BATCH = 2000


@dataclass
class Tally:
    """What came of one reader's cases."""

    name: str
    cases: int = 0
    refused: int = 0
    slowest_s: float = 0.0
    growth_mb: int = 0
    faults: list[str] = field(default_factory=list)

    def line(self) -> str:
        """One line of figures, and the first faults."""
        head = (
            f"{self.name:18} {self.cases:7} cases, {self.refused:7} refused, "
            f"slowest {self.slowest_s:5.2f} s, memory +{self.growth_mb} MB, {len(self.faults)} faults"
        )
        return "\n    ".join([head, *self.faults[:5]])


class TooSlow(BaseException):
    """A case took too long; no reader may catch it."""


def spoil(reader: Reader, case: int) -> bytes:
    """The bytes of one case."""
    rng = random.Random(zlib.crc32(reader.name.encode()) << 32 | case)  # noqa: S311 - a seed, not a secret
    return reader.spoil(reader.seeds, rng)


def one(reader: Reader, case: int, folder: Path) -> tuple[bool, str, float]:
    """Run one case: whether it was refused, what was wrong with the reader, and how long it took."""
    path = folder / f"file{reader.ending}"
    path.write_bytes(spoil(reader, case))
    refused, fault = False, ""
    began = time.process_time()
    signal.setitimer(signal.ITIMER_PROF, LONGEST_S)  # of this process: other programs do not count
    signal.setitimer(signal.ITIMER_REAL, 10 * LONGEST_S)
    try:
        reader.read(path)
    except UnderoakError as error:
        refused = True
        if not str(error).strip():
            fault = "refused without a word"
    except TooSlow:
        fault = f"longer than {LONGEST_S} s"
    except Exception as error:
        last = traceback.extract_tb(error.__traceback__)[-1]
        fault = f"{error!r:.200} at {Path(last.filename).name}:{last.lineno}"
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0.0)
        signal.setitimer(signal.ITIMER_REAL, 0.0)
    return refused, fault, time.process_time() - began


def listen() -> None:
    """Let an alarm end a case that takes too long."""

    def ring(*_: object) -> None:
        raise TooSlow

    signal.signal(signal.SIGALRM, ring)
    signal.signal(signal.SIGPROF, ring)


def batch(reader: Reader, cases: Sequence[int], tally: Tally) -> None:
    """Run cases in a process of their own, so that a crash of a library is seen and survived."""
    read, write = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(read)
        os.dup2(os.open(os.devnull, os.O_WRONLY), 2)  # libraries complain about every spoilt tag
        _run(reader, cases, write)
        os._exit(0)
    os.close(write)
    with os.fdopen(read) as pipe:
        lines = pipe.read().splitlines()
    status = os.waitpid(child, 0)[1]
    told = json.loads(lines[-1]) if lines and lines[-1].startswith("{") else None
    if told is None:
        last = lines[-1] if lines else "?"
        tally.faults.append(f"the process died ({os.waitstatus_to_exitcode(status)}) after case {last}")
        return
    tally.cases += len(cases)
    tally.refused += told["refused"]
    tally.slowest_s = max(tally.slowest_s, told["slowest_s"])
    tally.growth_mb = max(tally.growth_mb, told["growth_mb"])
    tally.faults += told["faults"]


def _run(reader: Reader, cases: Sequence[int], pipe: int) -> None:
    listen()
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    refused, slowest, faults = 0, 0.0, list[str]()
    with tempfile.TemporaryDirectory(prefix="underoak-fuzz-", dir=memory()) as name:
        folder = Path(name) / "in"
        folder.mkdir()
        for number, case in enumerate(cases):
            if number % 100 == 0:
                os.write(pipe, f"{case}\n".encode())
            said_no, fault, took = one(reader, case, folder)
            refused += said_no
            slowest = max(slowest, took)
            if fault:
                faults.append(f"case {case}: {fault}")
        strangers = [p.name for p in Path(name).rglob("*") if p != folder and p.stem != "file"]
        faults += [f"cases {cases[0]} on: wrote {stranger}" for stranger in strangers[:3]]
    growth = (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) // 1024
    if growth > MOST_GROWTH_MB:
        faults.append(f"cases {cases[0]} on: {growth} MB more memory")
    told = {"refused": refused, "slowest_s": slowest, "growth_mb": growth, "faults": faults}
    os.write(pipe, ("\n" + json.dumps(told)).encode())


def run(every: Sequence[Reader], cases: int, first: int = 0) -> list[Tally]:
    """So many cases in all, shared among the readers; each reader's figures are printed."""
    tallies = []
    most = max(1, -(-cases // len(every)))
    for reader in every:
        tally = Tally(reader.name)
        for start in range(first, first + most, BATCH):
            batch(reader, range(start, min(start + BATCH, first + most)), tally)
        tallies.append(tally)
        print(tally.line(), flush=True)
    return tallies


def main() -> int:
    """Run from the command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cases", type=int, default=1_000_000)
    parser.add_argument("--first", type=int, default=0, help="number of the first case of each reader")
    parser.add_argument("--reader", default=None)
    parser.add_argument("--case", type=int, default=None)
    parser.add_argument("--write", type=Path, default=None)
    options = parser.parse_args()
    every = [reader for reader in readers() if options.reader in (None, reader.name)]
    if options.write:
        options.write.write_bytes(spoil(every[0], options.case))
        return 0
    if options.case is not None:
        listen()
        with tempfile.TemporaryDirectory() as folder:
            print(one(every[0], options.case, Path(folder)))
        return 0
    tallies = run(every, options.cases, options.first)
    faults = sum(len(tally.faults) for tally in tallies)
    print(f"{sum(t.cases for t in tallies)} cases, {len(tallies)} readers, {faults} faults")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
