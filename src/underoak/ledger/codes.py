"""Codes of batches and jars: the household's tag before them, and what a person means who leaves it out.

A batch made by a household with the tag 7QK on 3 October 2026 is 7QK-261003-1, its second jar
7QK-261003-1-02. Batches made before there were tags have none.
"""

from __future__ import annotations

import re
import secrets
from collections.abc import Callable, Sequence
from datetime import date

from underoak.errors import UserMistake
from underoak.ledger.connection import Ledger

#: Letters and digits that nobody takes for one another, and that make no words; QR codes keep them small.
LETTERS = "BCDFGHJKMNPQRSTVWXZ23456789"
TAG_LENGTH = 3
_TAG = re.compile(r"[0-9A-Z]{3}")


def fresh_tag(choice: Callable[[Sequence[str]], str] = secrets.choice) -> str:
    """A tag by chance, one of 19,683: that two of ten households share one happens once in 400 times."""
    return "".join(choice(LETTERS) for _ in range(TAG_LENGTH))


def store_tag(connection: Ledger, tag: str) -> None:
    """Keep the household's tag inside the caller's transaction; one that is there already stays.

    Raises UserMistake for anything but three letters or digits.
    """
    if not _TAG.fullmatch(tag):
        raise UserMistake(f"the tag {tag!r}", expected="three capital letters or digits, such as 7QK")
    connection.execute("INSERT INTO household VALUES (1, ?) ON CONFLICT (one) DO NOTHING", (tag,))


def stored_tag(connection: Ledger) -> str:
    """The household's tag, empty where there is none yet."""
    row = connection.execute("SELECT tag FROM household").fetchone()
    return str(row[0]) if row else ""


def next_batch_id(
    connection: Ledger, made_on: date, choice: Callable[[Sequence[str]], str] = secrets.choice
) -> str:
    """Tag, day and number of the next batch made on a day, such as 7QK-261017-2; inside a transaction.

    A home from before there were tags gets its own with its next batch.
    """
    if not stored_tag(connection):
        store_tag(connection, fresh_tag(choice))
    start = f"{stored_tag(connection)}-{made_on:%y%m%d}-"
    rows = connection.execute("SELECT id FROM batch WHERE substr(id, 1, ?) = ?", (len(start), start))
    taken = [int(row[0][len(start) :]) for row in rows.fetchall() if row[0][len(start) :].isdigit()]
    return f"{start}{max(taken, default=0) + 1}"


def batch_meant(connection: Ledger, text: str) -> str | None:
    """Id of the batch that a person means, with the tag or without; None where there is none such."""
    return _meant(connection, "SELECT id FROM batch WHERE ", "id", text)


def jar_meant(connection: Ledger, text: str) -> str | None:
    """Code of the jar that a person means, with the tag or without; None where there is none such."""
    return _meant(connection, "SELECT code FROM jar WHERE ", "code", text)


def _meant(connection: Ledger, question: str, column: str, text: str) -> str | None:
    """The very code first, then this household's own, then the only one of another household.

    **Fails towards** asking: where several other households have such a code, nothing is guessed.
    """
    wanted = text.strip().lower()
    for code in (wanted, f"{stored_tag(connection).lower()}-{wanted}"):
        row = connection.execute(f"{question}lower({column}) = ?", (code,)).fetchone()
        if row:
            return str(row[0])
    others = [
        str(row[0])
        for row in connection.execute(
            f"{question}substr({column}, {TAG_LENGTH + 1}, 1) = '-' "
            f"AND lower(substr({column}, {TAG_LENGTH + 2})) = ? ORDER BY {column}",
            (wanted,),
        ).fetchall()
    ]
    if len(others) > 1:
        raise UserMistake(f"{text!r} stands on labels of several households", expected=", ".join(others))
    return others[0] if others else None
