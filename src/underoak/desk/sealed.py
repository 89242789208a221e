"""Backups under a passphrase, in the age format, by the library pyrage (an optional extra)."""

from __future__ import annotations

import importlib
import re
from typing import Any

from underoak.errors import NoAnswer, UserMistake

#: How every file in the age format begins. Source: age-encryption.org/v1 (from memory).
AGE_MAGIC = b"age-encryption.org/v1"
#: The rounds that a passphrase costs stand in the open, as a power of two; each takes 1 kB of memory.
_WORK = re.compile(rb"age-encryption\.org/v1\n-> scrypt \S{1,40} (\d{1,3})\n")
#: What seals here takes a second, some 2^18 rounds; 2^20 take 1 GB of memory.
MOST_WORK = 20
_MOST_TRIES = 20
#: A passphrase that stands between a thief and every spot.
SHORTEST = 10


def seal(data: bytes, passphrase: str) -> bytes:
    """The bytes under a passphrase; any program for age files opens them too.

    Raises UserMistake for a short passphrase and NoAnswer without the library.
    """
    if len(passphrase) < SHORTEST:
        raise UserMistake(f"a passphrase of {len(passphrase)} letters", expected=f"at least {SHORTEST}")
    sealed: bytes = _library().passphrase.encrypt(data, passphrase)
    return sealed


def unseal(data: bytes, passphrase: str | None) -> bytes:
    """The bytes of a backup, opened where they are sealed.

    Raises UserMistake without a passphrase where one is needed, NoAnswer for a wrong one or damaged bytes.
    """
    if not data.startswith(AGE_MAGIC):
        return data
    if passphrase is None:
        raise UserMistake("this backup is sealed", remedy="say --passphrase-file FILE, or --ask-passphrase")
    work = _WORK.match(data)
    if work and int(work[1]) > MOST_WORK:
        raise NoAnswer(
            f"the backup asks for 2^{int(work[1])} rounds to open, which fills the memory",
            remedy="was it made by 'underoak backup'? Another program for age files can open it",
        )
    return _opened(data, passphrase)


def _opened(data: bytes, passphrase: str) -> bytes:
    """The library refuses what it thinks will take too long, by how fast a busy computer is just then."""
    library = _library()
    for tries_left in range(_MOST_TRIES - 1, -1, -1):
        try:
            opened: bytes = library.passphrase.decrypt(data, passphrase)
        except library.DecryptError as error:
            busy = "Excessive work" in str(error)
            if busy and tries_left:
                continue
            remedy = "check the passphrase; if it is right, the file is damaged"
            if busy:
                remedy = "this computer is too busy just now: close other programs and try again"
            raise NoAnswer(f"the backup does not open: {error}", remedy=remedy) from error
        return opened
    raise AssertionError


def _library() -> Any:
    try:
        return importlib.import_module("pyrage")
    except ImportError as error:
        raise NoAnswer(
            "sealed backups need the library pyrage", remedy="install it with: pip install 'underoak[age]'"
        ) from error
