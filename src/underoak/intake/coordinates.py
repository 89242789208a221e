"""Whether two numbers from outside are a longitude and a latitude."""

from __future__ import annotations

import math

from underoak.model.ground import LonLat
from underoak.model.problem import Problem

#: Nobody gathers farther than this from home; beyond it a swapped pair is looked for. Judgement.
FAR_DEG = 8.0


def position_problem(lon: float, lat: float, where: str, home: LonLat | None = None) -> Problem | None:
    """What is wrong with a position in degrees, or None.

    ``home`` (longitude, latitude) lets a swapped pair be told where both readings are possible: the pair
    as given lies more than 8 degrees from home, the swapped one does not.
    """
    swapped = "longitude first, then latitude, in degrees"
    if not (math.isfinite(lon) and math.isfinite(lat)):
        return Problem("a coordinate is no number", where, swapped)
    if abs(lon) > 180.0 and abs(lat) > 90.0:
        return Problem(
            f"({lon:g}, {lat:g}) are no degrees, they look like metres or feet of a map grid",
            where,
            "longitude and latitude (WGS 84)",
            "export it again with the coordinate system EPSG:4326",
        )
    if abs(lat) > 90.0 and abs(lon) <= 90.0:
        return Problem(
            f"latitude {lat:g} is beyond 90: latitude and longitude look swapped", where, swapped, "swap them"
        )
    if abs(lat) > 90.0 or abs(lon) > 180.0:
        return Problem(f"({lon:g}, {lat:g}) is nowhere on Earth", where, swapped)
    if home is not None and not _near(lon, lat, home) and _near(lat, lon, home):
        return Problem(
            f"({lon:g}, {lat:g}) is far from home, but near it when latitude and longitude are swapped",
            where,
            swapped,
            "swap them",
        )
    return None


def _near(lon: float, lat: float, home: LonLat) -> bool:
    apart = abs((lon - home[0] + 180.0) % 360.0 - 180.0)
    return apart <= FAR_DEG and abs(lat - home[1]) <= FAR_DEG
