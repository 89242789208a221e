"""From a trunk to a rough age, and to what a mushroom can grow on."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from underoak.model.ground import TreeCondition

CM_PER_INCH = 2.54
#: The printed factors of one species differ by up to half (northern red oak 3.5 to 4, black oak 3 to 5 years
#: for an inch); no error figure was seen. So the age is given as one third either way.
SPREAD = 1.0 / 3.0
#: What each condition of a tree offers, in the words of `model.book.Habitat.substrate`.
OFFERS: dict[TreeCondition, frozenset[str]] = {
    "living": frozenset({"soil", "roots", "litter"}),
    "dead": frozenset({"standing_trunk", "log", "roots", "buried_wood", "litter"}),
    "stump": frozenset({"stump", "buried_wood", "roots", "litter"}),
    "unknown": frozenset({"soil", "roots", "litter"}),
}
#: How much a tree counts for a taxon whose substrate it does not offer. Judgement: inventories are often
#: years old, and dead limbs stand on living trees.
OFF_SUBSTRATE = 0.25


@dataclass(frozen=True, slots=True)
class RoughAge:
    """An order of magnitude, not a count of rings: years, and from where to where."""

    years: float
    low_years: float
    high_years: float
    words: str


def rough_age(diameter_cm: float, years_per_inch: float) -> RoughAge:
    """Rough age of a tree from its diameter at breast height.

    Parameters
    ----------
    diameter_cm : at 1.37 m (4.5 ft) above the ground [cm], above 0
    years_per_inch : growth factor of the host group, `book.hosts.HostGroup.growth`

    Raises
    ------
    ValueError   for a diameter or factor that is not above 0

    Method
    ------
    age = diameter in inches x growth factor. Source: tree_age_sheets (second-hand). Weakness: rule of
    thumb for open-grown trees; trees of a dense forest are often much older than it says.
    """
    if not (diameter_cm > 0.0 and years_per_inch > 0.0):
        raise ValueError(f"diameter {diameter_cm} cm and factor {years_per_inch} must be above 0")
    years = diameter_cm / CM_PER_INCH * years_per_inch
    low, high = years * (1.0 - SPREAD), years * (1.0 + SPREAD)
    return RoughAge(
        years,
        low,
        high,
        f"about {years:.0f} years by its trunk (rough: {low:.0f} to {high:.0f}, older in dense woods)",
    )


def diameter_from_circumference_cm(circumference_cm: float) -> float:
    """Diameter of a round trunk [cm] from its girth [cm]."""
    return circumference_cm / 3.141592653589793


def substrate_fit(substrates: Iterable[str], condition: TreeCondition) -> float:
    """How well a tree's condition suits a taxon's substrates: 1 where it offers one of them, else 0.25.

    Parameters
    ----------
    substrates : words of `model.book.Habitat.substrate`; none named counts as 1
    condition : living, dead, stump or unknown. Buried roots of a felled tree count with its stump.
    """
    wanted = set(substrates)
    return 1.0 if not wanted or wanted & OFFERS[condition] else OFF_SUBSTRATE
