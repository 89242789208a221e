"""The walk as a person reads it: numbered turns with distance, bearing, clock and what is there."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from underoak.woods.geodesy import bearing_deg

if TYPE_CHECKING:
    from collections.abc import Sequence

    from underoak.model.ground import LonLat
    from underoak.model.network import Network
    from underoak.walk.result import Leg, WalkResult

COMPASS = ("N", "NE", "E", "SE", "S", "SW", "W", "NW")
#: A bend at a junction that is worth a line of its own [degrees].
BEND_DEG = 40.0


@dataclass(frozen=True, slots=True)
class Turn:
    """One line of the turn list: where it begins and what is walked until the next turn.

    ``begins_min`` counts from leaving the start; ``bearing_deg`` is from true north at the beginning.
    """

    number: int
    longitude_deg: float
    latitude_deg: float
    begins_min: float
    bearing_deg: float
    compass: str
    length_m: float
    walk_min: float
    stop_min: float
    trail: str
    words: str
    prizes: tuple[int, ...]


def compass_point(bearing: float) -> str:
    """The nearest of eight compass points."""
    return COMPASS[round(bearing / 45.0) % 8]


def line_of(network: Network, leg: Leg) -> tuple[LonLat, ...]:
    """Points of a leg in the direction of travel."""
    points = network.edges[leg.edge].points
    return points if leg.forward else points[::-1]


def turns_of(network: Network, result: WalkResult) -> tuple[Turn, ...]:
    """Legs joined into turns: a new one where the trail changes or bends at a junction.

    What is looked at before the first step belongs to the first turn.
    """
    crossing = Counter(node for edge in network.edges for node in (edge.start, edge.end))
    groups: list[list[Leg]] = []
    for leg in result.legs:
        if groups and not _breaks(network, groups[-1][-1], leg, crossing):
            groups[-1].append(leg)
        else:
            groups.append([leg])
    before: float | None = None
    turns = []
    for number, group in enumerate(groups, start=1):
        turns.append(_turn(network, number, group, before))
        before = _bearing(line_of(network, group[-1])[-2:])
    if turns and result.at_start:
        first = turns[0]
        at_start = first.begins_min
        turns[0] = replace(
            first,
            begins_min=0.0,
            stop_min=first.stop_min + at_start,
            prizes=(*result.at_start, *first.prizes),
        )
    return tuple(turns)


def _breaks(network: Network, leg: Leg, following: Leg, crossing: Counter[int]) -> bool:
    old, new = network.edges[leg.edge], network.edges[following.edge]
    node = old.end if leg.forward else old.start
    if leg.edge == following.edge or old.name != new.name:
        return True
    bend = _bend(_bearing(line_of(network, leg)[-2:]), _bearing(line_of(network, following)[:2]))
    return crossing[node] > 2 and abs(bend) > BEND_DEG


def _bearing(line: Sequence[LonLat]) -> float:
    (lon1, lat1), (lon2, lat2) = line[0], line[-1]
    return float(bearing_deg(lon1, lat1, lon2, lat2))


def _bend(old: float, new: float) -> float:
    return (new - old + 180.0) % 360.0 - 180.0


def _turn(network: Network, number: int, group: list[Leg], before: float | None) -> Turn:
    line = line_of(network, group[0])
    bearing = _bearing(line[:2])
    trail = network.edges[group[0].edge].name or "unnamed trail"
    return Turn(
        number=number,
        longitude_deg=line[0][0],
        latitude_deg=line[0][1],
        begins_min=group[0].begins_min,
        bearing_deg=bearing,
        compass=compass_point(bearing),
        length_m=sum(network.edges[leg.edge].length_m for leg in group),
        walk_min=sum(leg.walk_min for leg in group),
        stop_min=sum(leg.stop_min for leg in group),
        trail=trail,
        words=f"{_direction(before, bearing)} {trail}, {_bearing_words(bearing)}",
        prizes=tuple(p for leg in group for p in leg.prizes),
    )


def _bearing_words(bearing: float) -> str:
    return f"bearing {round(bearing) % 360:03d}° ({compass_point(bearing)})"


def _direction(before: float | None, bearing: float) -> str:
    if before is None:
        return "Set out on"
    bend = _bend(before, bearing)
    if abs(bend) > 150.0:
        return "Turn back on"
    if abs(bend) <= BEND_DEG:
        return "Straight on along"
    return f"Turn {'right' if bend > 0 else 'left'} onto"
