"""Boiling point and gauge pressure by height, and the line of a published table that applies."""

from __future__ import annotations

import math

from underoak.errors import NoAnswer, UserMistake
from underoak.model.method import Altitude, Band

PA_PER_PSI = 6894.757
_SEA_LEVEL_PA = 101_325.0
# IAPWS-IF97, region 4 (saturation line), coefficients n1 to n10.
_N = (
    0.11670521452767e4,
    -0.72421316703206e6,
    -0.17073846940092e2,
    0.12020824702470e5,
    -0.32325550322333e7,
    0.14915108613530e2,
    -0.48232657361591e4,
    0.40511340542057e6,
    -0.23855557567849,
    0.65017534844798e3,
)


def checked_elevation(elevation_m: float) -> float:
    """``elevation_m`` itself; UserMistake where nobody has a kitchen."""
    if not -430.0 <= elevation_m <= 6000.0:
        raise UserMistake(
            f"a kitchen at {elevation_m:g} m",
            where="elevation",
            expected="-430 to 6000 m",
            remedy="if this is feet, multiply by 0.3048",
        )
    return elevation_m


def air_pressure_pa(elevation_m: float) -> float:
    """Air pressure of the standard atmosphere, Pa.

    Method: p = 101325 (1 - 2.25577e-5 z)^5.25588, z in m. Source: ISO 2533 (ICAO), from memory.
    """
    return float(_SEA_LEVEL_PA * (1.0 - 2.25577e-5 * checked_elevation(elevation_m)) ** 5.25588)


def guide_air_pressure_pa(elevation_m: float) -> float:
    """Air pressure by the formula of the canning guide's altitude page, Pa.

    Method: p = 1.013e5 exp(-1.16e-4 z), z in m. Source: usda_complete_guide_1994, seen on a mirror.
    """
    return 1.013e5 * math.exp(-1.16e-4 * checked_elevation(elevation_m))


def saturation_pressure_pa(temperature_c: float) -> float:
    """Pressure of saturated steam, Pa, for 0 to 370 °C.

    Source: IAPWS-IF97 region 4, equation 30, from memory; checked against psychrolib in the tests.
    """
    n = _N
    kelvin = temperature_c + 273.15
    theta = kelvin + n[8] / (kelvin - n[9])
    a = theta * theta + n[0] * theta + n[1]
    b = n[2] * theta * theta + n[3] * theta + n[4]
    c = n[5] * theta * theta + n[6] * theta + n[7]
    return float((2.0 * c / (-b + math.sqrt(b * b - 4.0 * a * c))) ** 4 * 1e6)


def boiling_point_c(pressure_pa: float) -> float:
    """Temperature of boiling water under a pressure, °C, for 611 Pa to 22 MPa.

    Source: IAPWS-IF97 region 4, equation 31, from memory.
    """
    n = _N
    beta = math.sqrt(math.sqrt(pressure_pa / 1e6))
    e = beta * beta + n[2] * beta + n[5]
    f = n[0] * beta * beta + n[3] * beta + n[6]
    g = n[1] * beta * beta + n[4] * beta + n[7]
    d = 2.0 * g / (-f - math.sqrt(f * f - 4.0 * e * g))
    kelvin = (n[9] + d - math.sqrt((n[9] + d) ** 2 - 4.0 * (n[8] + n[9] * d))) / 2.0
    return kelvin - 273.15


def boiling_point_at_c(elevation_m: float) -> float:
    """Boiling point of water at a height, °C, standard atmosphere. Check: tests/published/kitchen.toml."""
    return boiling_point_c(air_pressure_pa(elevation_m))


def gauge_psi(temperature_c: float, elevation_m: float) -> float:
    """Gauge pressure that saturated steam of a temperature shows at a height, psi.

    **Fails towards** nothing: it explains the published table and never replaces it.
    """
    return (saturation_pressure_pa(temperature_c) - air_pressure_pa(elevation_m)) / PA_PER_PSI


def steam_temperature_c(gauge: float, elevation_m: float) -> float:
    """Temperature of saturated steam at a gauge pressure (psi) and height, °C."""
    if not 0.0 <= gauge <= 60.0:
        raise UserMistake(f"a gauge at {gauge:g} psi", expected="0 to 60 psi")
    return boiling_point_c(air_pressure_pa(elevation_m) + gauge * PA_PER_PSI)


def band_for(altitude: Altitude, elevation_m: float) -> Band:
    """The line of a published altitude table for a height.

    Raises
    ------
    NoAnswer   above the last line: the process was not tested there

    **Fails towards** the stronger process: a height on the border takes the lower line only when it is
    not above it.
    """
    checked_elevation(elevation_m)
    for band in sorted(altitude.bands, key=lambda b: b.to_m):
        if elevation_m <= band.to_m + 0.01:
            return band
    raise NoAnswer(
        f"the published table has no line for {elevation_m:g} m",
        remedy="this process was not tested so high: freeze or dry instead",
    )
