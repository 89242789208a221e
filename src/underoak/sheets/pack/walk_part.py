"""What the page knows of the walk: turns, the frame of the map, limits, and how to cut it short."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from underoak.model.network import Network
    from underoak.sheets.map_frame import Frame
    from underoak.walk.result import Step
    from underoak.walk.turns import Turn
    from underoak.walk.way_home import GoOn, WayHome


def frame_data(frame: Frame) -> dict[str, float]:
    """How a position in degrees becomes millimetres on the map."""
    return {
        "lon": frame.plane.lon,
        "lat": frame.plane.lat,
        "east_m": float(frame.plane.scale[0]),
        "north_m": float(frame.plane.scale[1]),
        "west": frame.west_m,
        "north": frame.north_m,
        "mm_per_m": frame.mm_per_m,
        "width": frame.width_mm,
        "height": frame.height_mm,
    }


def turn_data(turns: Sequence[Turn], at: Sequence[str]) -> list[dict[str, Any]]:
    """The turns with their position and clock time."""
    return [
        {
            "number": turn.number,
            "at": clock,
            "lon": turn.longitude_deg,
            "lat": turn.latitude_deg,
            "words": turn.words,
        }
        for turn, clock in zip(turns, at, strict=True)
    ]


def ways_data(network: Network, ways: Sequence[WayHome], gap_min: float) -> list[dict[str, Any]]:
    """For each turn the choices with their words; minutes include the steps from trail to car."""
    last = len(ways)
    return [
        {
            "turn": way.turn,
            "choices": [
                {
                    "to": choice.to,
                    "minutes": round(choice.minutes + gap_min, 1),
                    "kg": round(choice.kg, 3),
                    "words": choice_words(network, way.turn, choice, last),
                }
                for choice in way.choices
            ],
        }
        for way in ways
    ]


def choice_words(network: Network, turn: int, choice: GoOn, last: int) -> str:
    """One choice as an instruction."""
    if choice.to == turn:
        return "Go on as planned."
    trail = ", then ".join(_stretches(network, choice.steps))
    if choice.to > last:
        return f"Straight back to the car: {trail}." if trail else "You are at the car."
    skipped = f"turn {turn}" if choice.to == turn + 1 else f"turns {turn} to {choice.to - 1}"
    return f"Leave out {skipped}: {trail or 'stay where you are'}; go on from turn {choice.to}."


def _stretches(network: Network, steps: Sequence[Step]) -> list[str]:
    """Trails of a way with their lengths, joined where the name stays."""
    named = [(network.edges[edge].name or "unnamed trail", network.edges[edge].length_m) for edge, _ in steps]
    return [
        f"{name} {sum(length for _, length in group):.0f} m"
        for name, group in groupby(named, key=lambda one: one[0])
    ]
