"""Air: pressure, vapour pressure and wind, as evapotranspiration needs them."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from underoak.weather.precision import floats

if TYPE_CHECKING:
    import numpy.typing as npt

    FloatArray = npt.NDArray[np.float64]


def saturation_vapour_pressure_kpa(temperature_c: npt.ArrayLike) -> FloatArray:
    """Saturation vapour pressure over water in kPa, any shape.

    Method: 0.6108 exp(17.27 T / (T + 237.3)).
    Source: Allen et al. 1998 (FAO-56) Eq. 11, Ex. 3, second-hand.
    """
    t = floats(temperature_c)
    return np.asarray(0.6108 * np.exp(17.27 * t / (t + 237.3)))


def slope_kpa_c(temperature_c: npt.ArrayLike) -> FloatArray:
    """Slope of the saturation curve in kPa per degree.

    Method: 4098 e(T) / (T + 237.3)^2. Source: Allen et al. 1998 (FAO-56) Eq. 13, second-hand.
    """
    t = floats(temperature_c)
    warm = t + 237.3
    return 4098.0 * saturation_vapour_pressure_kpa(t) / (warm * warm)


def air_pressure_kpa(elevation_m: npt.ArrayLike) -> FloatArray:
    """Air pressure in kPa at an elevation.

    Method: 101.3 ((293 - 0.0065 z) / 293)^5.26. Source: Allen et al. 1998 (FAO-56) Eq. 7, Ex. 2, second-hand.
    """
    return np.asarray(101.3 * ((293.0 - 0.0065 * floats(elevation_m)) / 293.0) ** 5.26)


def psychrometric_constant_kpa_c(pressure_kpa: npt.ArrayLike) -> FloatArray:
    """Psychrometric constant in kPa per degree.

    Method: 0.665e-3 P. Source: Allen et al. 1998 (FAO-56) Eq. 8, Ex. 2, second-hand.
    """
    return np.asarray(0.665e-3 * floats(pressure_kpa))


def vapour_pressure_from_humidity_kpa(
    tmin_c: npt.ArrayLike, tmax_c: npt.ArrayLike, rh_max: npt.ArrayLike, rh_min: npt.ArrayLike
) -> FloatArray:
    """Actual vapour pressure in kPa from the day's extremes of temperature and humidity (percent).

    Method: (e(Tmin) RHmax + e(Tmax) RHmin) / 200.
    Source: Allen et al. 1998 (FAO-56) Eq. 17, Ex. 5, second-hand.
    """
    cold = saturation_vapour_pressure_kpa(tmin_c) * floats(rh_max)
    warm = saturation_vapour_pressure_kpa(tmax_c) * floats(rh_min)
    return np.asarray((cold + warm) / 200.0)


def wind_at_2m_m_s(wind_m_s: npt.ArrayLike, height_m: float) -> FloatArray:
    """Wind at 2 m in m/s from wind at ``height_m`` above short grass.

    Method: u 4.87 / ln(67.8 h - 5.42). Source: Allen et al. 1998 (FAO-56) Eq. 47, Ex. 14, second-hand.
    """
    return np.asarray(floats(wind_m_s) * (4.87 / math.log(67.8 * height_m - 5.42)))
