"""Pairing the family's telephones: a code that is shown at the computer, and a session for each phone."""

from __future__ import annotations

import hmac
import secrets
import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime, timedelta

#: Letters and digits that are not taken for each other.
_LETTERS = "ABCDEFGHJKMNPQRSTUVWXYZ23456789"
CODE_LENGTH = 8
#: How long a code can be used, and how many wrong ones are taken in that time, from one address and in all.
CODE_LASTS = timedelta(minutes=10)
MOST_WRONG, MOST_WRONG_IN_ALL = 5, 20
#: How long a paired phone stays paired.
PHONE_LASTS = timedelta(hours=24)


@dataclass
class Pairing:
    """Who may come in from the household's network. All of it ends with the server."""

    now: Callable[[], datetime]
    hosts: tuple[str, ...]
    code: str = ""
    until: datetime | None = None
    wrong: dict[str, int] = field(default_factory=dict)
    phones: dict[str, datetime] = field(default_factory=dict)
    _lock: threading.Lock = field(default_factory=threading.Lock)

    def new_code(self) -> str:
        """A fresh code; the one before no longer counts, and wrong tries are forgotten."""
        with self._lock:
            self.code = "".join(secrets.choice(_LETTERS) for _ in range(CODE_LENGTH))
            self.until = self.now() + CODE_LASTS
            self.wrong.clear()
            return self.code

    def open(self) -> bool:
        """Whether a code can be used at all just now."""
        in_all = sum(self.wrong.values())
        return self.until is not None and self.now() < self.until and in_all < MOST_WRONG_IN_ALL

    def pair(self, code: str, address: str, session: str) -> bool:
        """Let a phone in when its code is right; every wrong one is counted."""
        with self._lock:
            if not self.open() or self.wrong.get(address, 0) >= MOST_WRONG:
                return False
            told = "".join(c for c in code.upper() if c.isalnum())
            if not hmac.compare_digest(told.encode(), self.code.encode()):
                self.wrong[address] = self.wrong.get(address, 0) + 1
                return False
            self.phones[session] = self.now() + PHONE_LASTS
            return True

    def knows(self, session: str) -> bool:
        """Whether this session belongs to a paired phone."""
        until = self.phones.get(session)
        return until is not None and self.now() < until

    def forget_all(self) -> None:
        """Send every phone away."""
        self.phones.clear()
