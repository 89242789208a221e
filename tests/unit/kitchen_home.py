"""An invented day in the woods in the ledger, ready for the kitchen."""

from __future__ import annotations

import json
from datetime import date

from underoak.book.load import load_book
from underoak.ledger.database import open_ledger, writing
from underoak.ledger.places import store_places, store_spots
from underoak.ledger.visits import store_visits
from underoak.model.ground import Permission, Place, Spot
from underoak.model.kitchen import VerdictState
from underoak.model.visits import Find, Search, Visit
from underoak.settings import Home

DAY = date(2026, 10, 17)
#: What was looked at, in the form that vetting stores.
SEEN = {
    "format": "underoak observations 1",
    "bodies_in_lot": 2,
    "bodies": [{"id": "a", "observations": {"underside": {"look": "seen", "states": ["pores"]}}}],
}


def with_finds(home: Home, finds: list[tuple[str, str, float, VerdictState | None]]) -> Home:
    """Store one visit on `DAY` with (find id, taxon id, grams, verdict state)."""
    square = ((-74.6, 41.4), (-74.4, 41.4), (-74.4, 41.6), (-74.6, 41.6), (-74.6, 41.4))
    place = Place("hollow", "Invented Hollow", ((square,),), Permission("allowed", who="the invented owner"))
    spot = Spot("big_oak", "hollow", "the big oak", -74.5, 41.5, "white_oak", 90.0)
    found = tuple(Find(i, "big_oak", taxon, "prime", bodies=2, fresh_g=grams) for i, taxon, grams, _ in finds)
    visit = Visit("v1", DAY, "hollow", 120.0, ("Ada", "Ben"), (Search("big_oak", 0.9),), found)
    connection = open_ledger(home.ledger)
    with writing(connection):
        store_places(connection, [place])
        store_spots(connection, [spot])
        store_visits(connection, [visit])
        for find_id, taxon, _, state in finds:
            if state is not None:
                give_verdict(connection, find_id, taxon, state)
    connection.close()
    return home


def give_verdict(connection, find_id: str, taxon: str, state: VerdictState, bodies: int = 2) -> None:  # type: ignore[no-untyped-def]
    connection.execute(
        "INSERT INTO verdict VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        (
            f"verdict-{find_id}-{state}",
            find_id,
            taxon,
            state,
            bodies,
            DAY.isoformat(),
            load_book().version,
            json.dumps(SEEN),
            json.dumps({"state": state}),
            "Dr. Invented" if state == "confirmed" else None,
        ),
    )
