"""What a network looks like: its separate parts, dead ends and lengths, in words."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from underoak.model.network import Network
from underoak.model.quantities import counted
from underoak.woods.geodesy import LocalPlane
from underoak.woods.trails import nearest_node

#: A start farther from every trail than this is no start [m].
FARTHEST_START_M = 1000.0
#: A dead end this near another trail is worth a look at the map [m]. Judgement.
NEAR_MISS_M = 30.0


@dataclass(frozen=True, slots=True)
class Component:
    """One part of a network that hangs together: nodes and edges by position, length [m], a name."""

    name: str
    nodes: tuple[int, ...]
    edges: tuple[int, ...]
    length_m: float


@dataclass(frozen=True, slots=True)
class NearMiss:
    """A dead end (node position) that stops ``gap_m`` short of another trail: a gap in the map, perhaps."""

    node: int
    edge: int
    gap_m: float
    longitude_deg: float
    latitude_deg: float

    @property
    def words(self) -> str:
        """One line for a person."""
        at = f"{self.latitude_deg:.5f}, {self.longitude_deg:.5f}"
        return f"a trail ends {self.gap_m:.0f} m short of another one, at {at}"


@dataclass(frozen=True, slots=True)
class NetworkReport:
    """What was found when the trails were cleaned. ``dead_ends`` are node positions."""

    components: tuple[Component, ...]
    dead_ends: tuple[int, ...]
    near_misses: tuple[NearMiss, ...]
    length_m: float
    closed_m: float
    oneway_m: float

    def sentences(self) -> tuple[str, ...]:
        """A few lines for a person."""
        told = [f"{self.length_m / 1000:.1f} km of trail", f"{counted(len(self.dead_ends), 'dead end')}"]
        told += [f"{self.closed_m / 1000:.1f} km closed"] if self.closed_m else []
        told += [f"{self.oneway_m / 1000:.1f} km one-way"] if self.oneway_m else []
        lines = [", ".join(told)]
        parts = [part for part in self.components if part.edges]
        if len(parts) > 1:
            lines.append(f"the trails fall into {len(parts)} parts that do not meet:")
            lines += [f"  {part.name}: {part.length_m / 1000:.2f} km" for part in parts[:10]]
            if len(parts) > 10:
                rest = sum(part.length_m for part in parts[10:])
                lines.append(f"  and {len(parts) - 10} more, {rest / 1000:.2f} km together")
        lines += [miss.words for miss in self.near_misses[:10]]
        if len(self.near_misses) > 10:
            lines.append(f"{len(self.near_misses) - 10} more trails end so near another one")
        return tuple(lines)


def components(network: Network) -> tuple[Component, ...]:
    """The parts of the network that hang together over open edges, longest first.

    Closed edges join nothing; a node that only closed edges touch is a part of its own without length.
    A part is named after the trail name that is longest in it, else by its rank.
    """
    parent = list(range(len(network.nodes)))

    def root(n: int) -> int:
        while parent[n] != n:
            parent[n] = parent[parent[n]]
            n = parent[n]
        return n

    for edge in network.edges:
        if not edge.closed:
            parent[root(edge.start)] = root(edge.end)
    nodes: dict[int, list[int]] = {}
    edges: dict[int, list[int]] = {}
    for n in range(len(network.nodes)):
        nodes.setdefault(root(n), []).append(n)
    for k, edge in enumerate(network.edges):
        if not edge.closed:
            edges.setdefault(root(edge.start), []).append(k)
    length = {r: sum(network.edges[k].length_m for k in edges.get(r, [])) for r in nodes}
    ranked = sorted(nodes, key=lambda r: (-length[r], nodes[r][0]))
    return tuple(
        Component(_name(network, edges.get(r, []), rank), tuple(nodes[r]), tuple(edges.get(r, [])), length[r])
        for rank, r in enumerate(ranked, start=1)
    )


def _name(network: Network, edges: list[int], rank: int) -> str:
    metres: Counter[str] = Counter()
    for k in edges:
        metres[network.edges[k].name] += round(network.edges[k].length_m)
    metres.pop("", None)
    return f"part {rank}, around {metres.most_common(1)[0][0]}" if metres else f"part {rank}"


def report(network: Network) -> NetworkReport:
    """Parts, dead ends and lengths of a network."""
    ends = Counter(n for edge in network.edges for n in (edge.start, edge.end))
    dead_ends = tuple(sorted(n for n, count in ends.items() if count == 1))
    return NetworkReport(
        components=components(network),
        dead_ends=dead_ends,
        near_misses=_near_misses(network, dead_ends),
        length_m=sum(edge.length_m for edge in network.edges),
        closed_m=sum(edge.length_m for edge in network.edges if edge.closed),
        oneway_m=sum(edge.length_m for edge in network.edges if edge.oneway),
    )


def _near_misses(network: Network, dead_ends: Sequence[int]) -> tuple[NearMiss, ...]:
    """Dead ends no farther than `NEAR_MISS_M` from an edge that the way there does not reach as fast."""
    from shapely import LineString, Point, STRtree

    if not dead_ends:
        return ()
    plane = LocalPlane(*network.edges[0].points[0])
    lines = [LineString(plane.to_plane(edge.points)) for edge in network.edges]
    tree = STRtree(lines)
    own = {n: k for k, edge in enumerate(network.edges) for n in (edge.start, edge.end)}
    misses = []
    for node in dead_ends:
        here = network.nodes[node]
        point = Point(plane.to_plane([(here.longitude_deg, here.latitude_deg)])[0])
        last = network.edges[own[node]]
        beside = {last.start, last.end}
        near = [
            (float(lines[k].distance(point)), int(k))
            for k in tree.query(point, predicate="dwithin", distance=NEAR_MISS_M)
            if not beside & {network.edges[k].start, network.edges[k].end}
        ]
        if near:
            gap_m, edge = min(near)
            misses.append(NearMiss(node, edge, gap_m, here.longitude_deg, here.latitude_deg))
    return tuple(misses)


def start_problem(network: Network, lon: float, lat: float) -> str:
    """Why no walk can start at (lon, lat) in degrees, as a sentence; empty when one can."""
    if not network.edges:
        return "no trail is known around here; load trails first"
    node, gap_m = nearest_node(network, lon, lat)
    if gap_m > FARTHEST_START_M:
        return f"the start lies {gap_m / 1000:.1f} km from the nearest trail; choose a car park nearer to one"
    parts = components(network)
    own = next(part for part in parts if node in part.nodes)
    if not own.edges:
        return "the only trails at the start are closed"
    if own is not parts[0] and own.length_m < 0.1 * parts[0].length_m:
        return (
            f"the trails at the start ({own.name}, {own.length_m / 1000:.2f} km) do not meet the rest of the "
            f"network ({parts[0].length_m / 1000:.1f} km); a gap in the map, or another car park?"
        )
    return ""
