"""The walk as a mixed-integer programme: which way each arc is walked, what is gathered, and when.

Every arc carries a count, every mode of a prize a yes or no, and every arc the time on the watch at
its end, summed over its passes. Time can only come from the start, so loops that hang in the air are
impossible without any further rule, and every bound on the watch tightens the relaxation.

Source: arc orienteering, Souffriau et al. 2011 and Verbeeck, Vansteenwegen, Aghezzaf 2014 (from
memory); flow formulations of the orienteering problem, Kara, Bicakci, Derya 2016 (from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from underoak.walk.closure import Arcs, Modes, Ways, arcs_of, modes_of, shortest_ways

if TYPE_CHECKING:
    import numpy.typing as npt

    from underoak.walk.problem import WalkProblem

    FloatArray = npt.NDArray[np.float64]
    IntArray = npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class Ground:
    """A problem with everything that can play no part taken away, and its shortest ways."""

    problem: WalkProblem
    arcs: Arcs
    ways: Ways
    modes: Modes


@dataclass(frozen=True, slots=True, eq=False)
class Formulation:
    """Columns in the order arcs, modes, watch of arcs, kilograms of places.

    ``matrix`` is a scipy sparse matrix (rows, columns); rows and columns lie between their bounds.
    """

    ground: Ground
    cost: FloatArray
    lower: FloatArray
    upper: FloatArray
    integer: npt.NDArray[np.bool_]
    matrix: Any
    row_lower: FloatArray
    row_upper: FloatArray

    @property
    def arcs(self) -> int:
        """Number of arcs."""
        return len(self.ground.arcs.tail)

    @property
    def modes(self) -> int:
        """Number of modes."""
        return len(self.ground.modes.prize)


def ground_of(problem: WalkProblem) -> Ground:
    """The problem without arcs and prizes that no walk in time can use, and without bare dead ends."""
    arcs = arcs_of(problem.graph)
    ways = shortest_ways(problem.graph.nodes, arcs)
    modes = modes_of(problem, ways)
    whole = ways.minutes[problem.start, arcs.tail] + arcs.minutes + ways.minutes[arcs.head, problem.finish]
    keep = whole <= problem.minutes + 1e-9
    keep &= _not_bare(problem, arcs, keep, modes)
    return Ground(
        problem, Arcs(arcs.tail[keep], arcs.head[keep], arcs.minutes[keep], arcs.edge[keep]), ways, modes
    )


def _not_bare(
    problem: WalkProblem, arcs: Arcs, keep: npt.NDArray[np.bool_], modes: Modes
) -> npt.NDArray[np.bool_]:
    """Arcs outside trees of trail that end blind and bear nothing."""
    if not _blind_ends(problem, arcs, keep):
        return np.ones(len(arcs.edge), dtype=bool)
    prizes = [problem.prizes[int(p)] for p in modes.prize]
    rich_edges = {p.edge for p in prizes if p.edge >= 0}
    rich_nodes = {p.node for p in prizes if p.node >= 0} | {problem.start, problem.finish}
    at: dict[int, set[int]] = {}
    ends: dict[int, tuple[int, int]] = {}
    for arc in np.flatnonzero(keep):
        edge, a, b = int(arcs.edge[arc]), int(arcs.tail[arc]), int(arcs.head[arc])
        ends[edge] = (a, b)
        at.setdefault(a, set()).add(edge)
        at.setdefault(b, set()).add(edge)
    blind = [n for n, edges in at.items() if len(edges) == 1 and n not in rich_nodes]
    while blind:
        node = blind.pop()
        if len(at[node]) != 1 or (edge := next(iter(at[node]))) in rich_edges:
            continue
        del ends[edge]
        for end in (a for n in [node] for a in _both(arcs, edge, n)):
            at[end].discard(edge)
            if len(at[end]) == 1 and end not in rich_nodes:
                blind.append(end)
    return np.isin(arcs.edge, sorted(ends))


def _blind_ends(problem: WalkProblem, arcs: Arcs, keep: npt.NDArray[np.bool_]) -> bool:
    """Whether any node but start and finish has a single edge."""
    graph, edges = problem.graph, np.unique(arcs.edge[keep])
    degree = np.bincount(np.concatenate((graph.start[edges], graph.end[edges])), minlength=graph.nodes)
    degree[[problem.start, problem.finish]] = 0
    return bool((degree == 1).any())


def _both(arcs: Arcs, edge: int, node: int) -> tuple[int, int]:
    position = int(np.flatnonzero(arcs.edge == edge)[0])
    a, b = int(arcs.tail[position]), int(arcs.head[position])
    return (node, b if a == node else a)


def most_passes(ground: Ground) -> FloatArray:
    """How often each arc can be passed at all: every further pass needs the way back to its tail."""
    problem, arcs, ways = ground.problem, ground.arcs, ground.ways.minutes
    once = ways[problem.start, arcs.tail] + arcs.minutes + ways[arcs.head, problem.finish]
    again = arcs.minutes + ways[arcs.head, arcs.tail]
    more = np.floor((problem.minutes - once + 1e-9) / np.maximum(again, 1e-6))
    two_way = np.isfinite(ways[arcs.head, arcs.tail])
    return 1.0 + np.where(two_way, np.minimum(np.maximum(more, 0.0), 9.0), 0.0)


class _Rows:
    def __init__(self) -> None:
        self.row: list[IntArray] = []
        self.column: list[IntArray] = []
        self.value: list[FloatArray] = []
        self.lower: list[FloatArray] = []
        self.upper: list[FloatArray] = []
        self.count = 0

    def add(self, count: int, lower: Any, upper: Any, *parts: tuple[Any, Any, Any]) -> None:
        """``count`` rows; each part gives (row within the block, column, value)."""
        for row, column, value in parts:
            here = np.asarray(row, dtype=np.int64)
            self.row.append(here + self.count)
            self.column.append(np.asarray(column, dtype=np.int64))
            self.value.append(np.broadcast_to(np.asarray(value, dtype=float), here.shape))
        self.lower.append(np.broadcast_to(np.asarray(lower, dtype=float), (count,)))
        self.upper.append(np.broadcast_to(np.asarray(upper, dtype=float), (count,)))
        self.count += count


def formulate(ground: Ground) -> Formulation:
    """The programme of a pruned problem."""
    from scipy.sparse import csr_array

    problem, arcs, modes = ground.problem, ground.arcs, ground.modes
    a, m, places = len(arcs.tail), len(modes.prize), len(problem.place_limit_kg)
    columns = 2 * a + m + places
    rows = _Rows()
    _walk_rows(rows, ground)
    _watch_rows(rows, ground)
    _prize_rows(rows, ground)
    cost = np.zeros(columns)
    cost[2 * a + m :] = 1.0
    upper = np.full(columns, math.inf)
    upper[:a], upper[a : a + m] = most_passes(ground), 1.0
    upper[2 * a + m :] = problem.place_limit_kg
    integer = np.zeros(columns, dtype=bool)
    integer[: a + m] = True
    matrix = csr_array(
        (np.concatenate(rows.value), (np.concatenate(rows.row), np.concatenate(rows.column))),
        shape=(rows.count, columns),
    )
    matrix.sum_duplicates()
    return Formulation(
        ground, cost, np.zeros(columns), upper, integer, matrix,
        np.concatenate(rows.lower), np.concatenate(rows.upper),
    )  # fmt: skip


def _walk_rows(rows: _Rows, ground: Ground) -> None:
    problem, arcs, modes = ground.problem, ground.arcs, ground.modes
    a, nodes = len(arcs.tail), problem.graph.nodes
    x = np.arange(a)
    net = np.zeros(nodes)
    net[problem.start] += 1.0
    net[problem.finish] -= 1.0
    rows.add(nodes, net, net, (arcs.tail, x, 1.0), (arcs.head, x, -1.0))
    z = a + np.arange(len(modes.prize))
    own = np.array([p.minutes for p in problem.prizes], dtype=float)[modes.prize]
    zero = np.zeros(a, dtype=np.int64)
    rows.add(1, -math.inf, problem.minutes, (zero, x, arcs.minutes), (np.zeros(len(z), int), z, own))


def _watch_rows(rows: _Rows, ground: Ground) -> None:
    """Time on the watch: comes from the start, grows with walking and gathering, ends in time."""
    problem, arcs, modes, ways = ground.problem, ground.arcs, ground.modes, ground.ways.minutes
    a, m, nodes = len(arcs.tail), len(modes.prize), problem.graph.nodes
    x, z, f = np.arange(a), a + np.arange(m), a + m + np.arange(a)
    own = np.array([p.minutes for p in problem.prizes], dtype=float)[modes.prize]
    first = mode_arcs(ground)
    along = first >= 0
    net_upper = np.zeros(nodes)
    net_upper[problem.finish] = math.inf
    net_lower = np.where(np.arange(nodes) == problem.finish, -math.inf, 0.0)
    rows.add(
        nodes, net_lower, net_upper,
        (arcs.tail, f, 1.0), (arcs.head, f, -1.0), (arcs.tail, x, -arcs.minutes),
        (modes.entry, z, -own),
    )  # fmt: skip
    early = ways[problem.start, arcs.tail] + arcs.minutes
    rows.add(a, 0.0, math.inf, (x, f, 1.0), (x, x, -early), (first[along], z[along], -own[along]))
    rows.add(a, -math.inf, 0.0, (x, f, 1.0), (x, x, -(problem.minutes - ways[arcs.head, problem.finish])))


def mode_arcs(ground: Ground) -> IntArray:
    """The arc of each mode, -1 for prizes at nodes."""
    arcs, modes = ground.arcs, ground.modes
    where = {(int(e), int(t)): k for k, (e, t) in enumerate(zip(arcs.edge, arcs.tail, strict=True))}
    edges = [ground.problem.prizes[int(p)].edge for p in modes.prize]
    return np.array(
        [where[e, int(n)] if e >= 0 else -1 for e, n in zip(edges, modes.entry, strict=True)], dtype=np.int64
    )


def _prize_rows(rows: _Rows, ground: Ground) -> None:
    problem, arcs, modes = ground.problem, ground.arcs, ground.modes
    a, m = len(arcs.tail), len(modes.prize)
    z, first = a + np.arange(m), mode_arcs(ground)
    along, at = first >= 0, np.flatnonzero(first < 0)
    rows.add(
        int(along.sum()),
        -math.inf,
        0.0,
        (np.arange(along.sum()), z[along], 1.0),
        (np.arange(along.sum()), first[along], -1.0),
    )
    for mode in at:
        if int(modes.entry[mode]) != problem.start:
            into = np.flatnonzero(arcs.head == modes.entry[mode])
            rows.add(1, -math.inf, 0.0, ([0], [z[mode]], 1.0), (np.zeros(len(into), int), into, -1.0))
    prizes, row = np.unique(modes.prize, return_inverse=True)
    least = np.isin(prizes, sorted(problem.must_see)).astype(float)
    rows.add(len(prizes), least, 1.0, (row, z, 1.0))
    places = len(problem.place_limit_kg)
    u = 2 * a + m + np.arange(places)
    place = np.array([p.place for p in problem.prizes], dtype=np.int64)
    rows.add(places, -math.inf, 0.0, (np.arange(places), u, 1.0), (place[modes.prize], z, -modes.kg))
    if math.isfinite(problem.bag_kg):
        rows.add(1, -math.inf, problem.bag_kg, (np.zeros(places, int), u, 1.0))
