"""Reference evapotranspiration by the day: Penman-Monteith where inputs allow, else Hargreaves.

All functions take and give float arrays whose shapes broadcast, with days first; (days,) for one
station and (days, stations) for many give the same numbers, in the precision of the input.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from underoak.weather.precision import floats
from underoak.weather.vapour import (
    air_pressure_kpa,
    psychrometric_constant_kpa_c,
    saturation_vapour_pressure_kpa,
    slope_kpa_c,
)

if TYPE_CHECKING:
    import numpy.typing as npt

    FloatArray = npt.NDArray[np.float64]
    BoolArray = npt.NDArray[np.bool_]

#: Stefan-Boltzmann constant, MJ/K4 m2 a day.
STEFAN_BOLTZMANN = 4.903e-9
#: Where wind is not measured: world mean of more than 2000 stations (FAO-56 ch. 3, second-hand).
WIND_UNKNOWN_M_S = 2.0
#: Radiation coefficient of an inland site (FAO-56 Eq. 50, Ex. 15, second-hand).
INLAND = 0.16


@dataclass(frozen=True, slots=True)
class ReferenceEvapotranspiration:
    """``eto_mm`` by day and ``penman_monteith``, true where that method could be used."""

    eto_mm: FloatArray
    penman_monteith: BoolArray


def radiation_from_sunshine_mj_m2(
    sunshine_h: npt.ArrayLike, day_length_h: npt.ArrayLike, ra_mj_m2: npt.ArrayLike
) -> FloatArray:
    """Solar radiation in MJ/m2 a day from hours of sunshine.

    Method: (0.25 + 0.50 n / N) Ra. Source: Allen et al. 1998 (FAO-56) Eq. 35, Ex. 10, second-hand.
    """
    share = floats(sunshine_h) / floats(day_length_h)
    return np.asarray((0.25 + 0.50 * share) * floats(ra_mj_m2))


def radiation_from_temperature_mj_m2(
    tmin_c: npt.ArrayLike, tmax_c: npt.ArrayLike, ra_mj_m2: npt.ArrayLike, *, coefficient: float = INLAND
) -> FloatArray:
    """Solar radiation in MJ/m2 a day from the daily range of temperature.

    Method: k sqrt(Tmax - Tmin) Ra. Source: Allen et al. 1998 (FAO-56) Eq. 50, Ex. 15, second-hand.
    """
    swing = np.maximum(floats(tmax_c) - floats(tmin_c), 0.0)
    return np.asarray(coefficient * np.sqrt(swing) * floats(ra_mj_m2))


def clear_sky_radiation_mj_m2(ra_mj_m2: npt.ArrayLike, elevation_m: npt.ArrayLike) -> FloatArray:
    """Radiation under a clear sky, MJ/m2 a day.

    Method: (0.75 + 2e-5 z) Ra. Source: Allen et al. 1998 (FAO-56) Eq. 37, Ex. 18, second-hand.
    """
    ra = floats(ra_mj_m2)
    return np.asarray((0.75 + 2e-5 * floats(elevation_m, like=ra)) * ra)


def net_longwave_mj_m2(
    tmin_c: npt.ArrayLike,
    tmax_c: npt.ArrayLike,
    ea_kpa: npt.ArrayLike,
    rs_mj_m2: npt.ArrayLike,
    rso_mj_m2: npt.ArrayLike,
) -> FloatArray:
    """Net outgoing longwave radiation, MJ/m2 a day.

    Method: sigma (Tmax_K^4 + Tmin_K^4)/2 (0.34 - 0.14 sqrt(ea)) (1.35 f - 0.35), f = Rs/Rso held
    between 0.3 and 1 (below 0.3 by ASCE 2005 practice, from memory).
    Source: Allen et al. 1998 (FAO-56) Eq. 39, Ex. 11, second-hand.
    """
    warm = np.square(np.square(floats(tmax_c) + 273.16))
    cold = np.square(np.square(floats(tmin_c) + 273.16))
    rso = floats(rso_mj_m2)
    with np.errstate(divide="ignore", invalid="ignore"):
        clear = np.where(rso > 0.0, floats(rs_mj_m2) / rso, 1.0)
    clear = np.clip(clear, 0.3, 1.0)
    damp = 0.34 - 0.14 * np.sqrt(ea_kpa)
    return (0.5 * STEFAN_BOLTZMANN) * (warm + cold) * damp * (1.35 * clear - 0.35)


def penman_monteith_mm(
    *,
    tmin_c: npt.ArrayLike,
    tmax_c: npt.ArrayLike,
    ea_kpa: npt.ArrayLike,
    wind_m_s: npt.ArrayLike,
    rs_mj_m2: npt.ArrayLike,
    ra_mj_m2: npt.ArrayLike,
    elevation_m: npt.ArrayLike,
) -> FloatArray:
    """Reference evapotranspiration of short grass in mm a day; soil heat flux zero.

    Parameters
    ----------
    tmin_c, tmax_c  air temperature, degrees C
    ea_kpa          actual vapour pressure, kPa
    wind_m_s        wind at 2 m
    rs_mj_m2        solar radiation, MJ/m2 a day
    ra_mj_m2        radiation above the air, MJ/m2 a day
    elevation_m     above sea level

    Method: [0.408 D Rn + g 900/(T+273) u2 (es - ea)] / [D + g (1 + 0.34 u2)], albedo 0.23, T the mean
    of the extremes, es the mean of their saturation pressures; not below zero.
    Source: Allen et al. 1998 (FAO-56) Eq. 6, Ex. 18, second-hand.
    """
    tmin, tmax = floats(tmin_c), floats(tmax_c)
    ea, wind = floats(ea_kpa), floats(wind_m_s)
    tmean = 0.5 * (tmin + tmax)
    es = 0.5 * (saturation_vapour_pressure_kpa(tmin) + saturation_vapour_pressure_kpa(tmax))
    slope = slope_kpa_c(tmean)
    gamma = floats(psychrometric_constant_kpa_c(air_pressure_kpa(elevation_m)), like=tmin)
    rso = clear_sky_radiation_mj_m2(ra_mj_m2, elevation_m)
    rn = 0.77 * floats(rs_mj_m2) - net_longwave_mj_m2(tmin, tmax, ea, rs_mj_m2, rso)
    air = gamma * (900.0 / (tmean + 273.0)) * wind * (es - ea)
    return np.asarray(np.maximum((0.408 * slope * rn + air) / (slope + gamma * (1.0 + 0.34 * wind)), 0.0))


def hargreaves_mm(tmin_c: npt.ArrayLike, tmax_c: npt.ArrayLike, ra_mj_m2: npt.ArrayLike) -> FloatArray:
    """Reference evapotranspiration from temperature alone, mm a day, not below zero.

    Method: 0.0023 (Tmean + 17.8) sqrt(Tmax - Tmin) 0.408 Ra.
    Source: Allen et al. 1998 (FAO-56) Eq. 52, Ex. 20, second-hand.
    """
    tmin, tmax = floats(tmin_c), floats(tmax_c)
    swing = np.sqrt(np.maximum(tmax - tmin, 0.0))
    eto = (0.0023 * 0.408) * (0.5 * (tmin + tmax) + 17.8) * swing * floats(ra_mj_m2)
    return np.asarray(np.maximum(eto, 0.0))


def reference_evapotranspiration(
    *,
    tmin_c: npt.ArrayLike,
    tmax_c: npt.ArrayLike,
    dewpoint_c: npt.ArrayLike,
    wind_m_s: npt.ArrayLike,
    rs_mj_m2: npt.ArrayLike,
    ra_mj_m2: npt.ArrayLike,
    elevation_m: npt.ArrayLike,
) -> ReferenceEvapotranspiration:
    """The better method that each day's inputs allow; NaN marks an input that was not measured.

    Rule: Penman-Monteith on days where at least two of dew point, wind and radiation were measured.
    The third is then estimated as FAO-56 chapter 3 advises: dew point = tmin, wind = 2 m/s,
    radiation by the daily range. Other days take Hargreaves. Days without temperature are NaN.
    Units as in `penman_monteith_mm`.

    Source: Allen et al. 1998 (FAO-56) ch. 3, Eq. 48 and 50, second-hand; the two-of-three rule is
    the developers' judgement.
    """
    tmin, dew = floats(tmin_c), floats(dewpoint_c)
    wind, rs = floats(wind_m_s), floats(rs_mj_m2)
    measured = np.isfinite(dew).astype(int) + np.isfinite(wind) + np.isfinite(rs)
    enough = np.broadcast_to(measured >= 2, np.broadcast_shapes(tmin.shape, measured.shape))
    eto = hargreaves_mm(tmin, tmax_c, ra_mj_m2)
    if enough.any():
        from_range = radiation_from_temperature_mj_m2(tmin, tmax_c, ra_mj_m2)
        full = penman_monteith_mm(
            tmin_c=tmin,
            tmax_c=tmax_c,
            ea_kpa=saturation_vapour_pressure_kpa(np.where(np.isfinite(dew), dew, tmin)),
            wind_m_s=np.where(np.isfinite(wind), wind, WIND_UNKNOWN_M_S),
            rs_mj_m2=np.where(np.isfinite(rs), rs, from_range),
            ra_mj_m2=ra_mj_m2,
            elevation_m=elevation_m,
        )
        eto = np.where(enough, full, eto)
    return ReferenceEvapotranspiration(eto, enough & np.isfinite(eto))
