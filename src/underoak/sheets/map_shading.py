"""Shades of a map for expected kilograms: a hatching that grows denser, and always the number beside it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from xml.sax.saxutils import escape

#: Kilograms at which the next denser hatching begins; fixed, so that maps of different weeks compare.
EDGES_KG = (0.05, 0.25, 1.0)
#: Distance of the hatching's lines by shade, picture points; nothing is hatched below the first edge.
_SPACING = (16.0, 9.0, 5.0)
_INK = "#3d5a2a"


@dataclass(frozen=True, slots=True)
class Shading:
    """Expected kilograms by id of place or spot, and what they are: the day, and for which mushrooms."""

    words: str
    kg: Mapping[str, float]

    def shade(self, key: str) -> int:
        """0 for next to nothing or unknown, up to 3 for the most."""
        return sum(self.kg.get(key, 0.0) >= edge for edge in EDGES_KG)

    def fill(self, key: str) -> str:
        """Fill attribute of the hatching; none below the first edge."""
        shade = self.shade(key)
        return f"url(#shade{shade})" if shade else "none"

    def number(self, key: str) -> str:
        """The kilograms in words; empty where nothing is known."""
        return kilograms(self.kg[key]) if key in self.kg else ""

    def patterns(self) -> str:
        """Definitions of the hatchings."""
        drawn = [
            f'<pattern id="shade{n}" width="{gap}" height="{gap}" patternUnits="userSpaceOnUse" '
            f'patternTransform="rotate(45)"><path d="M 0 0 V {gap}" stroke="{_INK}" stroke-width="2"/>'
            "</pattern>"
            for n, gap in enumerate(_SPACING, start=1)
        ]
        return f"<defs>{''.join(drawn)}</defs>"

    def legend(self, x: float, y: float) -> Iterator[str]:
        """What the hatchings mean, its lower right corner at x, y."""
        bounds = [f"under {EDGES_KG[0]:g}", *(f"{edge:g} kg and more" for edge in EDGES_KG)]
        rows = [(0, f"{bounds[0]} kg"), *enumerate(bounds[1:], start=1)]
        top = y - 26.0 * (len(rows) + 1)
        yield (
            f'<text x="{x:.1f}" y="{top + 14:.1f}" font-size="18" text-anchor="end" fill="#22201b">'
            f"{escape(self.words)}</text>"
        )
        for n, (shade, words) in enumerate(rows, start=1):
            at = top + 26.0 * n
            fill = f"url(#shade{shade})" if shade else "none"
            yield (
                f'<rect x="{x - 200:.1f}" y="{at:.1f}" width="34" height="18" fill="{fill}" '
                'stroke="#22201b"/>'
                f'<text x="{x - 158:.1f}" y="{at + 15:.1f}" font-size="18" fill="#22201b">{words}</text>'
            )


def kilograms(kg: float) -> str:
    """Kilograms to two digits, or that there is next to nothing."""
    return f"{kg:.2g} kg" if kg >= 0.01 else "under 0.01 kg"
