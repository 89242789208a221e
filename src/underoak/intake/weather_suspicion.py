"""Columns that look as if they stood in another unit.

The limits are the developers' judgement: wide enough for any place on earth where oaks grow.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from underoak.model.weather import DAILY_QUANTITIES

if TYPE_CHECKING:
    import numpy.typing as npt

    FloatArray = npt.NDArray[np.float64]

#: Share of values outside the limits that makes a column, and not a cell, suspect.
SUSPECT_SHARE = 0.02
#: Longer than this no oak wood goes without rain.
LONGEST_DROUGHT_DAYS = 200
#: Fewer wet days than this say nothing about the unit of rain.
FEWEST_WET_DAYS = 30


@dataclass(frozen=True, slots=True)
class Suspicion:
    """What looks wrong about a column, what was expected, and how to say the true unit."""

    what: str
    expected: str
    remedy: str


def suspicion(name: str, values: FloatArray, *, assumed: bool) -> Suspicion | None:
    """Why the column may be in another unit, or None.

    ``values`` in the metric unit as read; ``assumed`` is true where the file did not state the unit.
    **Fails towards** refusing: a column that looks wrong is not taken in.
    """
    known = values[np.isfinite(values)]
    if not len(known):
        return None
    if name.endswith("_c"):
        return _temperature(name, known)
    if name == "rain_mm":
        return _rain(known, assumed)
    return _large(name, known)


def _temperature(name: str, known: FloatArray) -> Suspicion | None:
    unit, low, high = DAILY_QUANTITIES[name]
    beyond = int(((known > high) | (known < low)).sum())
    warm_nights = name == "tmin_c" and len(known) >= 10 and float((known > 30.0).mean()) > 0.25
    if beyond <= max(SUSPECT_SHARE * len(known), 1) and not warm_nights:
        return None
    if float(np.median(np.abs(known))) > 250.0 and known.min() > 180.0 and known.max() < 340.0:
        likely, suffix = "kelvin", "k"
    elif known.max() > 140.0 or known.min() < -100.0:
        likely, suffix = "tenths of a degree", "tenths"
    else:
        likely, suffix = "degrees Fahrenheit", "f"
    stem = name.removesuffix("_c")
    return Suspicion(
        f"values up to {known.max():g} cannot be degrees Celsius here; the likely cause is {likely}",
        f"{low:g} to {high:g} {unit}",
        f"say the unit: --column HEADER={stem}_{suffix}, or --units us where the whole file is American",
    )


def _rain(known: FloatArray, assumed: bool) -> Suspicion | None:
    wet = known[known > 0.0]
    if not len(wet) and len(known) >= LONGEST_DROUGHT_DAYS:
        return Suspicion(
            f"rain is zero on all {len(known)} days; the likely cause is a column that was never filled",
            "rain on some days",
            "leave the cells empty where rain was not measured, or leave the column out",
        )
    if len(wet) < FEWEST_WET_DAYS:
        return None
    if wet.mean() > 40.0:
        return Suspicion(
            f"{wet.mean():.0f} mm on the mean wet day is too much; the likely cause is tenths of a mm",
            "rain in mm a day",
            "say the unit: --column HEADER=rain_tenths",
        )
    if assumed and wet.mean() < 0.9 and wet.max() < 12.0:
        return Suspicion(
            f"{wet.mean():.2f} mm on the mean wet day is too little; the likely cause is inches",
            "rain in mm a day",
            "say the unit: --column HEADER=rain_in (or rain_mm), or --units us for the whole file",
        )
    return None


def _large(name: str, known: FloatArray) -> Suspicion | None:
    unit, _, high = DAILY_QUANTITIES[name]
    usual = {"wind_m_s": 15.0, "radiation_mj_m2": 35.0}.get(name, high)
    if float(np.median(known)) <= usual or len(known) < 10:
        return None
    likely = "km/h, mph or tenths of m/s" if name == "wind_m_s" else "W/m2 or kJ/m2"
    return Suspicion(
        f"a median of {np.median(known):.0f} is too much for {unit}; the likely cause is {likely}",
        f"at most {high:g} {unit}",
        "say the unit: such as --column HEADER=wind_kmh or HEADER=radiation_w_m2",
    )
