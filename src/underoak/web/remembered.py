"""Answers that are remembered for as long as the ledger does not change."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable
from pathlib import Path
from typing import Any, TypeVar, cast

from underoak.ledger.stamp import stamp
from underoak.model.club import ClubAddress

T = TypeVar("T")
#: Answers kept at a time.
MOST = 48


class Remembered:
    """Hands back an earlier answer while the ledger's files are the same, else works it out anew.

    Each question has a lock, so that ten visitors at once make one calculation.
    """

    def __init__(self, ledger: Path | ClubAddress) -> None:
        self.ledger = ledger
        self._lock = threading.Lock()
        self._answers: OrderedDict[Hashable, tuple[Hashable, Any]] = OrderedDict()
        self._busy: dict[Hashable, threading.Lock] = {}

    def version(self) -> Hashable:
        """What changes when something is stored."""
        return stamp(self.ledger)

    def answer(self, question: Hashable, work_out: Callable[[], T]) -> T:
        """The remembered answer to ``question``, or a new one."""
        with self._lock:
            busy = self._busy.setdefault(question, threading.Lock())
        with busy:
            version = self.version()
            with self._lock:
                known = self._answers.get(question)
            if known is not None and known[0] == version:
                return cast("T", known[1])
            found = work_out()
            self._keep(question, version, found)
            return found

    def _keep(self, question: Hashable, version: Hashable, found: Any) -> None:
        with self._lock:
            self._answers[question] = (version, found)
            self._answers.move_to_end(question)
            while len(self._answers) > MOST:
                old, _ = self._answers.popitem(last=False)
                self._busy.pop(old, None)
