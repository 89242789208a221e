"""How inventories name their columns and the condition of a tree."""

from __future__ import annotations

import re
from functools import cache

from underoak.book.hosts import match_host
from underoak.model.ground import LonLat, Tree, TreeCondition

LATITUDE = ("latitude", "latitude_deg", "lat", "decimallatitude", "point_y", "y_coord", "y")
LONGITUDE = (
    "longitude",
    "longitude_deg",
    "lon",
    "lng",
    "long",
    "decimallongitude",
    "point_x",
    "x_coord",
    "x",
)
SPECIES = (
    "species",
    "scientific_name",
    "scientificname",
    "latin_name",
    "spc_latin",
    "botanical_name",
    "taxon",
    "common_name",
    "spc_common",
    "species_common",
    "tree_species",
    "genus",
    "spp",
    "marks",
)
CONDITION = ("condition", "status", "tree_status", "health", "tree_condition")
_CONDITION_WORDS: tuple[tuple[TreeCondition, tuple[str, ...]], ...] = (
    ("stump", ("stump", "felled", "cut", "removed")),
    ("dead", ("dead", "snag")),
    ("living", ("alive", "living", "live", "good", "fair", "poor", "excellent", "critical", "healthy")),
)
#: Dead parts of a tree that lives: "good, some dead branches".
_DEAD_PART = re.compile(r"dead[ -]*(wood|branch|branches|limb|limbs|twigs|top)\b")


#: Places of an inventory where no tree stands.
_VACANT = re.compile(r"\W*(vacant|no tree|(planting|empty|open|future) (site|space|pit|spot|planting))\b")


def is_vacant(species: str) -> bool:
    """Whether an inventory's species says that no tree stands there: "Vacant site, large"."""
    return _VACANT.match(species.casefold()) is not None


def tree_of(position: LonLat, species: str, diameter_cm: float | None, condition: TreeCondition) -> Tree:
    """A tree without its id, its species matched to a host group; "dead oak" says its condition too."""
    if condition == "unknown" and condition_of(species) in ("stump", "dead"):
        condition = condition_of(species)
    return Tree("", position[0], position[1], species, match_host(species), diameter_cm, condition)


@cache
def condition_of(text: str) -> TreeCondition:
    """The condition a word of an inventory means; "unknown" when none is recognised."""
    words = re.findall(r"[^\W_]+", _DEAD_PART.sub(" ", text.casefold().replace("_", " ")))
    return next(
        (condition for condition, known in _CONDITION_WORDS if any(word in known for word in words)),
        "unknown",
    )
