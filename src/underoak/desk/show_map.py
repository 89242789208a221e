"""The map of everything that is loaded, as a picture."""

from __future__ import annotations

from underoak.ledger.database import open_ledger
from underoak.ledger.ground import trails, trees
from underoak.ledger.places import car_parks, places, spots
from underoak.settings import Home
from underoak.sheets.map_shading import Shading
from underoak.sheets.places_map import places_map


def map_picture(home: Home, expected: Shading | None = None) -> str:
    """SVG text of all places, trails, trees, spots and car parks of a home; hatched by expected kilograms."""
    connection = open_ledger(home.ledger)
    try:
        return places_map(
            places(connection),
            trails(connection),
            trees(connection),
            spots(connection),
            car_parks(connection),
            expected=expected,
        )
    finally:
        connection.close()
