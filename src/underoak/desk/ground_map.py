"""Everything on the ground as layers for a map on the screen."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from underoak.book.hosts import host_groups
from underoak.export.geojson import line_feature, point_feature
from underoak.ledger.connection import Ledger
from underoak.ledger.database import open_ledger
from underoak.ledger.ground import terrains, trails, trees
from underoak.ledger.places import car_parks, places, spots
from underoak.ledger.recent import finds_by_spot
from underoak.settings import Home

if TYPE_CHECKING:
    from underoak.model.ground import Place, Terrain

#: Contour lines of one grid, points of a grid's longer side, and trees, that a screen bears.
MOST_LEVELS, MOST_CELLS, MOST_TREES = 14, 160, 8000
_INTERVALS_M = (5, 10, 20, 50, 100, 200)


def ground_map(home: Home) -> str:
    """JSON text: one GeoJSON collection each for places, contours, trails, trees, spots and car parks."""
    connection = open_ledger(home.ledger)
    try:
        layers = {
            "places": [_place(place) for place in places(connection)],
            "contours": [line for grid in terrains(connection) for line in _contours(grid)],
            "trails": [
                line_feature(t.points, {"name": t.name, "closed": t.closed, "surface": t.surface})
                for t in trails(connection)
                if len(t.points) > 1
            ],
            "trees": list(_trees(connection)),
            "spots": list(_spots(connection)),
            "car_parks": [
                point_feature((c.longitude_deg, c.latitude_deg), {"name": c.name})
                for c in car_parks(connection)
            ],
        }
    finally:
        connection.close()
    collections = {
        name: {"type": "FeatureCollection", "features": features} for name, features in layers.items()
    }
    where = home.settings.where
    return json.dumps({"home": [where.latitude_deg, where.longitude_deg], **collections}, ensure_ascii=False)


def _place(place: Place) -> dict[str, Any]:
    geometry = {"type": "MultiPolygon", "coordinates": place.polygons}
    told = {"name": place.name, "permission": place.permission.status, "who": place.permission.who}
    return {"type": "Feature", "geometry": geometry, "properties": told}


def _trees(connection: Ledger) -> Iterator[dict[str, Any]]:
    """The thickest host trees."""
    groups = host_groups()
    every = sorted(trees(connection), key=lambda t: (-(t.diameter_cm or 0.0), t.id))
    for tree in every[:MOST_TREES]:
        group = groups.get(tree.host_group)
        told = {
            "id": tree.id,
            "name": tree.species_text,
            "kind": group.kind if group else "unknown",
            "oak": tree.host_group in ("oak", "white_oak", "red_oak"),
            "diameter_cm": tree.diameter_cm,
            "condition": tree.condition,
        }
        yield point_feature((tree.longitude_deg, tree.latitude_deg), told)


def _spots(connection: Ledger) -> Iterator[dict[str, Any]]:
    given = finds_by_spot(connection)
    for spot in spots(connection):
        finds, last = given.get(spot.id, (0, ""))
        told = {"id": spot.id, "name": spot.name, "finds": finds, "last": last}
        yield point_feature((spot.longitude_deg, spot.latitude_deg), told)


def _contours(grid: Terrain) -> Iterator[dict[str, Any]]:
    import numpy as np

    from underoak.sheets.contours import contour_lines

    thin = max(1, max(grid.elevation_m.shape) // MOST_CELLS)
    heights = grid.elevation_m[::thin, ::thin]
    if min(heights.shape) < 2 or not np.isfinite(heights).any():
        return
    low, high = float(np.nanmin(heights)), float(np.nanmax(heights))
    interval = next((i for i in _INTERVALS_M if (high - low) / i <= MOST_LEVELS), _INTERVALS_M[-1])
    for level in range(int(low // interval + 1) * interval, int(high) + 1, interval):
        for line in contour_lines(heights, float(level)):
            if len(line) > 3:
                points = [
                    (
                        grid.west_deg + (column * thin + 0.5) * grid.step_lon_deg,
                        grid.north_deg - (row * thin + 0.5) * grid.step_lat_deg,
                    )
                    for column, row in line
                ]
                yield line_feature(points, {"elevation_m": level})
