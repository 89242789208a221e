"""Trees to leave the trail for are told where they stand."""

from __future__ import annotations

from itertools import pairwise

import pytest

from tests.unit.test_plan_walk import ALLOWED, at, invented_wood
from tests.walk_cases import graph_of
from underoak.desk.walk_ground import WalkGround
from underoak.desk.walk_looks import looks_of
from underoak.model.ground import CarPark, Trail, Tree
from underoak.walk.problem import Prize, WalkProblem
from underoak.walk.result import result_of
from underoak.walk.turns import turns_of
from underoak.woods.trails import build_network, nearest_node


def tree(name: str, east: float, north: float, cm: float | None, condition: str = "living") -> Tree:
    host = "unknown" if cm is None else "red_oak"
    return Tree(name, *at(east, north), "", host, cm, condition)  # type: ignore[arg-type]


@pytest.mark.parametrize("there", [True, False])
def test_metres_and_sides_hold_in_the_direction_of_the_walk(there: bool) -> None:
    """A trail of 500 m towards the east in two pieces; one oak 12 m south of it, one tree 20 m north."""
    trees = (tree("a", 120, -12, 113.0, "stump"), tree("b", 400, 20, None))
    network = build_network([Trail("t", "Oak row", (at(0, 0), at(500, 0)))])
    ground = WalkGround(
        invented_wood(ALLOWED), CarPark("lot", "lot", *at(0, 0)), network, 0, 0.0, trees, (), None
    )
    ends = [nearest_node(network, *at(x, 0))[0] for x in (0, 250, 500)]
    order = ends if there else ends[::-1]
    edge_at = {frozenset((e.start, e.end)): k for k, e in enumerate(network.edges)}
    edges = [edge_at[frozenset(pair)] for pair in pairwise(order)]
    near = {"a": edge_at[frozenset(ends[:2])], "b": edge_at[frozenset(ends[1:])]}
    prizes = tuple(Prize(0.1, 2.0, edge=near[name], key=f"tree {name}") for name in "ab")
    graph = graph_of(3, [(e.start, e.end, 3.0, 3.0) for e in network.edges])
    problem = WalkProblem(graph, prizes, order[0], order[-1], 60.0)
    steps = [(k, network.edges[k].start == node) for k, node in zip(edges, order[:-1], strict=True)]
    result = result_of(problem, steps, [0, 1], bound_kg=1.0, method="")
    (told,) = looks_of(ground, problem, result, turns_of(network, result))
    first, second = (
        "red oak of 113 cm, a stump (after {} m, 12 m to the {})",
        "tree (after {} m, 20 m to the {})",
    )
    if there:
        assert told == (first.format(120, "right"), second.format(400, "left"))
    else:
        assert told == (second.format(100, "right"), first.format(380, "left"))
