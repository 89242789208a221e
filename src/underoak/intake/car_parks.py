"""Car parks among GeoJSON features: marked points, or areas as a map tags them."""

from __future__ import annotations

from underoak.intake.geojson import Feature
from underoak.intake.stable_id import stable_id
from underoak.model.ground import CarPark


def car_park_of(feature: Feature) -> CarPark | None:
    """The car park a feature stands for, or None.

    A Point or Polygon with ``kind`` = "car_park", or ``amenity`` = "parking" without ``access`` = private
    or no; an area counts with the mean of its outline.
    """
    by_map = feature.text("amenity") == "parking" and feature.text("access") not in ("private", "no")
    if not (feature.text("kind") == "car_park" or by_map) or feature.geometry not in ("Point", "Polygon"):
        return None
    corners = [feature.coordinates] if feature.geometry == "Point" else feature.coordinates[0][:-1]
    lon = round(sum(c[0] for c in corners) / len(corners), 7)
    lat = round(sum(c[1] for c in corners) / len(corners), 7)
    return CarPark(
        stable_id("carpark", lon, lat), feature.text("name") or f"car park at {lat:.5f}, {lon:.5f}", lon, lat
    )
