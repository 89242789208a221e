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
#: A rule counts as broken from here on.
BROKEN = 0.02

Row = tuple["IntArray", "FloatArray", float, float]


def separate(
    formulation: Formulation, values: FloatArray, *, most: int = 200, broken: float = BROKEN
) -> list[Row]:
    """Rows the point ``values`` breaks, most broken first, at most one for each node set."""
    from scipy.sparse import csr_array
    from scipy.sparse.csgraph import maximum_flow

    ground = formulation.ground
    arcs, modes, start = ground.arcs, ground.modes, ground.problem.start
    a, nodes = formulation.arcs, ground.problem.graph.nodes
    x, z = values[:a], values[a : a + formulation.modes]
    capacity = csr_array((np.rint(x * UNIT).astype(np.int32), (arcs.tail, arcs.head)), shape=(nodes, nodes))
    capacity.sum_duplicates()
    _, row = np.unique(modes.prize, return_inverse=True)
    taken = np.bincount(row, weights=z).astype(np.float64)
    seen: set[bytes] = set()
    found: list[tuple[float, Row]] = []
    for prize in np.argsort(-taken, kind="stable"):
        if taken[prize] <= broken:
            break
        own = np.flatnonzero(row == prize)
        for node in sorted({int(n) for m in own for n in (modes.entry[m], modes.exit[m])}):
            if node == start:
                continue
            flow = maximum_flow(capacity, start, node)
            if flow.flow_value >= (taken[prize] - broken) * UNIT:
                continue
            inside = _sink_side(capacity - flow.flow, node)
            if (key := inside.tobytes()) in seen:
                continue
            seen.add(key)
            found.append((taken[prize] - flow.flow_value / UNIT, _row(formulation, inside, row, taken)))
        if len(found) >= most:
            break
    found.sort(key=lambda pair: -pair[0])
    return [pair[1] for pair in found]


def _sink_side(left: object, node: int) -> BoolArray:
    """Nodes from which ``node`` can still be reached over arcs with capacity left."""
    from scipy.sparse import csr_array
    from scipy.sparse.csgraph import breadth_first_order

    back = csr_array(left).T.tocsr()  # type: ignore[call-overload]
    back.data = np.maximum(back.data, 0)
    back.eliminate_zeros()
    reached = breadth_first_order(back, node, directed=True, return_predecessors=False)
    inside: BoolArray = np.zeros(back.shape[0], dtype=bool)
    inside[reached] = True
    return inside


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
