"""Trunk diameters as inventories write them: a unit in the header, a girth instead of a diameter."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from underoak.intake.table import Row, number
from underoak.model.problem import Problem

UNIT_CM = {
    "mm": 0.1,
    "cm": 1.0,
    "m": 100.0,
    "in": 2.54,
    "inch": 2.54,
    "inches": 2.54,
    "ft": 30.48,
    "feet": 30.48,
}
#: Plain headers that hold a diameter or girth.
DIAMETER_NAMES = re.compile(
    r"^(tree_|trunk_|stump_)?(dbh|diameter|diam|trunk_diam|circumference|circ|girth|gbh|cbh)"
    r"(_at_breast_height)?(_(mm|cm|m|in|inch|inches|ft|feet))?$"
)
_GIRTH = re.compile(r"circ|girth|gbh|cbh")
#: No oak on record is thicker than about 4.5 m (from memory); more is a wrong unit.
THICKEST_CM = 600.0


@dataclass(frozen=True, slots=True)
class Trunk:
    """The column a diameter comes from: centimetres for one unit, and whether it is a girth."""

    column: str
    unit: str
    girth: bool

    @property
    def words(self) -> str:
        """What was understood, for a person."""
        return f"{'girth' if self.girth else 'diameter'} in {self.unit} from {self.column!r}"

    def diameter_cm(self, row: Row) -> float | Problem | None:
        """Diameter at breast height [cm] of a row, None where it was not measured."""
        text = row.text(self.column)
        if text.casefold() in ("", "na", "null", "none", "unknown"):
            return None
        value = number(text)
        where = f"{row.where}, {self.column}"
        if value is None:
            return Problem(f"{text!r} is no number", where, f"a diameter in {self.unit}, or an empty cell")
        if value < 0.0:
            return Problem(f"diameter {text} is negative", where, "a number above 0, or an empty cell")
        cm = value * UNIT_CM[self.unit] / (math.pi if self.girth else 1.0)
        if cm > THICKEST_CM:
            return Problem(
                f"{text} {self.unit} is thicker than any tree",
                where,
                f"at most {THICKEST_CM:.0f} cm",
                "probably another unit: say which with the diameter unit",
            )
        return cm or None


def trunk_column(header: str, unit: str | None, where: str) -> Trunk | Problem:
    """What a plain header says about its unit; ``unit`` counts where the header is silent."""
    last = header.rpartition("_")[2]
    stated = last if last in UNIT_CM and "_" in header else unit
    if stated is None or stated not in UNIT_CM:
        return Problem(
            f"the unit of {header!r} is not known",
            where,
            "a header such as dbh_cm, dbh_in or girth_cm",
            f"say it: --column {header}=diameter_in (or _cm, _mm; girth_cm for a girth)",
        )
    return Trunk(header, stated, bool(_GIRTH.search(header)))
