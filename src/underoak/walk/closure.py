"""The walk seen from its prizes: shortest ways between all places where gathering begins or ends."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

    from underoak.walk.problem import WalkGraph, WalkProblem

    FloatArray = npt.NDArray[np.float64]
    IntArray = npt.NDArray[np.int64]

#: Above this many arcs for each node, all-pairs matrix algebra is quicker than one search per node.
DENSE = 10


@dataclass(frozen=True, slots=True, eq=False)
class Arcs:
    """Every way an edge can be walked: tail, head, minutes and edge, all of shape (arcs,)."""

    tail: IntArray
    head: IntArray
    minutes: FloatArray
    edge: IntArray


@dataclass(frozen=True, slots=True, eq=False)
class Ways:
    """Shortest ways between all nodes.

    ``minutes`` (nodes, nodes) is infinite where there is none; ``before`` (nodes, nodes) is the
    node before the last on the way, negative where there is none.
    """

    minutes: FloatArray
    before: npt.NDArray[np.int32]

    def nodes_between(self, here: int, there: int) -> list[int]:
        """Nodes of the shortest way, both ends included."""
        way = [there]
        while way[-1] != here:
            way.append(int(self.before[here, way[-1]]))
        return way[::-1]


@dataclass(frozen=True, slots=True, eq=False)
class Modes:
    """Each way to collect a prize: along an edge in either direction, or at a node.

    All arrays have shape (modes,): the prize, the node where it begins and ends, minutes for
    walking and gathering, the mode of the same prize in the other direction (itself if none), kilograms,
    the edge (-1 at a node) and the minutes of walking along it.
    """

    prize: IntArray
    entry: IntArray
    exit: IntArray
    minutes: FloatArray
    other: IntArray
    kg: FloatArray
    edge: IntArray
    walk_min: FloatArray


def arcs_of(graph: WalkGraph) -> Arcs:
    """All directed arcs that can be walked, each edge's forward arc before its backward one."""
    edges = np.arange(len(graph.start))
    tail = np.column_stack((graph.start, graph.end)).reshape(-1)
    head = np.column_stack((graph.end, graph.start)).reshape(-1)
    minutes = np.column_stack((graph.forward_min, graph.backward_min)).reshape(-1)
    edge = np.repeat(edges, 2)
    open_ = np.isfinite(minutes) & (tail != head)
    return Arcs(tail[open_], head[open_], minutes[open_], edge[open_])


def shortest_ways(nodes: int, arcs: Arcs) -> Ways:
    """Shortest ways between all nodes [minutes]; times of 0 count as a ten-thousandth of a second."""
    from scipy.sparse.csgraph import shortest_path

    matrix = _matrix(nodes, arcs)
    if matrix.nnz <= DENSE * nodes:
        minutes, before = shortest_path(matrix, method="D", return_predecessors=True)
    elif (direct := _direct_ways(matrix)) is not None:
        return direct
    else:
        minutes, before = shortest_path(matrix, method="FW", return_predecessors=True)
    return Ways(np.asarray(minutes), np.asarray(before, dtype=np.int32))


def _matrix(nodes: int, arcs: Arcs) -> Any:
    """Minutes of the quickest arc between any two nodes, as a sparse array (nodes, nodes)."""
    from scipy.sparse import csr_array

    order = np.lexsort((arcs.minutes, arcs.head, arcs.tail))
    tail, head = arcs.tail[order], arcs.head[order]
    first = np.ones(len(order), dtype=bool)
    first[1:] = (tail[1:] != tail[:-1]) | (head[1:] != head[:-1])
    cost = np.maximum(arcs.minutes[order][first], 1.7e-6)
    return csr_array((cost, (tail[first], head[first])), shape=(nodes, nodes))


def _direct_ways(matrix: Any) -> Ways | None:
    """The arcs themselves where no way round over one other node is shorter, else None."""
    nodes = matrix.shape[0]
    minutes = matrix.toarray()
    minutes[minutes == 0.0] = np.inf
    np.fill_diagonal(minutes, 0.0)
    for middle in range(nodes):
        if (minutes[:, middle, None] + minutes[middle] < minutes).any():
            return None
    before = np.repeat(np.arange(nodes, dtype=np.int32)[:, None], nodes, axis=1)
    before[np.isinf(minutes)] = -9999
    np.fill_diagonal(before, -9999)
    return Ways(minutes, before)


def within_reach(problem: WalkProblem) -> list[int]:
    """Positions of the prizes from which one would be back in time, were each the only one."""
    from scipy.sparse.csgraph import shortest_path

    matrix = _matrix(problem.graph.nodes, arcs_of(problem.graph))
    there, back = (
        np.asarray(shortest_path(one, method="D", indices=node))
        for one, node in ((matrix, problem.start), (matrix.T.tocsr(), problem.finish))
    )
    return sorted({int(p) for p in _modes(problem, there, back).prize})


def modes_of(problem: WalkProblem, ways: Ways) -> Modes:
    """The modes of every prize worth something that can be reached and left again in time."""
    return _modes(problem, ways.minutes[problem.start], ways.minutes[:, problem.finish])


def _modes(problem: WalkProblem, there: FloatArray, back: FloatArray) -> Modes:
    """`modes_of` with the minutes from the start to each node, and from each to the finish."""
    graph = problem.graph
    rows: list[tuple[int, int, int, int, float, float]] = []
    for position, prize in enumerate(problem.prizes):
        if prize.node >= 0:
            rows.append((position, prize.node, prize.node, -1, 0.0, prize.minutes))
            continue
        edge = prize.edge
        a, b = int(graph.start[edge]), int(graph.end[edge])
        there_min, back_min = float(graph.forward_min[edge]), float(graph.backward_min[edge])
        rows.append((position, a, b, edge, there_min, prize.minutes + there_min))
        rows.append((position, b, a, edge, back_min, prize.minutes + back_min))
    table = np.array(rows, dtype=float).reshape(-1, 6)
    item, entry, leave, along = (table[:, c].astype(np.int64) for c in range(4))
    walk_min, minutes = table[:, 4], table[:, 5]
    kg = np.array([p.kg for p in problem.prizes], dtype=float)[item] if len(item) else np.zeros(0)
    whole = there[entry] + minutes + back[leave]
    wanted = kg > 0.0
    if problem.must_see:
        wanted |= np.isin(item, sorted(problem.must_see))
    keep = np.isfinite(whole) & (whole <= problem.minutes + 1e-9) & wanted
    item, entry, leave, minutes, kg = item[keep], entry[keep], leave[keep], minutes[keep], kg[keep]
    along, walk_min = along[keep], walk_min[keep]
    other = np.arange(len(item))
    twin = np.flatnonzero(item[1:] == item[:-1])
    other[twin], other[twin + 1] = twin + 1, twin
    return Modes(item, entry, leave, minutes, other, kg, along, walk_min)
