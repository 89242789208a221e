"""What a trial comes to, and processes that are killed on purpose."""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Callable
from dataclasses import dataclass, field

from underoak.errors import UnderoakError
from underoak.ledger.database import in_words


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
