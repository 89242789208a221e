"""How long slices take to dry, with the spread of the published figures, and sorption."""

from __future__ import annotations

import math
from dataclasses import dataclass

from underoak.errors import NoAnswer, UserMistake

GAS_J_MOL_K = 8.314
#: Effective diffusivity of oyster mushroom, m2/s, and degrees Celsius (Tulek 2011, seen).
D50, D70 = 9.619e-10, 1.556e-9
#: Other studies of the same kind differ by a factor of two either way.
SPREAD = 2.0


@dataclass(frozen=True, slots=True)
class DryingTime:
    """Hours in the dryer: the middle, and the shortest and longest of the stated spread."""

    hours: float
    shortest_h: float
    longest_h: float


def activation_energy_kj_mol(d_cold: float, cold_c: float, d_warm: float, warm_c: float) -> float:
    """Activation energy from two diffusivities by Arrhenius, kJ/mol.

    Method: Ea = R ln(D2/D1) / (1/T1 - 1/T2). Check: tulek_2011, 22.228 printed (22.17 from two points).
    """
    inverse = 1.0 / (cold_c + 273.15) - 1.0 / (warm_c + 273.15)
    return GAS_J_MOL_K * math.log(d_warm / d_cold) / inverse / 1000.0


def diffusivity_m2_s(temperature_c: float) -> float:
    """Effective diffusivity of sliced mushroom, m2/s, 35 to 75 °C, through Tulek's two end points."""
    if not 35.0 <= temperature_c <= 75.0:
        raise UserMistake(
            f"a dryer at {temperature_c:g} °C",
            expected="35 to 75 °C",
            remedy="if this is °F, convert it: 140 °F is 60 °C",
        )
    energy = activation_energy_kj_mol(D50, 50.0, D70, 70.0) * 1000.0
    return D50 * math.exp(-energy / GAS_J_MOL_K * (1.0 / (temperature_c + 273.15) - 1.0 / 323.15))


def moisture_ratio(fourier: float) -> float:
    """Share of the free moisture left in a slab dried from both sides, 0 to 1.

    Method: MR = 8/pi2 sum 1/(2n+1)^2 exp(-(2n+1)^2 pi2 Fo), Fo = D t / L^2 with L the full thickness.
    Source: Fick's law for a slab (Crank), from memory.
    """
    if fourier <= 0.0:
        return 1.0
    odd = range(1, 80, 2)
    return min(1.0, 8.0 / math.pi**2 * sum(math.exp(-k * k * math.pi**2 * fourier) / k**2 for k in odd))


def drying_time(
    *,
    thickness_mm: float,
    temperature_c: float,
    water_share_fresh: float = 0.91,
    water_share_dried: float = 0.10,
    equilibrium: float = 0.03,
) -> DryingTime:
    """Hours until slices reach a moisture, all in the falling-rate period.

    Parameters
    ----------
    thickness_mm : 1 to 30 mm, dried from both sides on open trays
    temperature_c : of the dryer's air, 35 to 75 °C
    water_share_fresh, water_share_dried : wet basis
    equilibrium : moisture on dry basis that dry air leaves, own judgement

    Method
    ------
    Moisture ratio (X1 - Xe) / (X0 - Xe) on dry basis, slab diffusion, first term of the series beyond
    Fo 0.1 and bisection in all. Spread: half and twice the diffusivity, as the studies differ.

    Source
    ------
    tulek_2011, seen; falling rate only: P. eryngii study, seen. Wild kinds: no figures.

    **Fails towards** longer: plan with ``longest_h`` and stop by the endpoint test, not by the clock.
    """
    if not 1.0 <= thickness_mm <= 30.0:
        raise UserMistake(f"slices of {thickness_mm:g} mm", expected="1 to 30 mm")
    wet, dry = (w / (1.0 - w) for w in (water_share_fresh, water_share_dried))
    if not equilibrium < dry < wet:
        raise NoAnswer(
            f"dry air leaves {equilibrium:g} on dry basis; {dry:g} is not between that and {wet:g}",
            remedy="ask for a drier-before or wetter-after product",
        )
    target = (dry - equilibrium) / (wet - equilibrium)
    low, high = 0.0, 20.0
    for _ in range(80):
        middle = (low + high) / 2.0
        low, high = (middle, high) if moisture_ratio(middle) > target else (low, middle)
    hours = high * (thickness_mm / 1000.0) ** 2 / diffusivity_m2_s(temperature_c) / 3600.0
    return DryingTime(hours, hours / SPREAD, hours * SPREAD)


def gab_moisture(water_activity: float, *, c: float, k: float, m0: float) -> float:
    """Moisture on dry basis at a water activity by the GAB isotherm.

    Method: X = m0 C K aw / ((1 - K aw)(1 - K aw + C K aw)).

    Raises
    ------
    NoAnswer   from aw = 1/K on, where the curve has no meaning

    Source
    ------
    GAB equation as in Mulet 2002 (abstract seen). Constants of a named mushroom were not seen.
    """
    if not 0.0 <= water_activity <= 1.0:
        raise UserMistake(f"a water activity of {water_activity:g}", expected="0 to 1")
    kaw = k * water_activity
    if kaw >= 1.0:
        raise NoAnswer(
            f"with K = {k:g} the isotherm ends at aw {1.0 / k:.3f}", remedy="use it below that only"
        )
    return m0 * c * kaw / ((1.0 - kaw) * (1.0 - kaw + c * kaw))
