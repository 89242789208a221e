"""The trail network as a graph: nodes, edges and what it costs to walk them."""

from __future__ import annotations

from dataclasses import dataclass

from underoak.model.ground import LonLat


@dataclass(frozen=True, slots=True)
class Node:
    """A junction, trail end, car park or known tree on the network."""

    longitude_deg: float
    latitude_deg: float
    elevation_m: float = 0.0


@dataclass(frozen=True, slots=True)
class Edge:
    """One stretch of trail between two nodes, with its line from ``start`` to ``end``.

    ``length_m`` is along the ground plan; ``profile`` holds (distance_m, elevation_m) pairs along
    the line, at least its two ends. ``oneway`` allows start to end only; ``closed`` forbids both.
    """

    start: int
    end: int
    points: tuple[LonLat, ...]
    length_m: float
    profile: tuple[tuple[float, float], ...]
    trail_id: str = ""
    name: str = ""
    surface: str = ""
    oneway: bool = False
    closed: bool = False


@dataclass(frozen=True, slots=True)
class Network:
    """All nodes and edges; edges name nodes by position."""

    nodes: tuple[Node, ...]
    edges: tuple[Edge, ...]
