"""How long a stretch of trail takes: slope, surface, load and party."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

    from underoak.model.network import Edge, Network

    FloatArray = npt.NDArray[np.float64]

#: Shortest run over which a slope is taken; coarse grids turn shorter ones into false cliffs.
SHORTEST_RUN_M = 10.0

#: On steeper ground so many metres are climbed or descended in an hour as on this slope, 304 up and 432 down:
#: there the function would all but stand still, which noise in heights, or a real scramble, must not.
#: Common practice: 300 m up and 500 m down in an hour (din_33466, from memory).
STEEPEST = 0.7

#: Share of the trail speed on each kind of ground. Off-path 3/5 is Tobler 1993 (second-hand);
#: the others are common practice, no source. Anything not named here counts as plain trail, 1.
SURFACE_SPEED = {
    "off_path": 0.6,
    "mud": 0.7,
    "sand": 0.75,
    "pebblestone": 0.85,
    "rock": 0.8,
    "grass": 0.9,
}


@dataclass(frozen=True, slots=True)
class Pace:
    """How fast a party walks compared with a published slope function for one fit adult.

    ``party`` is the share of that speed (0 to 1.5), ``load_kg`` and ``body_kg`` belong to the most
    burdened walker, ``rule`` names the slope function.
    """

    party: float = 1.0
    load_kg: float = 0.0
    body_kg: float = 70.0
    rule: str = "tobler"

    def speed_share(self) -> float:
        """Share of the unloaded lone walker's speed, 0 to 1.5."""
        return self.party * load_speed_share(self.load_kg, self.body_kg)


def tobler_speed_km_h(slope: float) -> float:
    """Walking speed on a trail.

    Parameters
    ----------
    slope   rise over run of the trail in the direction of travel [m/m]

    Returns
    -------
    Speed over the ground plan [km/h], at most 6 (at slope -0.05).

    Method
    ------
    v = 6 exp(-3.5 |slope + 0.05|)

    Source: Tobler 1993, NCGIA Technical Report 93-1 (second-hand).
    """
    return 6.0 * math.exp(-3.5 * abs(slope + 0.05))


def naismith_minutes(distance_m: float, climb_m: float) -> float:
    """Naismith's rule in metric form, 5 km/h and one hour more for each 600 m of climb [minutes].

    ``distance_m`` and ``climb_m`` are at least 0; descent is free. Source: Naismith 1892 (second-hand).
    """
    return 60.0 * (distance_m / 5000.0 + climb_m / 600.0)


def langmuir_descent_minutes(slope: float, descent_m: float) -> float:
    """Correction of Naismith's rule for going down [minutes; negative: faster].

    Method: 10 minutes less for each 300 m down a slope of 5 to 12 degrees, 10 more where it is
    steeper than 12, none where gentler than 5. ``slope`` is rise over run, negative downhill.
    Source: Langmuir 1984, after Aitken (second-hand).
    """
    angle_deg = math.degrees(math.atan(-slope))
    if angle_deg < 5.0:
        return 0.0
    return (10.0 if angle_deg > 12.0 else -10.0) * descent_m / 300.0


def pandolf_watts(
    body_kg: float, load_kg: float, speed_m_s: float, grade_percent: float = 0.0, terrain: float = 1.0
) -> float:
    """Metabolic rate of walking with a load [W].

    Parameters
    ----------
    body_kg         body mass [kg], above 0
    load_kg         carried mass [kg], 0 or more
    speed_m_s       walking speed [m/s], 0 or more
    grade_percent   slope of the trail [%]; level or uphill only
    terrain         terrain coefficient: 1.0 asphalt, 1.1 dirt road, 1.2 light brush, 1.5 heavy brush

    Method
    ------
    M = 1.5 W + 2.0 (W + L) (L/W)^2 + eta (W + L) (1.5 V^2 + 0.35 V G). Not valid downhill, where
    it needs a correction this program does not carry: ValueError for a negative grade.

    Source: Pandolf, Givoni, Goldman 1977, J. Appl. Physiol. 43 (second-hand).
    """
    if grade_percent < 0.0:
        raise ValueError("the load equation does not hold downhill")
    moved_kg = body_kg + load_kg
    standing = 1.5 * body_kg + 2.0 * moved_kg * (load_kg / body_kg) ** 2
    return standing + terrain * moved_kg * (1.5 * speed_m_s**2 + 0.35 * speed_m_s * grade_percent)


def load_speed_share(load_kg: float, body_kg: float = 70.0, speed_m_s: float = 1.4) -> float:
    """Share of the unloaded speed that costs the same effort with a load, on the level (0.1 to 1).

    Method: the speed at which `pandolf_watts` with the load equals `pandolf_watts` without it at
    ``speed_m_s``. Own use of the published equation; the published work claims nothing about
    chosen speeds, so treat it as a soft allowance. **Fails towards** a longer planned time.
    """
    effort = pandolf_watts(body_kg, 0.0, speed_m_s)
    left = (effort - pandolf_watts(body_kg, load_kg, 0.0)) / (1.5 * (body_kg + load_kg))
    return max(0.1, min(1.0, math.sqrt(max(left, 0.0)) / speed_m_s))


def profile_minutes(profile: Sequence[tuple[float, float]], rule: str = "tobler") -> float:
    """Minutes along a profile of (distance_m, elevation_m) pairs in the direction of travel.

    Points closer together than `SHORTEST_RUN_M` are joined to the next before slopes are taken; beyond a
    slope of `STEEPEST` the climb counts, not the way along.
    ``rule`` is "tobler" or "naismith" (with Langmuir's descent). Raises ValueError for another.
    """
    if rule not in ("tobler", "naismith"):
        raise ValueError(f"no slope function called {rule!r}")
    minutes = 0.0
    for run_m, rise_m in _runs(profile):
        slope = rise_m / max(run_m, SHORTEST_RUN_M)
        if rule == "tobler":
            beyond = max(1.0, abs(slope) / STEEPEST)
            minutes += beyond * 0.06 * run_m / tobler_speed_km_h(slope / beyond)
        else:
            down_m = max(-rise_m, 0.0)
            minutes += naismith_minutes(run_m, max(rise_m, 0.0)) + langmuir_descent_minutes(slope, down_m)
    return minutes


def _runs(profile: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    runs: list[tuple[float, float]] = []
    at_m, level_m = profile[0]
    last = len(profile) - 1
    for position, (distance_m, elevation_m) in enumerate(profile[1:], start=1):
        if distance_m - at_m >= SHORTEST_RUN_M or position == last:
            runs.append((distance_m - at_m, elevation_m - level_m))
            at_m, level_m = distance_m, elevation_m
    return runs


def edge_minutes(edge: Edge, pace: Pace) -> tuple[float, float]:
    """Minutes from start to end and from end to start; infinite where walking is not allowed."""
    if edge.closed:
        return math.inf, math.inf
    share = pace.speed_share() * SURFACE_SPEED.get(edge.surface, 1.0)
    there = profile_minutes(edge.profile, pace.rule) / share
    if edge.oneway:
        return there, math.inf
    whole_m = edge.profile[-1][0]
    turned = [(whole_m - distance_m, elevation_m) for distance_m, elevation_m in reversed(edge.profile)]
    return there, profile_minutes(turned, pace.rule) / share


def directed_minutes(network: Network, pace: Pace) -> tuple[FloatArray, FloatArray]:
    """Minutes of every edge in each direction, two arrays of shape (edges,)."""
    pairs = np.array([edge_minutes(edge, pace) for edge in network.edges], dtype=float).reshape(-1, 2)
    return pairs[:, 0].copy(), pairs[:, 1].copy()
