"""Which place a position lies in."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from underoak.model.ground import LonLat, Place


def place_at(lon: float, lat: float, places: Sequence[Place]) -> Place | None:
    """The first place whose outline holds the position (degrees), or None.

    Method: even-odd rule over all rings of a polygon, so holes are outside.
    """
    for place in places:
        if any(sum(_crossings(lon, lat, ring) for ring in rings) % 2 for rings in place.polygons):
            return place
    return None


def _crossings(lon: float, lat: float, ring: tuple[LonLat, ...]) -> int:
    count = 0
    for (x1, y1), (x2, y2) in pairwise(ring):
        if (y1 > lat) != (y2 > lat) and lon < x1 + (lat - y1) / (y2 - y1) * (x2 - x1):
            count += 1
    return count
