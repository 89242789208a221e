"""The map of a walk as one SVG drawing: legible in black and white, with words beside the picture."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING
from xml.sax.saxutils import escape

import numpy as np

from underoak.sheets.contours import contour_lines
from underoak.sheets.map_frame import (
    Box,
    Frame,
    frame_around,
    north_arrow,
    north_box,
    scale_bar,
    scale_box,
)
from underoak.sheets.map_labels import ON_THE_WAY, Label, drawn, placed, rows_of

if TYPE_CHECKING:
    from underoak.model.ground import CarPark, LonLat, Place, Terrain, Tree
    from underoak.model.network import Network
    from underoak.walk.result import WalkResult
    from underoak.walk.turns import Turn

    #: A tree with its place on the sheet [mm].
    Shown = tuple[Tree, float, float]

#: Most host trees a sheet can show without going grey: the thickest ones.
MOST_TREES = 400
#: Contour intervals to choose from [m], and about how many lines a map bears.
INTERVALS_M = (5, 10, 20, 50, 100)
MOST_LEVELS = 18
CONIFERS = frozenset({"pine", "spruce", "hemlock", "fir", "larch", "yew", "cedar", "unknown_conifer"})
OAKS = frozenset({"oak", "white_oak", "red_oak"})
#: A car park's square stands so far above its place, so that the place stays in view [mm].
PARK_UP_MM = 6.0
#: Room for a letter of its name [mm], and how many of them are written.
NAME_MM, MOST_LETTERS = 1.5, 28


def walk_map(
    *, title: str, place: Place, car_parks: Sequence[CarPark], network: Network, result: WalkResult,
    turns: Sequence[Turn], trees: Sequence[Tree], terrain: Terrain | None, exits: Sequence[CarPark] = (),
    width_mm: float = 178.0, height_mm: float = 158.0,
) -> str:  # fmt: skip
    """SVG text of the map of one walk.

    Outline of the place, contours, trails (closed ones crossed out by a sparse dash), hosts by kind and
    size, the walk with numbered turns, car parks, scale bar and north arrow. ``exits`` are other car parks
    where one can come out of the wood; those in the frame are drawn, open.
    """
    frame = walk_frame(car_parks, network, result, width_mm=width_mm, height_mm=height_mm)
    shown = _in_frame(frame, trees)
    length_km = sum(network.edges[leg.edge].length_m for leg in result.legs) / 1000.0
    words = f"A walk of {length_km:.1f} km in {len(turns)} turns, {len(shown)} host trees shown, north is up."
    contours, apart = _contours(frame, terrain)
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width_mm:g} {height_mm:g}" '
        f'width="{width_mm:g}mm" height="{height_mm:g}mm" font-family="Libertinus Serif, serif" role="img">',
        f"<title>{escape(title)}</title><desc>{escape(words)}</desc>",
        f'<rect width="{width_mm:g}" height="{height_mm:g}" fill="white"/>',
        *_outline(frame, place), *contours, *_trails(frame, network),
        *_way(frame, network, result), *_hosts(shown),
        *_parks(frame, car_parks), *_parks(frame, exits, way_out=True),
        *_turns(frame, turns, _fixed(frame, [*car_parks, *exits]), shown),
        scale_bar(frame, apart), north_arrow(frame), _key(frame), "</svg>",
    ]  # fmt: skip
    return "\n".join(parts) + "\n"


def walk_frame(
    car_parks: Sequence[CarPark], network: Network, result: WalkResult,
    *, width_mm: float = 178.0, height_mm: float = 158.0,
) -> Frame:  # fmt: skip
    """The frame of `walk_map`: the walk and its car parks as large as the sheet allows."""
    way = [point for leg in result.legs for point in network.edges[leg.edge].points]
    parks = [(park.longitude_deg, park.latitude_deg) for park in car_parks]
    return frame_around(
        [*way, *parks] or [(0.0, 0.0)], width_mm=width_mm, height_mm=height_mm, margin_mm=13.0
    )


def _outline(frame: Frame, place: Place) -> list[str]:
    rings = " ".join(frame.path(ring, closed=True) for polygon in place.polygons for ring in polygon)
    return [
        f'<path class="place" d="{rings}" fill="#f0f2ea" fill-rule="evenodd" stroke="#555" '
        'stroke-width="0.6" stroke-dasharray="3 1 0.6 1"/>'
    ]


def _contours(frame: Frame, terrain: Terrain | None) -> tuple[list[str], str]:
    """The lines of equal height that the map bears, and in words how far they are apart."""
    if terrain is None:
        return [], ""
    heights, column, row = _window(frame, terrain)
    if min(heights.shape) < 2 or not np.isfinite(heights).any():
        return [], ""
    low, high = float(np.nanmin(heights)), float(np.nanmax(heights))
    interval = next((i for i in INTERVALS_M if (high - low) / i <= MOST_LEVELS), INTERVALS_M[-1])
    lines_drawn = []
    for level in range(int(low // interval + 1) * interval, int(high) + 1, interval):
        width = 0.35 if level % (5 * interval) == 0 else 0.18
        lines = [
            [_degrees(terrain, x + column, y + row) for x, y in line]
            for line in contour_lines(heights, float(level))
        ]
        data = " ".join(frame.path(line) for line in lines)
        if data:
            lines_drawn.append(
                f'<path class="contour" data-m="{level}" d="{data}" fill="none" stroke="#8a7f70" '
                f'stroke-width="{width}"/>'
            )
    return lines_drawn, f"contours {interval} m apart" if lines_drawn else ""


def _window(frame: Frame, terrain: Terrain) -> tuple[np.ndarray, int, int]:
    """The part of the grid that the map shows, one cell more on each side, with its first column and row."""
    corners = frame.plane.to_degrees(
        [
            (frame.west_m, frame.north_m),
            (
                frame.west_m + frame.width_mm / frame.mm_per_m,
                frame.north_m - frame.height_mm / frame.mm_per_m,
            ),
        ]
    )
    columns = (corners[:, 0] - terrain.west_deg) / terrain.step_lon_deg
    rows = (terrain.north_deg - corners[:, 1]) / terrain.step_lat_deg
    c, r = max(int(columns[0]) - 1, 0), max(int(rows[0]) - 1, 0)
    return terrain.elevation_m[r : max(int(rows[1]) + 2, 0), c : max(int(columns[1]) + 2, 0)], c, r


def _degrees(terrain: Terrain, column: float, row: float) -> LonLat:
    lon = terrain.west_deg + (column + 0.5) * terrain.step_lon_deg
    return lon, terrain.north_deg - (row + 0.5) * terrain.step_lat_deg


def _trails(frame: Frame, network: Network) -> list[str]:
    drawn = []
    for edge in network.edges:
        dash = ' stroke-dasharray="0.5 1.6"' if edge.closed else ""
        drawn.append(
            f'<path class="trail" d="{frame.path(edge.points)}" fill="none" stroke="#333" '
            f'stroke-width="0.3"{dash}/>'
        )
    return drawn


def _in_frame(frame: Frame, trees: Sequence[Tree]) -> list[Shown]:
    places = frame.mm([(tree.longitude_deg, tree.latitude_deg) for tree in trees]) if trees else []
    inside = [
        (tree, x, y) for tree, (x, y) in zip(trees, places, strict=True)
        if 0.0 < x < frame.width_mm and 0.0 < y < frame.height_mm
    ]  # fmt: skip
    inside.sort(key=lambda one: (-(one[0].diameter_cm or 0.0), one[0].id))
    return inside[:MOST_TREES]


def _hosts(trees: Sequence[Shown]) -> list[str]:
    drawn = []
    for tree, x, y in trees:
        size = 0.5 + min((tree.diameter_cm or 30.0) / 100.0, 1.5)
        drawn.append(_symbol(tree.host_group, x, y, size))
    return drawn


def _symbol(host_group: str, x: float, y: float, size: float) -> str:
    """Oaks are full rounds, conifers triangles, other trees open rounds."""
    if host_group in CONIFERS:
        data = f"M{x:.2f} {y - size:.2f}l{size:.2f} {1.8 * size:.2f}h{-2 * size:.2f}Z"
        return f'<path class="host" d="{data}" fill="white" stroke="black" stroke-width="0.2"/>'
    fill = "black" if host_group in OAKS else "white"
    round_ = f'cx="{x:.2f}" cy="{y:.2f}" r="{size:.2f}" fill="{fill}"'
    return f'<circle class="host" {round_} stroke="black" stroke-width="0.2"/>'


def _way(frame: Frame, network: Network, result: WalkResult) -> list[str]:
    from underoak.walk.turns import line_of

    lines = [frame.path(line_of(network, leg)) for leg in result.legs]
    data = " ".join(lines)
    if not data:
        return []
    return [
        f'<path d="{data}" fill="none" stroke="white" stroke-width="2.2" stroke-linecap="round"/>',
        f'<path class="walk" d="{data}" fill="none" stroke="{ON_THE_WAY}" stroke-width="1.1" '
        'stroke-linecap="round" stroke-linejoin="round"/>',
    ]


def _turns(frame: Frame, turns: Sequence[Turn], fixed: Sequence[Box], shown: Sequence[Shown]) -> list[str]:
    """Numbers where turns begin; turns that begin at one place share one badge."""
    numbers: dict[LonLat, list[int]] = {}
    for turn in turns:
        numbers.setdefault((turn.longitude_deg, turn.latitude_deg), []).append(turn.number)
    places = frame.mm(numbers) if numbers else []
    labels = [Label(at, rows_of(own)) for at, own in zip(places, numbers.values(), strict=True)]
    boxes = placed(
        labels, width_mm=frame.width_mm, height_mm=frame.height_mm, fixed=fixed,
        signs=[(x, y) for _, x, y in shown],
    )  # fmt: skip
    return drawn(labels, boxes)


def _fixed(frame: Frame, parks: Sequence[CarPark]) -> list[Box]:
    """What stands on every map and must stay free: scale bar, arrow, key, car parks with their names."""
    key = Box(frame.width_mm - 44.0, frame.height_mm - 6.5, 42.0, 4.5)
    boxes = [scale_box(frame), north_box(frame), key]
    for park, x, y in _parks_in(frame, parks):
        half = NAME_MM * len(_called(park)) / 2.0
        beside = (half + 3.0) * (-1.0 if _to_the_left(frame, x) else 1.0)
        boxes += [Box(x, y, 2.4, 2.4), Box(x + beside, y, half, 2.0)]
    return boxes


def _parks_in(frame: Frame, parks: Sequence[CarPark]) -> list[tuple[CarPark, float, float]]:
    """Car parks that the map shows, with the middle of their squares."""
    places = frame.mm([(p.longitude_deg, p.latitude_deg) for p in parks]) if parks else []
    return [
        (park, x, y - PARK_UP_MM)
        for park, (x, y) in zip(parks, places, strict=True)
        if 3.0 < x < frame.width_mm - 3.0 and 9.0 < y < frame.height_mm
    ]


def _called(park: CarPark) -> str:
    return park.name if len(park.name) <= MOST_LETTERS else park.name[: MOST_LETTERS - 1] + "…"


def _to_the_left(frame: Frame, x: float) -> bool:
    """Whether a car park's name stands left of its square, where the right has no room."""
    return x > frame.width_mm - 3.0 - NAME_MM * MOST_LETTERS


