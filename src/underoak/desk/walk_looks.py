"""Trees to leave the trail for, told to somebody who walks: after how many metres, how far, on which side."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from underoak.desk.walk_ground import WalkGround
    from underoak.model.ground import LonLat, Tree
    from underoak.walk.problem import WalkProblem
    from underoak.walk.result import WalkResult
    from underoak.walk.turns import Turn


def looks_of(
    ground: WalkGround, problem: WalkProblem, result: WalkResult, turns: Sequence[Turn]
) -> list[tuple[str, ...]]:
    """For each turn the trees to go round until the next, in the order in which they are passed."""
    from underoak.desk.walk_worth import TREE_KEY
    from underoak.walk.turns import line_of

    trees = {f"{TREE_KEY}{tree.id}": tree for tree in ground.trees}
    found: list[list[tuple[float, str]]] = [[] for _ in turns]
    starts = [turn.begins_min for turn in turns]
    gone_m, last = 0.0, -1
    for leg in result.legs:
        turn = max(int(np.searchsorted(starts, leg.begins_min, side="right")) - 1, 0)
        gone_m = gone_m if turn == last else 0.0
        line = line_of(ground.network, leg)
        for prize in leg.prizes:
            tree = trees.get(problem.prizes[prize].key)
            if tree is not None:
                along_m, right_m = _beside(line, tree)
                at_m = gone_m + along_m
                found[turn].append((at_m, _words(tree, at_m, right_m)))
        gone_m, last = gone_m + ground.network.edges[leg.edge].length_m, turn
    return [tuple(words for _, words in sorted(looks)) for looks in found]


def _words(tree: Tree, at_m: float, right_m: float) -> str:
    host = "tree" if tree.host_group == "unknown" else tree.host_group.replace("_", " ")
    trunk = f" of {tree.diameter_cm:.0f} cm" if tree.diameter_cm is not None else ""
    stump = {"stump": ", a stump", "dead": ", dead"}.get(tree.condition, "")
    side = "right" if right_m >= 0.0 else "left"
    return f"{host}{trunk}{stump} (after {round(at_m, -1):.0f} m, {abs(right_m):.0f} m to the {side})"


def _beside(line: Sequence[LonLat], tree: Tree) -> tuple[float, float]:
    """How far along a line in degrees a tree is passed [m], and how far to the right it stands [m]."""
    from underoak.woods.geodesy import LocalPlane

    here = np.array([(tree.longitude_deg, tree.latitude_deg)])
    plane = LocalPlane(*line[0])
    stem = plane.to_plane(here)[0]
    best, gone = (np.inf, 0.0, 0.0), 0.0
    for a, b in pairwise(plane.to_plane(line)):
        step = b - a
        long = float(np.hypot(*step))
        share = float(np.clip(np.dot(stem - a, step) / max(long**2, 1e-9), 0.0, 1.0))
        away = stem - a - share * step
        right = float(step[1] * away[0] - step[0] * away[1])
        best = min(best, (float(np.hypot(*away)), gone + share * long, right))
        gone += long
    gap_m, along_m, right = best
    return along_m, gap_m if right >= 0.0 else -gap_m
