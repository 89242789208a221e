"""What was seen on a find, as lines: for the trace and the incident sheet."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from underoak.book.load import load_book
from underoak.ledger.evidence import FindEvidence
from underoak.model.characters import character_name
from underoak.sheets.wording import BOUGHT


def verdict_words(evidence: FindEvidence | None) -> str:
    """The last verdict in one line: state, day, by how many bodies, and who confirmed; None: bought."""
    if evidence is None:
        return BOUGHT
    if evidence.state is None:
        return "never vetted"
    looked_at = f"{bodies_words(evidence.verdict_bodies)}, book {evidence.verdict_book}"
    words = f"{evidence.state} on {evidence.given_on}, {looked_at}"
    return f"{words}, confirmed by {evidence.confirmed_by}" if evidence.confirmed_by else words


def bodies_words(count: int | None) -> str:
    """So many bodies, in words."""
    return "1 body" if count == 1 else f"{count} bodies"


def seen_words(observations: Any) -> Iterator[str]:
    """One line a body with what was seen on it; characters that were not looked at are not named."""
    bodies = observations.get("bodies", ()) if isinstance(observations, dict) else ()
    for body in bodies:
        seen = [
            f"{character_name(character)}: {_value(found, character)}"
            for character, found in body.get("observations", {}).items()
            if found.get("look") in ("seen", "absent")
        ]
        name = str(body["id"])
        yield (
            (name if name.startswith("body") else f"body {name}")
            + ": "
            + ("; ".join(seen) if seen else "nothing noted")
        )


def _value(found: dict[str, Any], character_id: str) -> str:
    if found["look"] == "absent":
        return "absent"
    states = ", ".join(state.replace("_", " ") for state in found.get("states", ()))
    if states or found.get("value") is None:
        return states or "seen"
    character = load_book().characters.get(character_id)
    return f"{found['value']:g} {character.unit if character else ''}".rstrip()
