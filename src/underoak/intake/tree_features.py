"""Trees and host patches from GeoJSON features."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from underoak.book.hosts import match_host
from underoak.intake import tree_names
from underoak.intake.geojson import Feature
from underoak.intake.stable_id import stable_id
from underoak.intake.table import Row, plain_header
from underoak.intake.trunk import DIAMETER_NAMES, Trunk, trunk_column
from underoak.model.ground import HostPatch, LonLat, Tree
from underoak.model.problem import Problem

#: Words for how many host stems stand on a hectare, where nobody counted. Judgement.
HOW_MANY = {"few": 5.0, "some": 20.0, "many": 60.0}
#: "Along here" means this far on either side of the line [m]. Judgement.
ALONG_M = 15.0
#: More trunks than this do not fit on a hectare of wood one can walk through. Judgement.
MOST_STEMS_HA = 5000.0
_HOW = 'stems_per_ha, count, or how_many = "few", "some" or "many"'


def tree_of_point(feature: Feature, unit: str | None) -> Tree | Problem:
    """The tree a point stands for, without its id, or its problem."""
    cells = {plain_header(k): "" if v is None else str(v) for k, v in feature.properties.items()}
    row = Row(feature.number, feature.where, cells)
    species = next((row.text(name) for name in tree_names.SPECIES if row.text(name)), "")
    header = next((h for h in cells if DIAMETER_NAMES.match(h)), None)
    trunk = trunk_column(header, unit, feature.where) if header else None
    diameter = trunk.diameter_cm(row) if isinstance(trunk, Trunk) else trunk
    if isinstance(diameter, Problem):
        return diameter
    condition = next((row.text(name) for name in tree_names.CONDITION if row.text(name)), "")
    return tree_names.tree_of(feature.coordinates, species, diameter, tree_names.condition_of(condition))


def patches_of(feature: Feature) -> list[HostPatch | Problem]:
    """Host patches of an area, or of a line with 15 m on either side.

    ``hosts`` maps tree names to stems on a hectare; or ``host`` (else ``note`` or ``name``) names the tree
    and ``stems_per_ha``, ``count`` or ``how_many`` says how many.
    """
    polygons = _areas(feature)
    hosts = feature.properties.get("hosts")
    if isinstance(hosts, Mapping) and hosts:
        return [_patch(feature, polygons, str(host), stems) for host, stems in hosts.items()]
    words = feature.text("host") or feature.text("note", "name")
    return [_patch(feature, polygons, words, _stems_ha(feature, polygons))]


def _patch(feature: Feature, polygons: Polygons, words: str, stems: Any) -> HostPatch | Problem:
    group = match_host(words)
    if group == "unknown":
        return Problem(
            f"no host tree is recognised in {words!r}", feature.where, "a property host, such as red oak"
        )
    if isinstance(stems, bool) or not isinstance(stems, (int, float)) or not 0.0 < stems <= MOST_STEMS_HA:
        return Problem(
            f"{stems!r} stems of {group} on a hectare", feature.where, f"{_HOW}, up to {MOST_STEMS_HA:.0f}"
        )
    return HostPatch(
        stable_id("patch", polygons, group), feature.text("name", "note"), polygons, group, float(stems)
    )


def _stems_ha(feature: Feature, polygons: Polygons) -> Any:
    if "stems_per_ha" in feature.properties:
        return feature.properties["stems_per_ha"]
    count = feature.properties.get("count")
    if isinstance(count, (int, float)) and not isinstance(count, bool):
        return count / (area_m2(polygons) / 10_000.0)
    return HOW_MANY.get(feature.text("how_many").casefold())


Polygons = tuple[tuple[tuple[LonLat, ...], ...], ...]


def _areas(feature: Feature) -> Polygons:
    if feature.geometry == "Polygon":
        polygon: tuple[tuple[LonLat, ...], ...] = feature.coordinates
        return (polygon,)
    if feature.geometry == "MultiPolygon":
        polygons: Polygons = feature.coordinates
        return polygons
    return _strip(feature.coordinates)


def _scale(lat: float) -> tuple[float, float]:
    """Metres for a degree of longitude and latitude, on a sphere; good to half a percent."""
    return 111_320.0 * math.cos(math.radians(lat)), 111_195.0


def _strip(line: Sequence[LonLat]) -> Polygons:
    from shapely import LineString

    east, north = _scale(line[0][1])
    strip = LineString([(x * east, y * north) for x, y in line]).buffer(ALONG_M, quad_segs=2)
    rings = [strip.exterior, *strip.interiors]
    return (
        tuple(tuple((round(x / east, 7), round(y / north, 7)) for x, y in ring.coords) for ring in rings),
    )


def circle_round(middle: LonLat, radius_m: float) -> tuple[tuple[LonLat, ...], ...]:
    """The rings of a round area about a position in degrees, as a polygon of 16 corners."""
    east, north = _scale(middle[1])
    turns = [2.0 * math.pi * corner / 16 for corner in range(16)]
    ring = [
        (
            round(middle[0] + radius_m * math.cos(t) / east, 7),
            round(middle[1] + radius_m * math.sin(t) / north, 7),
        )
        for t in turns
    ]
    return ((*ring, ring[0]),)


def area_m2(polygons: Polygons) -> float:
    """Area of polygons in degrees [m2], on a sphere's local plane."""
    from shapely import Polygon

    east, north = _scale(polygons[0][0][0][1])
    return sum(
        Polygon(
            [(x * east, y * north) for x, y in rings[0]],
            [[(x * east, y * north) for x, y in r] for r in rings[1:]],
        ).area
        for rings in polygons
    )
