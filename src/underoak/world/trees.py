"""Invented trees: a park's inventory the way town inventories are written, with their habits of spelling."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from underoak.world.trails import park_paths
from underoak.world.valley import Park

_OAKS = ("Quercus alba", "White Oak", "Quercus rubra", "red oak, northern", "Quercus velutina", "Oak, black")
_OTHERS = (
    "Acer saccharum",
    "Sugar maple",
    "Fagus grandifolia",
    "Betula lenta",
    "Pinus strobus",
    "hickory, shagbark",
    "Ulmus americana",
    "Tsuga canadensis",
)


@dataclass(frozen=True, slots=True)
class InventedTree:
    """One tree: metres east and north of the home, name as written, trunk diameter in inches."""

    number: int
    east_m: float
    north_m: float
    species: str
    diameter_in: float
    condition: str


def park_trees(park: Park, seed: int, first_number: int, count: int = 260) -> list[InventedTree]:
    """Trees beside a park's paths; most of the big ones are oaks."""
    rng = np.random.default_rng([seed, int(park.north_m), 3])
    paths = park_paths(park, seed)
    trees = []
    for offset in range(count):
        points = paths[int(rng.integers(len(paths)))].points
        east, north = points[int(rng.integers(len(points)))]
        oak = rng.random() < park.oak_share
        names = _OAKS if oak else _OTHERS
        diameter = float(np.clip(rng.lognormal(math.log(19.0 if oak else 12.0), 0.42), 4.0, 62.0))
        trees.append(
            InventedTree(
                number=first_number + offset,
                east_m=east + rng.normal(0.0, 14.0),
                north_m=north + rng.normal(0.0, 14.0),
                species=names[int(rng.integers(len(names)))],
                diameter_in=round(diameter, 1),
                condition="dead" if rng.random() < 0.05 else "living",
            )
        )
    return trees
