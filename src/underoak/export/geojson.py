"""Lines and points as GeoJSON (RFC 7946)."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Any

from underoak.model.ground import LonLat
from underoak.model.plain import as_plain

#: Decimals kept of a degree: about a centimetre.
DECIMALS = 7


def _position(point: LonLat) -> list[float]:
    return [round(point[0], DECIMALS), round(point[1], DECIMALS)]


def line_feature(line: Sequence[LonLat], properties: Mapping[str, Any]) -> dict[str, Any]:
    """A LineString feature of at least two (longitude, latitude) points."""
    if len(line) < 2:
        raise ValueError("a line has at least two points")
    geometry = {"type": "LineString", "coordinates": [_position(p) for p in line]}
    return {"type": "Feature", "geometry": geometry, "properties": as_plain(dict(properties))}


def point_feature(point: LonLat, properties: Mapping[str, Any]) -> dict[str, Any]:
    """A Point feature at (longitude, latitude)."""
    geometry = {"type": "Point", "coordinates": _position(point)}
    return {"type": "Feature", "geometry": geometry, "properties": as_plain(dict(properties))}


def collection_text(features: Sequence[Mapping[str, Any]]) -> str:
    """A FeatureCollection as text."""
    return (
        json.dumps({"type": "FeatureCollection", "features": list(features)}, ensure_ascii=False, indent=1)
        + "\n"
    )
