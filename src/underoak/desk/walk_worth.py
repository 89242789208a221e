"""What trees and patches promise along the trails and at a close look, under one sight."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

    from underoak.desk.walk_ground import WalkGround
    from underoak.model.ground import HostPatch, Tree
    from underoak.walk.problem import Prize

    FloatArray = npt.NDArray[np.float64]

#: Open edges with the trees in view of each, as (position, share seen).
View = list[tuple[int, tuple[tuple[int, float], ...]]]
#: What the key of a close look at a tree begins with, before the tree's id.
TREE_KEY = "tree "
#: Cutting, brushing and bagging [minutes for each kg]. Common practice, no source.
PICK_MIN_KG = 6.0
#: Looking while walking costs this share of the walking time again. Common practice, no source.
LOOKING_SHARE = 0.4
#: Trees that promise less than this are looked at from the trail only [kg].
CLOSE_LOOK_KG = 0.03
#: At most this many trees are offered for a close look.
MOST_CLOSE_LOOKS = 150
#: Below this an edge is not worth looking along [kg].
LEAST_KG = 0.001


@dataclass(frozen=True, slots=True, eq=False)
class Worth:
    """Hosts beside known spots: ``kg`` and ``chance`` of the trees, then of one host of each patch."""

    ground: WalkGround
    trees: Sequence[Tree]
    patches: Sequence[HostPatch]
    kg: FloatArray
    chance: FloatArray

    def prizes(self, sight_m: float, walk_min: FloatArray) -> list[Prize]:
        """What lies along the trails, and the close looks that are worth their minutes."""
        from underoak.walk.problem import Prize

        view, along = self._in_view(sight_m), []
        for edge, (kg, chance) in self._along(view, sight_m).items():
            if kg >= LEAST_KG:
                minutes = LOOKING_SHARE * float(walk_min[edge]) + PICK_MIN_KG * kg
                along.append(Prize(kg, minutes, edge=edge, chance=chance, key=f"along {edge}"))
        return along + self._close_looks(_shares(view), sight_m)

    def kg_by_key(self, sight_m: float) -> dict[str, float]:
        """Kilograms of every prize by its key, also of such as are worth no stop."""
        view = self._in_view(sight_m)
        found = {f"along {edge}": kg for edge, (kg, _) in self._along(view, sight_m).items()}
        seen = _shares(view)
        more = {f"{TREE_KEY}{self.trees[tree].id}": self._more_kg(tree, seen) for tree in seen}
        return found | more

    def _in_view(self, sight_m: float) -> View:
        """Each open edge with the trees in view of it."""
        from underoak.woods.exposure import hosts_in_view

        network = self.ground.network
        views = enumerate(hosts_in_view(network, self.trees, sight_m))
        return [(edge, seen) for edge, seen in views if not network.edges[edge].closed]

    def _along(self, view: View, sight_m: float) -> dict[int, tuple[float, float]]:
        """For each open edge kilograms and the chance that at least one is prime."""
        thick = self._thick(sight_m)
        along = {}
        for edge, seen in view:
            more_kg, more_none = thick[edge]
            kg = sum(share * self.kg[tree] for tree, share in seen) + more_kg
            none = more_none * float(np.prod([1.0 - share * self.chance[tree] for tree, share in seen]))
            along[edge] = (float(kg), 1.0 - none)
        return along

    def _thick(self, sight_m: float) -> list[tuple[float, float]]:
        """For each edge the kilograms of its patches, and the chance that nothing stands in them.

        Hosts are taken to fruit independently: 1 - chance for each of the expected number in view.
        """
        from underoak.woods.host_density import hosts_from_patches

        kg, chance = self.kg[len(self.trees) :], self.chance[len(self.trees) :]
        along = []
        for seen in hosts_from_patches(self.ground.network, self.patches, sight_m):
            none = float(np.prod([(1.0 - min(float(chance[p]), 1.0)) ** hosts for p, hosts in seen]))
            along.append((float(sum(hosts * kg[p] for p, hosts in seen)), none))
        return along

    def _more_kg(self, tree: int, seen: dict[int, float]) -> float:
        """What a close look at a tree shows beyond what is seen from the trails: no host pays twice."""
        from underoak.woods.exposure import walk_round

        return max(walk_round(0.0, None).share_seen - seen[tree], 0.0) * float(self.kg[tree])

    def _close_looks(self, seen: dict[int, float], sight_m: float) -> list[Prize]:
        from underoak.model.network import Network
        from underoak.walk.problem import Prize
        from underoak.woods.exposure import nearest_edges, walk_round

        network = self.ground.network
        numbers = [k for k, edge in enumerate(network.edges) if not edge.closed]
        open_ = Network(network.nodes, tuple(network.edges[k] for k in numbers))
        looks = []
        for tree, near in enumerate(nearest_edges(open_, self.trees, sight_m)):
            more = self._more_kg(tree, seen) if tree in seen else 0.0
            if near is None or more < CLOSE_LOOK_KG:
                continue
            look = walk_round(near[1], self.trees[tree].diameter_cm)
            minutes, there = look.minutes + PICK_MIN_KG * more, look.share_seen * float(self.chance[tree])
            key = f"{TREE_KEY}{self.trees[tree].id}"
            looks.append(Prize(more, minutes, edge=numbers[near[0]], chance=there, key=key))
        looks.sort(key=lambda prize: (-prize.kg / prize.minutes, prize.edge, prize.key))
        return looks[:MOST_CLOSE_LOOKS]


def _shares(view: View) -> dict[int, float]:
    """Share of each tree that is seen from all open trails together."""
    shares: dict[int, float] = {}
    for _, seen in view:
        for tree, share in seen:
            shares[tree] = shares.get(tree, 0.0) + share
    return shares