def _parks(frame: Frame, car_parks: Sequence[CarPark], *, way_out: bool = False) -> list[str]:
    """Where the walk starts as a full square, other ways out as open ones, each with its name."""
    kind, box, letter = ("exit", "white", "black") if way_out else ("car-park", "black", "white")
    signs = []
    for park, x, y in _parks_in(frame, car_parks):
        at, anchor = (x - 3.4, "end") if _to_the_left(frame, x) else (x + 3.4, "start")
        signs.append(
            f'<g class="{kind}"><rect x="{x - 2.4:.2f}" y="{y - 2.4:.2f}" width="4.8" height="4.8" '
            f'fill="{box}" stroke="black" stroke-width="0.3"/>'
            f'<text x="{x:.2f}" y="{y + 1.4:.2f}" font-size="4.2" fill="{letter}" '
            'text-anchor="middle">P</text>'
            f'<text x="{at:.2f}" y="{y + 1.1:.2f}" font-size="3.1" text-anchor="{anchor}" stroke="white" '
            f'stroke-width="0.9" paint-order="stroke">{escape(_called(park))}</text></g>'
        )
    return signs


def _key(frame: Frame) -> str:
    """What the signs of hosts mean; room enough for a wider letter than the sheet's own."""
    x, y = frame.width_mm - 86.0, frame.height_mm - 11.0
    words = (("white_oak", "oak", 3.0), ("beech", "other hardwood", 19.0), ("pine", "conifer", 60.0))
    marks = "".join(
        f'{_symbol(group, x + at, y + 4.5, 1.1)}<text x="{x + at + 2.5:.1f}" y="{y + 5.6:.1f}" '
        f'font-size="3.2">{name}</text>'
        for group, name, at in words
    )
    box = f'x="{x:.1f}" y="{y:.1f}" width="84" height="9" fill="white" stroke="#555" stroke-width="0.2"'
    return f'<g class="key"><rect {box}/>{marks}</g>'
