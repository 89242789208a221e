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


def scale_bar(frame: Frame) -> str:
    """A bar of a round length, at most a third of the width, with its length in words."""
    fitting = [m for m in BARS_M if m * frame.mm_per_m <= frame.width_mm / 3.0] or [BARS_M[0]]
    metres = fitting[-1]
    length, x, y = metres * frame.mm_per_m, 5.0, frame.height_mm - 5.0
    words = f"{metres} m" if metres < 1000 else f"{metres // 1000} km"
    return (
        f'<g class="scale"><rect x="{x - 2:.1f}" y="{y - 6:.1f}" width="{length + 16:.1f}" height="9" '
        'fill="white"/>'
        f'<path d="M{x:.2f} {y - 2:.2f}V{y:.2f}H{x + length:.2f}V{y - 2:.2f}" fill="none" stroke="black" '
        f'stroke-width="0.5"/><text x="{x + length + 1.5:.2f}" y="{y:.2f}" font-size="3.4">{words}</text></g>'
    )


def north_arrow(frame: Frame) -> str:
    """An arrow to true north in the upper right corner."""
    x = frame.width_mm - 8.0
    return (
        f'<g class="north"><rect x="{x - 5:.1f}" y="2" width="10" height="18" fill="white"/>'
        f'<path d="M{x:.1f} 4L{x + 3:.1f} 13L{x:.1f} 11L{x - 3:.1f} 13Z"/>'
        f'<text x="{x:.1f}" y="18.5" font-size="4.2" text-anchor="middle">N</text></g>'
    )
