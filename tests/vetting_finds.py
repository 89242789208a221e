"""Observation documents for tests: a careful person's notes on a typical, sound, mature body."""

from __future__ import annotations

from typing import Any

from underoak.book.load import Book, load_book
from underoak.model.strict import validate_document
from underoak.model.vetting import Observations

_USUAL_FIRST = ("always", "usually", "sometimes", "rarely", "never")
SOUND = {"wormy": "no", "soaked": "no", "frozen": "no", "rotten": "no"}
CLEAN_GROUND = {"treated": "no", "roadside": "no", "flooded_or_dumped": "no"}


def notes(taxon_id: str, book: Book | None = None, **changes: Any) -> dict[str, Any]:
    """Observations of a typical body; ``changes`` replace one (a state, a list, a number, a look) or drop it.

    None drops the observation, "not_looked", "cant_tell" and "absent" are looks, all else was seen.
    """
    book = book or load_book()
    look = book.taxa[taxon_id].look
    noted: dict[str, Any] = {}
    for name, row in look.states.items():
        state = min(row, key=lambda each: (_USUAL_FIRST.index(row[each]), each))
        noted[name] = observation(state)
    for name, spread in look.measures.items():
        noted[name] = observation((spread[1] + spread[2]) / 2.0)
    for name in [name for name in noted if _senseless(book, noted, name)]:
        del noted[name]
    for name, value in changes.items():
        if value is None:
            noted.pop(name, None)
        else:
            noted[name] = observation(value)
    return noted


def _senseless(book: Book, noted: dict[str, Any], name: str) -> bool:
    """Nobody notes the gills of a polypore."""
    return any(
        parent in noted and not set(noted[parent].get("states", ())) & set(states)
        for parent, states in book.characters[name].needs.items()
    )


def observation(value: Any) -> dict[str, Any]:
    """One observation in the document's form."""
    if isinstance(value, dict):
        return value
    if value in ("not_looked", "cant_tell", "absent"):
        return {"look": value}
    if isinstance(value, (int, float)):
        return {"look": "seen", "value": float(value)}
    return {"look": "seen", "states": [value] if isinstance(value, str) else list(value)}


def body(observations: dict[str, Any], **changes: Any) -> dict[str, Any]:
    """One sound, mature, single body."""
    return {"id": "1", "age": "mature", "condition": SOUND, "observations": observations, **changes}


def document(target: str | None, *bodies: dict[str, Any], **changes: Any) -> Observations:
    """A document on clean ground whose lot holds just these bodies."""
    plain = {
        "format": "underoak observations 1",
        "target": target,
        "bodies_in_lot": sum(b.get("stems", 1) for b in bodies),
        "ground": CLEAN_GROUND,
        "bodies": list(bodies),
        **changes,
    }
    record, problems = validate_document(Observations, plain, "test document")
    assert record is not None, problems
    return record


def find_of(target: str, **changes: Any) -> Observations:
    """A typical body of ``target`` under its own name, with some observations changed."""
    return document(target, body(notes(target, **changes)))
