"""What an invented careful person notes about an invented find, as an observation document."""

from __future__ import annotations

from collections.abc import Collection
from typing import Any

from underoak.book.load import Book
from underoak.model.book import Taxon

#: Constancies from most to least often met; the invented body shows the most usual state.
_USUAL_FIRST = ("always", "usually", "sometimes", "rarely")


def noted_find(
    book: Book,
    taxon_id: str,
    *,
    target: str,
    bodies: int = 1,
    stems: int = 1,
    day_of_year: int,
    not_looked: Collection[str] = (),
) -> dict[str, Any]:
    """The document of a find whose bodies truly are ``taxon_id`` while somebody has ``target`` in mind.

    Every character of the taxon is noted as a typical mature body shows it, but for ``not_looked``.
    ``stems`` above 1 makes each body a joined cluster on which every stem was looked at.
    """
    taxon = book.taxa[taxon_id]
    noted = {**_states(taxon, stems), **_measures(taxon, stems)}
    observations = {
        name: seen
        for name, seen in noted.items()
        if name not in not_looked and _makes_sense(book, name, noted)
    }
    return {
        "format": "underoak observations 1",
        "target": target,
        "day_of_year": day_of_year,
        "bodies_in_lot": bodies * stems,
        "ground": {"treated": "no", "roadside": "no", "flooded_or_dumped": "no"},
        "bodies": [
            {
                "id": f"{'cluster' if stems > 1 else 'body'} {number}",
                "kind": "cluster" if stems > 1 else "single",
                "stems": stems,
                "age": "mature",
                "condition": {"wormy": "no", "soaked": "no", "frozen": "no", "rotten": "no"},
                "observations": observations,
            }
            for number in range(1, bodies + 1)
        ],
    }


def _makes_sense(book: Book, name: str, noted: dict[str, dict[str, Any]]) -> bool:
    """Whether what the character needs was noted, such as gills for their colour."""
    return all(
        set(noted.get(other, {}).get("states", ())) & set(states)
        for other, states in book.characters[name].needs.items()
    )


def _states(taxon: Taxon, stems: int) -> dict[str, dict[str, Any]]:
    noted: dict[str, dict[str, Any]] = {}
    for name, row in taxon.look.states.items():
        if name == "age":
            continue
        state = min(
            row, key=lambda each: (_USUAL_FIRST.index(row[each]) if row[each] != "never" else 9, each)
        )
        noted[name] = _seen(
            stems, **({"look": "absent"} if state == "absent" else {"look": "seen", "states": [state]})
        )
    return noted


def _measures(taxon: Taxon, stems: int) -> dict[str, dict[str, Any]]:
    return {
        name: _seen(stems, look="seen", value=round((spread[1] + spread[2]) / 2.0, 1))
        for name, spread in taxon.look.measures.items()
    }


def _seen(stems: int, **noted: Any) -> dict[str, Any]:
    return {**noted, "stems": stems} if stems > 1 else noted
