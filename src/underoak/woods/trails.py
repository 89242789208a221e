"""From trails as people record them to one network that can be walked and searched."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise

import numpy as np

from underoak.model.ground import CarPark, Spot, Terrain, Trail
from underoak.model.network import Edge, Network, Node
from underoak.woods.drape import draped, smoothed
from underoak.woods.geodesy import FloatArray, LocalPlane, distance_m
from underoak.woods.noding import Noding, PlaneLine, plane_line
from underoak.woods.stretches import Stretch, contracted, cut_long, without_doubles

#: A trail end this near another trail is meant to meet it [m]: the error of a hand-held receiver under
#: trees. Judgement.
SNAP_M = 8.0
#: Car parks and spots farther from every trail than this get no node of their own [m]. Judgement.
CAR_PARK_REACH_M = 250.0
SPOT_REACH_M = 150.0
#: Where a walk may turn round, at the latest [m].
LONGEST_EDGE_M = 300.0


def build_network(
    trails: Sequence[Trail],
    car_parks: Sequence[CarPark] = (),
    spots: Sequence[Spot] = (),
    terrain: Terrain | None = None,
    *,
    snap_m: float = SNAP_M,
    longest_edge_m: float = LONGEST_EDGE_M,
) -> Network:
    """The trails as a graph of nodes and edges.

    Parameters
    ----------
    trails : lines in degrees; closed and one-way ones are kept and marked
    car_parks, spots : each gets a node on the nearest trail within 250 m and 150 m
    terrain : grid for elevations, or None; where it is silent the trails' own elevations count, else 0 m
    snap_m : a trail end this near another trail is joined to it [m]
    longest_edge_m : longer edges are cut into equal parts [m]

    Returns
    -------
    Network; the same input gives the same network. No edge is a loop; two edges may join the same
    two nodes. Nothing is invented between trails that do not meet: see `network_report.components`.
    Crossings are junctions also where in truth a bridge leads over.

    Method
    ------
    Local plane; lines cut where they cross, touch or end within ``snap_m`` of another; cut points nearer
    than 1.5 m are one node; a line is cut where it turns back on itself, and where another that runs
    along it within ``snap_m`` is cut; stretches running along each other so count once; nodes of two ends
    vanish where name, surface, direction and closure agree; then long edges are cut and elevation is
    draped every 25 m.
    """
    plane, lines, owners = _plane_lines(trails)
    if not lines:
        return Network((), ())
    noding = Noding(lines)
    noding.split_crossings()
    noding.snap_ends(snap_m)
    noding.cut_hairpins(snap_m)
    noding.match_doubles(snap_m)
    for places, reach_m in ((car_parks, CAR_PARK_REACH_M), (spots, SPOT_REACH_M)):
        for place in places:
            noding.attach(plane.to_plane([(place.longitude_deg, place.latitude_deg)])[0], reach_m)
    positions, node_of, kept = noding.nodes()
    stretches = without_doubles(_stretches(noding, node_of, positions, owners), snap_m)
    nodes = list(positions)
    pieces = cut_long(contracted(stretches, kept), longest_edge_m, nodes)
    return _as_network(pieces, nodes, plane, terrain)


def _plane_lines(trails: Sequence[Trail]) -> tuple[LocalPlane, list[PlaneLine], list[Trail]]:
    points = np.array([p for trail in trails for p in trail.points], dtype=np.float64).reshape(-1, 2)
    middle = (points.min(axis=0) + points.max(axis=0)) / 2.0 if len(points) else np.zeros(2)
    plane = LocalPlane(float(middle[0]), float(middle[1]))
    lines, owners = [], []
    for trail in trails:
        z = np.array(trail.elevations_m or [np.nan] * len(trail.points), dtype=np.float64)
        line = plane_line(plane.to_plane(trail.points), z)
        if line is not None:
            line.xyz[:, 2] = smoothed(line.along, line.xyz[:, 2])
            lines.append(line)
            owners.append(trail)
    return plane, lines, owners


def _stretches(
    noding: Noding, node_of: Sequence[int], positions: FloatArray, owners: Sequence[Trail]
) -> Iterable[Stretch]:
    for line, trail, cuts in zip(noding.lines, owners, noding.cuts_of(node_of), strict=True):
        for (s1, a), (s2, b) in pairwise(cuts):
            xyz = line.between(s1, s2)
            xyz[0], xyz[-1] = positions[a], positions[b]
            yield Stretch(a, b, xyz, trail)


def _as_network(
    pieces: Sequence[Stretch], nodes: Sequence[FloatArray], plane: LocalPlane, terrain: Terrain | None
) -> Network:
    number: dict[int, int] = {}
    for piece in pieces:
        number.setdefault(piece.start, len(number))
        number.setdefault(piece.end, len(number))
    used = np.array([nodes[k] for k in number]).reshape(-1, 3)
    lonlat = plane.to_degrees(used[:, :2])
    profiles, heights = draped(
        pieces, [(number[p.start], number[p.end]) for p in pieces], used[:, 2], plane, terrain
    )
    edges = []
    for piece, profile in zip(pieces, profiles, strict=True):
        degrees = plane.to_degrees(piece.xyz[:, :2])
        a, b = number[piece.start], number[piece.end]
        degrees[0], degrees[-1] = lonlat[a], lonlat[b]
        trail = piece.trail
        edges.append(
            Edge(
                start=a,
                end=b,
                points=tuple((float(x), float(y)) for x, y in degrees),
                length_m=profile[-1][0],
                profile=profile,
                trail_id=trail.id,
                name=trail.name,
                surface=trail.surface,
                oneway=trail.oneway,
                closed=trail.closed,
            )
        )
    return Network(
        tuple(Node(float(x), float(y), float(z)) for (x, y), z in zip(lonlat, heights, strict=True)),
        tuple(edges),
    )


def nearest_node(network: Network, lon: float, lat: float) -> tuple[int, float]:
    """Position of the node nearest to (lon, lat) in degrees, and how far it is [m].

    Raises
    ------
    ValueError   when the network is empty
    """
    if not network.nodes:
        raise ValueError("the network has no node")
    lons = np.array([n.longitude_deg for n in network.nodes])
    lats = np.array([n.latitude_deg for n in network.nodes])
    gaps = distance_m(lons, lats, lon, lat)
    best = int(np.argmin(gaps))
    return best, float(gaps[best])
