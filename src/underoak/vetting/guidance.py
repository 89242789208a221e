"""How many checks a find needs: asked in the order of the next check, or in a fixed order."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from underoak.model.vetting import Observations, Verdict
from underoak.vetting.verdict import evaluate

if TYPE_CHECKING:
    from underoak.book.load import Book


def guided_checks(book: Book, document: Observations) -> int | None:
    """Checks made until a single-bodied find is consistent, always making the one advised next.

    ``document`` holds what every check would show. None when the advice ends before that.
    """
    done: list[str] = []
    verdict = _with(book, document, done)
    while verdict.state == "open":
        there = document.bodies[0].observations
        advised = [c.character for c in verdict.next_checks if c.character in there]
        if not advised:
            return None
        done.append(advised[0])
        verdict = _with(book, document, done)
    return len(done) if verdict.state == "consistent" else None


def fixed_checks(book: Book, document: Observations) -> int | None:
    """The same, going through the characters in the order of the book."""
    there = [name for name in book.characters if name in document.bodies[0].observations]
    for number in range(len(there) + 1):
        if _with(book, document, there[:number]).state == "consistent":
            return number
    return None


def _with(book: Book, document: Observations, names: Sequence[str]) -> Verdict:
    body = document.bodies[0]
    some = {name: body.observations[name] for name in names}
    return evaluate(
        book, document.model_copy(update={"bodies": (body.model_copy(update={"observations": some}),)})
    )
