"""Leaves: when they are out, and how much rain they keep from the ground."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

    FloatArray = npt.NDArray[np.float64]

#: Middle of leaf-out and of leaf-fall of oak woods at 40 degrees north and sea level, day of the year.
#: The developers' judgement.
LEAF_OUT_DAY = 118.0
LEAF_FALL_DAY = 302.0
#: Hopkins' law: days per degree of latitude and per metre of elevation (4 days per 120 m).
DAYS_PER_DEGREE = 4.0
DAYS_PER_M = 4.0 / 120.0
#: Days from bare to full leaf, and from full leaf to bare.
TURN_DAYS = 24.0


def leaf_cover(day_of_year: npt.ArrayLike, *, latitude_deg: float, elevation_m: float) -> FloatArray:
    """Share of full leaf, 0 (bare) to 1, by day of the year.

    Method: leaf-out is 4 days later per degree poleward of 40 and per 120 m of elevation, leaf-fall the
    same earlier; both ramp over 24 days. South of the equator the year is turned by 182.5 days.
    Between 25 degrees and the equator the shift stops growing.
    Source: Hopkins 1920, confirmed for deciduous forest by Richardson et al. 2019, abstract seen; the
    dates at 40 degrees and the ramp are the developers' judgement.
    """
    day = np.asarray(day_of_year, dtype=float)
    if latitude_deg < 0.0:
        day = (day + 182.5) % 365.25
    shift = DAYS_PER_DEGREE * (max(abs(latitude_deg), 25.0) - 40.0) + DAYS_PER_M * elevation_m
    out = (day - (LEAF_OUT_DAY + shift)) / TURN_DAYS + 0.5
    fall = ((LEAF_FALL_DAY - shift) - day) / TURN_DAYS + 0.5
    return np.clip(np.minimum(out, fall), 0.0, 1.0)


def rain_on_the_ground_mm(rain_mm: npt.ArrayLike, leaves: npt.ArrayLike) -> FloatArray:
    """Throughfall and stemflow under hardwoods, mm; between 0 and the rain.

    Parameters
    ----------
    rain_mm  rain above the leaves; a day's rain is taken as one storm
    leaves   share of full leaf, 0 to 1

    Method: growing season 0.942 P - 0.91 mm, dormant 0.976 P - 0.51 mm (throughfall plus stemflow),
    weighted by the leaves; not below zero.
    Source: Helvey and Patric 1965, mature eastern hardwoods, from memory.
    """
    rain, share = np.asarray(rain_mm, dtype=float), np.asarray(leaves, dtype=float)
    slope = 0.976 - 0.034 * share
    kept = 0.51 + 0.40 * share
    return np.asarray(np.maximum(slope * rain - kept, 0.0))
