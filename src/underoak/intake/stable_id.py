"""Ids that depend on what a thing is, not on when it was loaded: loading twice changes nothing."""

from __future__ import annotations

import hashlib
import unicodedata


def stable_id(kind: str, *parts: object) -> str:
    """``kind-`` and 12 hex digits of a SHA-256 over the parts; floats count to 7 decimals."""
    text = "\x1f".join(f"{part:.7f}" if isinstance(part, float) else str(part) for part in parts)
    return f"{kind}-{hashlib.sha256(text.encode()).hexdigest()[:12]}"


def named_id(kind: str, name: str) -> str:
    """An id that can be read aloud, from a name: ``named_id("place", "Oak Hill")`` is ``place-oak-hill``.

    Names that plain letters cannot carry get a digest instead, so different names stay different.
    """
    key = " ".join(name.casefold().split())
    plain = unicodedata.normalize("NFKD", key).encode("ascii", "ignore").decode()
    words = "".join(c if c.isalnum() else " " for c in plain).split()
    if key == " ".join(words):
        return f"{kind}-{'-'.join(words)}"
    return stable_id(kind + "".join(f"-{word}" for word in words[:4]), key)
