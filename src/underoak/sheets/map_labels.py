"""Numbers on a map that do not lie on each other; a line ties those that stand beside their place to it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from underoak.sheets.map_frame import Box, Point

#: Height of a row of letters, and its letters [mm].
ROW_MM, LETTER_MM = 3.6, 3.1
#: Numbers in one row of a badge.
IN_A_ROW = 3
#: Room a digit and ", " take of a row [mm]: wider than the sheet's own letters.
DIGIT_MM, COMMA_MM = 1.6, 1.7
#: How far beside its place a badge may stand [mm], and in how many directions.
BESIDE_MM, DIRECTIONS = (5.0, 7.0, 9.0, 12.0, 16.0, 21.0), 16
#: Least room between two badges [mm].
GAP_MM = 0.4  #: Colour of the end of a line on the way; in black and white a dark grey.
ON_THE_WAY = "#a3240f"
#: What is worse than standing a millimetre farther off: to lie on another sign, to hide a place, to be
#: crossed by a line, to stand beside its place at all; and to hide a small sign.
ON_ANOTHER, HIDES_PLACE, CROSSED, BESIDE, HIDES_SIGN = 1e4, 60.0, 40.0, 8.0, 1.0


@dataclass(frozen=True, slots=True)
class Label:
    """Rows of words that belong to one point."""

    at: Point
    rows: tuple[str, ...]

    def box(self, middle: Point) -> Box:
        """The badge around these rows when it stands at ``middle``."""
        wide = max(_wide(row) for row in self.rows)
        return Box(*middle, 1.2 + wide / 2.0, 0.3 + ROW_MM * len(self.rows) / 2.0)


def rows_of(numbers: Sequence[int]) -> tuple[str, ...]:
    """Numbers as rows of a badge."""
    words = [str(number) for number in numbers]
    return tuple(", ".join(words[k : k + IN_A_ROW]) for k in range(0, len(words), IN_A_ROW))


def placed(
    labels: Sequence[Label], *, width_mm: float, height_mm: float,
    fixed: Sequence[Box] = (), signs: Sequence[Point] = (),
) -> list[Box]:  # fmt: skip
    """Where the badge of each label stands: on its point, or beside it where that is taken.

    ``fixed`` are boxes that must stay free, ``signs`` small things better not hidden.

    Method: one after the other, each at the place that costs least among its own point and
    `DIRECTIONS` times `BESIDE_MM` around it. Where a sheet is so full that every place is taken, badges
    may still overlap.
    """
    taken: list[Box] = []
    lines: list[tuple[Point, Point]] = []
    for label in labels:
        others = [one.at for one in labels if one is not label]

        def cost(box: Box, label: Label = label, others: list[Point] = others) -> float:
            line = _between(label.at, (box.x, box.y))
            off = math.dist(label.at, (box.x, box.y))
            inside = box.half_width < box.x < width_mm - box.half_width
            inside &= box.half_height < box.y < height_mm - box.half_height
            total = off + (BESIDE if off else 0.0) + (0.0 if inside else ON_ANOTHER)
            total += ON_ANOTHER * sum(box.overlaps(one, GAP_MM) for one in (*taken, *fixed))
            total += HIDES_PLACE * sum(box.holds(point) for point in others)
            total += CROSSED * sum(any(one.holds(p) for p in line) for one in taken)
            total += CROSSED * sum(any(box.holds(p) for p in _between(*one)) for one in lines)
            return total + HIDES_SIGN * sum(box.holds(point) for point in signs)

        own = label.box(label.at)
        near = cost(own) <= BESIDE + BESIDE_MM[0]
        box = own if near else min((label.box(middle) for middle in _around(label.at)), key=cost)
        taken.append(box)
        if (box.x, box.y) != label.at:
            lines.append((label.at, (box.x, box.y)))
    return taken


def drawn(labels: Sequence[Label], boxes: Sequence[Box]) -> list[str]:
    """SVG of the badges; first the lines to the places of those that stand beside them."""
    apart = [(one.at, box) for one, box in zip(labels, boxes, strict=True) if one.at != (box.x, box.y)]
    ways = [f"M{x:.2f} {y:.2f}L{box.x:.2f} {box.y:.2f}" for (x, y), box in apart]
    parts = [
        f'<path class="leader" d="{" ".join(ways)}" fill="none" stroke="{ink}" stroke-width="{width}"/>'
        for ink, width in (("white", 1.1), ("black", 0.35))
        if ways
    ]
    parts += [
        f'<circle cx="{x:.2f}" cy="{y:.2f}" r="0.8" fill="{ON_THE_WAY}" stroke="white" stroke-width="0.25"/>'
        for (x, y), _ in apart
    ]
    return [*parts, *(_badge(label, box) for label, box in zip(labels, boxes, strict=True))]


def _badge(label: Label, box: Box) -> str:
    left, top = box.x - box.half_width, box.y - box.half_height
    words = "".join(
        f'<text x="{box.x:.2f}" y="{top + 0.3 + ROW_MM * (n + 0.8):.2f}" font-size="{LETTER_MM}" '
        f'text-anchor="middle">{row}</text>'
        for n, row in enumerate(label.rows)
    )
    sides = f'width="{2 * box.half_width:.2f}" height="{2 * box.half_height:.2f}"'
    return (
        f'<g class="turn"><rect x="{left:.2f}" y="{top:.2f}" {sides} rx="2" fill="white" stroke="black" '
        f'stroke-width="0.3"/>{words}</g>'
    )


def _wide(row: str) -> float:
    commas = row.count(",")
    return DIGIT_MM * (len(row) - 2 * commas) + COMMA_MM * commas


def _around(at: Point) -> list[Point]:
    turns = [2.0 * math.pi * k / DIRECTIONS for k in range(DIRECTIONS)]
    around = [(at[0] + r * math.cos(t), at[1] + r * math.sin(t)) for r in BESIDE_MM for t in turns]
    return [at, *around]


def _between(start: Point, end: Point) -> list[Point]:
    """Points on a line, a millimetre apart, its ends left out."""
    steps = int(math.dist(start, end))
    (x, y), (u, v) = start, end
    return [(x + (u - x) * k / steps, y + (v - y) * k / steps) for k in range(1, steps)]
