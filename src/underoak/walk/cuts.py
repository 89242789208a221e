"""Rules the relaxation breaks: what is gathered in a part of the wood needs a way into that part.

For a prize k and any set S of nodes that holds an end of k but not the start, every walk that gathers
k enters S: the arcs into S sum to at least the amount of k taken. Separated by maximum flow from the
start to each prize.

Source: generalised subtour elimination of the orienteering problem, Fischetti, Salazar-Gonzalez,
Toth 1998 (from memory).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

    from underoak.walk.formulation import Formulation

    FloatArray = npt.NDArray[np.float64]
    IntArray = npt.NDArray[np.int64]
    BoolArray = npt.NDArray[np.bool_]

#: Capacities are whole numbers for the flow search; one unit of a count is this many.
UNIT = 1_000_000
#: Capacity every arc has besides its own, so that cuts of few arcs are preferred.
CREEP = 300
#: A rule counts as broken from here on.
BROKEN = 0.05
#: Most rows for one round: more make the relaxation slow, fewer make many rounds.
MOST_CUTS = 300

Row = tuple["IntArray", "FloatArray", float, float]


def separate(
    formulation: Formulation, values: FloatArray, *, most: int = MOST_CUTS, broken: float = BROKEN
) -> list[Row]:
    """Rows the point ``values`` breaks, at most one for each node set.

    Both the smallest and the largest set that a minimum cut allows are taken, and a little capacity on
    every arc makes cuts of few arcs come first: together they close the gap in a fraction of the rounds.
    """
    from scipy.sparse import csr_array
    from scipy.sparse.csgraph import maximum_flow

    ground = formulation.ground
    arcs, modes, start = ground.arcs, ground.modes, ground.problem.start
    a, nodes = formulation.arcs, ground.problem.graph.nodes
    x, z = values[:a], values[a : a + formulation.modes]
    units = np.rint(x * UNIT).astype(np.int32) + CREEP
    capacity = csr_array((units, (arcs.tail, arcs.head)), shape=(nodes, nodes))
    _, row = np.unique(modes.prize, return_inverse=True)
    taken = np.bincount(row, weights=z).astype(np.float64)
    found: dict[bytes, Row] = {}
    for prize in np.argsort(-taken, kind="stable"):
        if taken[prize] <= broken or len(found) >= most:
            break
        own = np.flatnonzero(row == prize)
        far = {int(n) for m in own for n in (modes.entry[m], modes.exit[m])} - {start}
        for node in sorted(far):
            flow = maximum_flow(capacity, start, node)
            if flow.flow_value >= (taken[prize] - broken) * UNIT:
                continue
            for inside in _sides(capacity - flow.flow, start, node):
                if (key := inside.tobytes()) not in found:
                    found[key] = _row(formulation, inside, row, taken)
    return list(found.values())


def _sides(left: object, start: int, node: int) -> tuple[BoolArray, BoolArray]:
    """The smallest and the largest node set around ``node`` that the flow leaves no way into."""
    from scipy.sparse import csr_array
    from scipy.sparse.csgraph import breadth_first_order

    ahead = csr_array(left)  # type: ignore[call-overload]
    ahead.data = np.maximum(ahead.data, 0)
    ahead.eliminate_zeros()
    sides = []
    for graph, root in ((ahead.T.tocsr(), node), (ahead, start)):
        reached: BoolArray = np.zeros(graph.shape[0], dtype=bool)
        reached[breadth_first_order(graph, root, directed=True, return_predecessors=False)] = True
        sides.append(reached)
    return sides[0], ~sides[1]


def _row(formulation: Formulation, inside: BoolArray, row: npt.NDArray[np.intp], taken: FloatArray) -> Row:
    """Arcs into the set, less the most taken prize that touches it: at least 0."""
    arcs, modes, a = formulation.ground.arcs, formulation.ground.modes, formulation.arcs
    into = np.flatnonzero(~inside[arcs.tail] & inside[arcs.head])
    touching = inside[modes.entry] | inside[modes.exit]
    prize = row[touching][np.argmax(taken[row[touching]])]
    own = a + np.flatnonzero(row == prize)
    columns = np.concatenate((into, own))
    values = np.concatenate((np.ones(len(into)), -np.ones(len(own))))
    return columns, values, 0.0, np.inf
