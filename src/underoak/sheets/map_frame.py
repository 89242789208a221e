"""From positions in degrees to millimetres on a sheet, and what every map carries."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from underoak.woods.geodesy import LocalPlane

if TYPE_CHECKING:
    from underoak.model.ground import LonLat

#: Lengths a scale bar may have [m].
BARS_M = (50, 100, 200, 250, 500, 1000, 2000, 5000)


#: Millimetres from the left and upper rim.
Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Box:
    """An upright rectangle by its middle and its half sides [mm]."""

    x: float
    y: float
    half_width: float
    half_height: float

    def overlaps(self, other: Box, gap: float = 0.0) -> bool:
        """Whether two boxes come closer than ``gap``."""
        across = abs(self.x - other.x) < self.half_width + other.half_width + gap
        return across and abs(self.y - other.y) < self.half_height + other.half_height + gap

    def holds(self, point: Point) -> bool:
        """Whether a point lies inside."""
        return abs(point[0] - self.x) < self.half_width and abs(point[1] - self.y) < self.half_height


@dataclass(frozen=True, slots=True)
class Frame:
    """A drawing of ``width_mm`` by ``height_mm`` that shows a stretch of ground, north up."""

    width_mm: float
    height_mm: float
    plane: LocalPlane
    west_m: float
    north_m: float
    mm_per_m: float

    def mm(self, points: Iterable[LonLat]) -> list[tuple[float, float]]:
        """Millimetres from the left and upper rim."""
        xy = self.plane.to_plane(list(points))
        return [
            ((x - self.west_m) * self.mm_per_m, (self.north_m - y) * self.mm_per_m) for x, y in xy.tolist()
        ]

    def path(self, points: Iterable[LonLat], *, closed: bool = False) -> str:
        """SVG path data of a line."""
        steps = [f"{x:.2f} {y:.2f}" for x, y in self.mm(points)]
        return "M" + " L".join(steps) + ("Z" if closed else "")


def frame_around(
    points: Sequence[LonLat], *, width_mm: float, height_mm: float, margin_mm: float = 8.0
) -> Frame:
    """The frame that shows all points as large as the sheet allows; ValueError without any point."""
    if not points:
        raise ValueError("a map needs something to show")
    lons, lats = np.array(points, dtype=float).T
    plane = LocalPlane(float(lons.mean()), float(lats.mean()))
    xy = plane.to_plane(points)
    low, high = xy.min(axis=0), xy.max(axis=0)
    span = np.maximum(high - low, 100.0)
    room = np.array([width_mm, height_mm]) - 2.0 * margin_mm
    scale = float((room / span).min())
    middle = (low + high) / 2.0
    return Frame(
        width_mm, height_mm, plane,
        float(middle[0]) - width_mm / 2.0 / scale, float(middle[1]) + height_mm / 2.0 / scale, scale,
    )  # fmt: skip


def scale_box(frame: Frame) -> Box:
    """What the scale bar takes of the sheet, in the lower left corner."""
    width = max(_bar_m(frame) * frame.mm_per_m + 16.0, 36.0)
    return Box(3.0 + width / 2.0, frame.height_mm - 6.5, width / 2.0, 4.5)


def scale_bar(frame: Frame, words: str = "") -> str:
    """A bar of a round length, at most a third of the width, with its length; ``words`` stand above it."""
    metres, box = _bar_m(frame), scale_box(frame)
    length, x, y = metres * frame.mm_per_m, 5.0, frame.height_mm - 3.5
    told = f"{metres} m" if metres < 1000 else f"{metres // 1000} km"
    return (
        f'<g class="scale">{_white(box)}'
        f'<path d="M{x:.2f} {y - 2:.2f}V{y:.2f}H{x + length:.2f}V{y - 2:.2f}" fill="none" stroke="black" '
        f'stroke-width="0.5"/><text x="{x + length + 1.5:.2f}" y="{y:.2f}" font-size="3.4">{told}</text>'
        f'<text x="{x:.2f}" y="{y - 3.2:.2f}" font-size="3">{words}</text></g>'
    )


def north_box(frame: Frame) -> Box:
    """What the arrow takes of the sheet, in the upper right corner."""
    return Box(frame.width_mm - 8.0, 11.0, 5.0, 9.0)


def north_arrow(frame: Frame) -> str:
    """An arrow to true north in the upper right corner."""
    x = frame.width_mm - 8.0
    return (
        f'<g class="north">{_white(north_box(frame))}'
        f'<path d="M{x:.1f} 4L{x + 3:.1f} 13L{x:.1f} 11L{x - 3:.1f} 13Z"/>'
        f'<text x="{x:.1f}" y="18.5" font-size="4.2" text-anchor="middle">N</text></g>'
    )


def _bar_m(frame: Frame) -> int:
    fitting = [m for m in BARS_M if m * frame.mm_per_m <= frame.width_mm / 3.0]
    return fitting[-1] if fitting else BARS_M[0]


def _white(box: Box) -> str:
    left, top = box.x - box.half_width, box.y - box.half_height
    sides = f'width="{2.0 * box.half_width:.1f}" height="{2.0 * box.half_height:.1f}"'
    return f'<rect x="{left:.1f}" y="{top:.1f}" {sides} fill="white"/>'
