"""Warmth of the soil at a depth, from daily air temperature."""

from __future__ import annotations

import math
from itertools import accumulate
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

    FloatArray = npt.NDArray[np.float64]

DAY_S = 86400.0


def damping_depth_m(diffusivity_m2_s: float, period_s: float = DAY_S) -> float:
    """Depth at which a temperature wave has fallen to 1/e of its size at the surface.

    Method: sqrt(diffusivity period / pi).
    Source: Ochsner, "Rain or Shine" ch. 13.4, Eq. 13-5, seen.
    """
    return math.sqrt(diffusivity_m2_s * period_s / math.pi)


def wave_temperature_c(
    depth_m: float,
    time_s: npt.ArrayLike,
    *,
    mean_c: float,
    amplitude_c: float,
    damping_m: float,
    period_s: float,
) -> FloatArray:
    """Temperature at a depth under a sinusoidal wave at the surface that starts rising at time 0.

    Method: mean + amplitude exp(-z/d) sin(2 pi t / period - z/d).
    Source: Ochsner, "Rain or Shine" ch. 13.4, Eq. 13-4, seen.
    """
    ratio = depth_m / damping_m
    angle = 2.0 * np.pi / period_s * np.asarray(time_s, dtype=float) - ratio
    return mean_c + amplitude_c * math.exp(-ratio) * np.sin(angle)


def surface_temperature_c(air_c: npt.ArrayLike, green_area: npt.ArrayLike) -> FloatArray:
    """Temperature of the soil surface from mean air temperature of the day and green area index.

    Method: 0.20 T below freezing, else T (0.95 + 0.05 exp(-0.4 (0.8 GAI - 3))).
    Source: Kätterer and Andrén 2009, second-hand.
    """
    air, green = np.asarray(air_c, dtype=float), np.asarray(green_area, dtype=float)
    return np.where(air < 0.0, 0.20 * air, air * (0.95 + 0.05 * np.exp(-0.4 * (0.8 * green - 3.0))))


def soil_temperature_c(
    air_c: FloatArray, green_area: npt.ArrayLike, *, start_c: npt.ArrayLike, depth_mm: float = 100.0
) -> FloatArray:
    """Daily soil temperature at a depth.

    Parameters
    ----------
    air_c       mean air temperature of the day, no gaps; (days,) or (days, stations)
    green_area  green area index (0 bare, about 4 a closed hardwood canopy), broadcast to air_c
    start_c     soil temperature on the evening before the first day
    depth_mm    10 cm by default

    Method: Ts = Ts + (Tsurface - Ts) 0.24 exp(-0.017 depth/20) exp(-0.15 GAI).
    Source: Kätterer and Andrén 2009, Acta Agric. Scand. B 59:77-86, second-hand; accuracy not seen.
    """
    surface = surface_temperature_c(air_c, green_area)
    damp = 0.24 * math.exp(-0.017 * depth_mm / 20.0)
    gain = np.broadcast_to(damp * np.exp(-0.15 * np.asarray(green_area, dtype=float)), surface.shape)
    pairs = (
        zip(gain.tolist(), surface.tolist(), strict=True)
        if surface.ndim == 1
        else zip(gain, surface, strict=True)
    )
    first = float(np.asarray(start_c)) if surface.ndim == 1 else np.broadcast_to(start_c, surface.shape[1:])
    evenings = accumulate(pairs, lambda soil, day: soil + (day[1] - soil) * day[0], initial=first)
    return np.array(list(evenings)[1:], dtype=float).reshape(surface.shape)
