"""A map of all places, trails, hosts and spots as SVG: for the screen, no outside tiles."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from xml.sax.saxutils import escape

from underoak.model.ground import CarPark, LonLat, Place, Spot, Trail, Tree
from underoak.sheets.map_shading import Shading

_WIDTH = 1000.0
_METRES_PER_DEGREE = 111_195.0
_STATUS_WORDS = {
    "allowed": "gathering allowed",
    "forbidden": "gathering forbidden",
    "unknown": "permission not known: scouting only",
}


@dataclass(frozen=True, slots=True)
class Frame:
    """How longitude and latitude become picture points; good for one valley."""

    west: float
    north: float
    scale: float
    shrink: float
    height: float

    def point(self, lonlat: LonLat) -> tuple[float, float]:
        """Picture point, x to the right and y down."""
        return (
            (lonlat[0] - self.west) * self.shrink * self.scale,
            (self.north - lonlat[1]) * self.scale,
        )


def places_map(
    places: Sequence[Place],
    trails: Sequence[Trail],
    trees: Sequence[Tree],
    spots: Sequence[Spot],
    car_parks: Sequence[CarPark],
    *,
    expected: Shading | None = None,
) -> str:
    """SVG text of the map, 1000 points wide.

    Big hosts are larger dots; known spots are diamonds with their names; car parks are squares with a P.
    With ``expected`` kilograms, places and spots are hatched the denser the more there is, the number
    stands beside them, and trees are left out. An empty ledger gives a picture that says so.
    """
    shown = expected or Shading("", {})
    frame = _frame(places, trails, spots, car_parks)
    if frame is None:
        return _svg(120.0, ['<text x="20" y="60" font-size="24">No place is loaded yet.</text>'])
    parts = [
        *([shown.patterns()] if expected else []),
        *(_outline(place, frame, shown) for place in places),
        *(_trail(trail, frame) for trail in trails),
        *(_tree(tree, frame) for tree in trees if not expected),
        *(_spot(spot, frame, shown) for spot in spots),
        *_numbers(spots, frame, shown),
        *(_car_park(park, frame) for park in car_parks),
        *(_place_name(place, frame, shown) for place in places),
        *_scale_bar(frame),
    ]
    if not expected:
        return _svg(frame.height, parts)
    below = frame.height + 140.0
    return _svg(below, [*parts, *shown.legend(_WIDTH - 20.0, below - 10.0)], f" {shown.words}.")


def _svg(height: float, parts: Sequence[str], said: str = "") -> str:
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDTH:.0f} {height:.0f}" '
        'font-family="Georgia, serif" role="img">'
        "<title>Places, trails, host trees and known spots</title>"
        "<desc>North is up. Dashed outline: permission not known or refused."
        f"{escape(said)}</desc>"
        f'<rect width="{_WIDTH:.0f}" height="{height:.0f}" fill="#fffdf8"/>'
    )
    return head + "\n".join(parts) + "</svg>\n"


def _frame(
    places: Sequence[Place], trails: Sequence[Trail], spots: Sequence[Spot], car_parks: Sequence[CarPark]
) -> Frame | None:
    points = [p for place in places for polygon in place.polygons for ring in polygon for p in ring]
    points = points or [p for trail in trails for p in trail.points]
    points += [(spot.longitude_deg, spot.latitude_deg) for spot in spots]
    points += [(park.longitude_deg, park.latitude_deg) for park in car_parks]
    if not points:
        return None
    west, east = min(p[0] for p in points), max(p[0] for p in points)
    south, north = min(p[1] for p in points), max(p[1] for p in points)
    shrink = math.cos(math.radians((south + north) / 2.0))
    margin = 0.04 * max((east - west) * shrink, north - south, 0.002)
    wide = (east - west) * shrink + 2.0 * margin
    scale = _WIDTH / wide
    return Frame(
        west=west - margin / shrink,
        north=north + margin,
        scale=scale,
        shrink=shrink,
        height=(north - south + 2.0 * margin) * scale,
    )


def _line(points: Sequence[LonLat], frame: Frame) -> str:
    return " ".join("{:.1f},{:.1f}".format(*frame.point(point)) for point in points)


def _outline(place: Place, frame: Frame, shown: Shading) -> str:
    status = place.permission.status
    dash = "" if status == "allowed" else ' stroke-dasharray="8 6"'
    rings = " ".join(f"M {_line(ring, frame)} Z" for polygon in place.polygons for ring in polygon)
    number = shown.number(place.id)
    words = escape(f"{place.name}: {_STATUS_WORDS[status]}{number and f', {number} expected'}")
    hatched = (
        f'<path d="{rings}" fill="{shown.fill(place.id)}" fill-rule="evenodd" opacity="0.45" '
        'pointer-events="none"/>'
    )
    return (
        f'<path d="{rings}" fill="#e4ead6" fill-rule="evenodd" stroke="#3d5a2a" stroke-width="2"{dash}>'
        f"<title>{words}</title></path>{hatched if shown.shade(place.id) else ''}"
    )


def _trail(trail: Trail, frame: Frame) -> str:
    dash = ' stroke-dasharray="2 5"' if trail.closed else ""
    name = escape(trail.name or "trail")
    return (
        f'<polyline points="{_line(trail.points, frame)}" fill="none" stroke="#7a5a3c" '
        f'stroke-width="2.5"{dash}>'
        f"<title>{name}</title></polyline>"
    )


def _tree(tree: Tree, frame: Frame) -> str:
    x, y = frame.point((tree.longitude_deg, tree.latitude_deg))
    radius = 1.2 + min(tree.diameter_cm or 20.0, 150.0) / 50.0
    oak = tree.host_group.endswith("oak")
    look = 'fill="#3d5a2a"' if oak else 'fill="none" stroke="#5a554a"'
    return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{radius:.1f}" {look}/>'


def _spot(spot: Spot, frame: Frame, shown: Shading) -> str:
    x, y = frame.point((spot.longitude_deg, spot.latitude_deg))
    shade = shown.shade(spot.id)
    r = 8 + 3 * shade
    diamond = f"M {x:.1f} {y - r:.1f} L {x + r:.1f} {y:.1f} L {x:.1f} {y + r:.1f} L {x - r:.1f} {y:.1f} Z"
    number = shown.number(spot.id)
    drawn = (
        f'<path d="{diamond}" fill="#fffdf8" stroke="#5b3a24" stroke-width="2.5">'
        f"<title>{escape(spot.name)}{number and f': {number} expected'}</title></path>"
    )
    return (
        f'{drawn}<path d="{diamond}" fill="{shown.fill(spot.id)}" pointer-events="none"/>' if shade else drawn
    )


def _numbers(spots: Sequence[Spot], frame: Frame, shown: Shading) -> Iterator[str]:
    """Numbers beside hatched spots, the largest first; one that would cover another is left to its title."""
    placed: list[tuple[float, float]] = []
    for spot in sorted(spots, key=lambda spot: -shown.kg.get(spot.id, 0.0)):
        shade = shown.shade(spot.id)
        x, y = frame.point((spot.longitude_deg, spot.latitude_deg))
        x, y = x + 11 + 3 * shade, y + 6
        if not shade or any(abs(x - left) < 70 and abs(y - low) < 16 for left, low in placed):
            continue
        placed.append((x, y))
        yield (
            f'<text x="{x:.1f}" y="{y:.1f}" font-size="17" fill="#22201b" stroke="#fffdf8" '
            f'stroke-width="3" paint-order="stroke">{shown.number(spot.id)}</text>'
        )


def _car_park(park: CarPark, frame: Frame) -> str:
    x, y = frame.point((park.longitude_deg, park.latitude_deg))
    return (
        f'<g><title>{escape(park.name)}</title><rect x="{x - 11:.1f}" y="{y - 11:.1f}" '
        f'width="22" height="22" fill="#22201b"/><text x="{x:.1f}" y="{y + 6:.1f}" font-size="17" '
        'text-anchor="middle" fill="#fff">P</text></g>'
    )


def _place_name(place: Place, frame: Frame, shown: Shading) -> str:
    ring, number = place.polygons[0][0], shown.number(place.id)
    x = sum(frame.point(p)[0] for p in ring) / len(ring)
    y = min(frame.point(p)[1] for p in ring)
    return (
        f'<text x="{x:.1f}" y="{max(y - 8, 24):.1f}" font-size="24" text-anchor="middle" '
        f'fill="#22201b">{escape(place.name)}{number and f", {number}"}</text>'
    )


def _scale_bar(frame: Frame) -> Iterator[str]:
    metres_per_point = _METRES_PER_DEGREE / frame.scale
    length_m = next(m for m in (5000, 2000, 1000, 500, 200, 100, 50, 20, 10, 1) if m / metres_per_point < 300)
    width = length_m / metres_per_point
    y = frame.height - 24
    bar = f"M 20 {y - 8:.1f} V {y:.1f} H {20 + width:.1f} V {y - 8:.1f}"
    yield f'<path d="{bar}" fill="none" stroke="#22201b" stroke-width="3"/>'
    words = f"{length_m} m, north is up"
    yield f'<text x="{28 + width:.1f}" y="{y:.1f}" font-size="20" fill="#22201b">{words}</text>'
