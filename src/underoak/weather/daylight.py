"""The sun: declination, day length, radiation above the air, rise and set."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

    FloatArray = npt.NDArray[np.float64]

SOLAR_CONSTANT_MJ_M2_MIN = 0.0820
#: Centre of the sun below the horizon at rise and set: half a degree of disc and refraction.
ZENITH_RISE_SET_DEG = 90.833
#: The ground is still walkable without a lamp.
ZENITH_CIVIL_TWILIGHT_DEG = 96.0


@dataclass(frozen=True, slots=True)
class SunTimes:
    """Minutes after midnight of the local clock; None where the sun does not cross that height."""

    dawn_min: float | None
    sunrise_min: float | None
    sunset_min: float | None
    dusk_min: float | None


def days_of_year(first_day: date, days: int) -> npt.NDArray[np.int64]:
    """Day of the year (1 to 366), shape (days,), for ``days`` days from ``first_day`` on."""
    calendar = np.datetime64(first_day, "D") + np.arange(days)
    first_of_year = calendar.astype("datetime64[Y]").astype("datetime64[D]")
    return np.asarray((calendar - first_of_year).astype(np.int64) + 1)


def inverse_relative_distance(day_of_year: npt.ArrayLike) -> FloatArray:
    """Inverse relative distance earth to sun, unitless, about 0.967 to 1.033.

    Method: dr = 1 + 0.033 cos(2 pi J / 365).
    Source: Allen et al. 1998 (FAO-56) Eq. 23, second-hand.
    """
    angle = 2.0 * np.pi / 365.0 * np.asarray(day_of_year, dtype=float)
    return np.asarray(1.0 + 0.033 * np.cos(angle))


def declination_rad(day_of_year: npt.ArrayLike) -> FloatArray:
    """Declination of the sun in radians.

    Method: 0.409 sin(2 pi J / 365 - 1.39).
    Source: Allen et al. 1998 (FAO-56) Eq. 24, second-hand.
    """
    angle = 2.0 * np.pi / 365.0 * np.asarray(day_of_year, dtype=float)
    return np.asarray(0.409 * np.sin(angle - 1.39))


def sunset_hour_angle_rad(latitude_deg: npt.ArrayLike, day_of_year: npt.ArrayLike) -> FloatArray:
    """Hour angle of sunset in radians, 0 (polar night) to pi (polar day); shapes broadcast.

    Method: acos(-tan(latitude) tan(declination)), held between 0 and pi.
    Source: Allen et al. 1998 (FAO-56) Eq. 25, second-hand.
    """
    phi = np.radians(np.asarray(latitude_deg, dtype=float))
    return np.asarray(np.arccos(np.clip(-np.tan(phi) * np.tan(declination_rad(day_of_year)), -1.0, 1.0)))


def day_length_h(latitude_deg: npt.ArrayLike, day_of_year: npt.ArrayLike) -> FloatArray:
    """Longest possible sunshine in hours, 0 to 24; shapes broadcast.

    Method: N = 24 ws / pi. Source: Allen et al. 1998 (FAO-56) Eq. 34, Ex. 9, second-hand.
    """
    return 24.0 / np.pi * sunset_hour_angle_rad(latitude_deg, day_of_year)


def extraterrestrial_radiation_mj_m2(latitude_deg: npt.ArrayLike, day_of_year: npt.ArrayLike) -> FloatArray:
    """Radiation on a level plane above the air, MJ/m2 a day; shapes broadcast.

    Method: Ra = 24 60/pi Gsc dr (ws sin phi sin delta + cos phi cos delta sin ws), Gsc 0.0820 MJ/m2 min.
    Source: Allen et al. 1998 (FAO-56) Eq. 21, Ex. 8, second-hand.
    """
    phi = np.radians(np.asarray(latitude_deg, dtype=float))
    delta = declination_rad(day_of_year)
    ws = sunset_hour_angle_rad(latitude_deg, day_of_year)
    height = ws * np.sin(phi) * np.sin(delta) + np.cos(phi) * np.cos(delta) * np.sin(ws)
    factor = 24.0 * 60.0 / np.pi * SOLAR_CONSTANT_MJ_M2_MIN
    return np.asarray(factor * inverse_relative_distance(day_of_year) * height)


def sun_times(day: date, *, latitude_deg: float, longitude_deg: float, utc_offset_h: float) -> SunTimes:
    """Civil dawn, sunrise, sunset and civil dusk of one day at one place, to about one minute.

    Parameters
    ----------
    day            local calendar day
    latitude_deg   -90 to 90, north positive
    longitude_deg  -180 to 180, east positive
    utc_offset_h   hours the local clock is ahead of UTC on that day (New York in October: -4)

    Method: low-precision coordinates of the sun (good to one minute of arc from 1950 to 2050) at the
    moment of the event, two passes; zenith 90.833 degrees for rise and set, 96 for civil twilight. The
    day-of-year series that is often printed instead strays by two minutes over the leap-year cycle.
    Level horizon: hills and canopy make it dark earlier than this says.
    Source: Astronomical Almanac, low-precision solar coordinates, from memory; zeniths, Almanac for
    Computers 1990, seen as a copy.

    **Fails towards** early darkness: a crossing that does not happen is None, never a guess.
    """

    def local(zenith_deg: float, rising: bool) -> float | None:
        minutes = _crossing_utc_min(day, latitude_deg, longitude_deg, zenith_deg, rising)
        return None if minutes is None else minutes + 60.0 * utc_offset_h

    return SunTimes(
        dawn_min=local(ZENITH_CIVIL_TWILIGHT_DEG, True),
        sunrise_min=local(ZENITH_RISE_SET_DEG, True),
        sunset_min=local(ZENITH_RISE_SET_DEG, False),
        dusk_min=local(ZENITH_CIVIL_TWILIGHT_DEG, False),
    )


def _crossing_utc_min(
    day: date, latitude_deg: float, longitude_deg: float, zenith_deg: float, rising: bool
) -> float | None:
    phi = math.radians(latitude_deg)
    side = 1.0 if rising else -1.0
    minutes = 720.0 - 4.0 * longitude_deg
    for _ in range(2):
        equation_of_time_min, delta = _sun(day, minutes / 60.0)
        cosine = math.cos(math.radians(zenith_deg)) / (math.cos(phi) * math.cos(delta))
        cosine -= math.tan(phi) * math.tan(delta)
        if not -1.0 <= cosine <= 1.0:
            return None
        hour_angle_deg = math.degrees(math.acos(cosine))
        minutes = 720.0 - 4.0 * (longitude_deg + side * hour_angle_deg) - equation_of_time_min
    return minutes


def _sun(day: date, hour_utc: float) -> tuple[float, float]:
    """Equation of time (minutes) and declination (radians) from days since 2000-01-01 12:00."""
    days = (day - date(2000, 1, 1)).days + (hour_utc - 12.0) / 24.0
    anomaly = math.radians(357.529 + 0.98560028 * days)
    mean_longitude_deg = (280.459 + 0.98564736 * days) % 360.0
    longitude = math.radians(mean_longitude_deg + 1.915 * math.sin(anomaly) + 0.020 * math.sin(2.0 * anomaly))
    tilt = math.radians(23.439 - 0.00000036 * days)
    ascension_deg = math.degrees(math.atan2(math.cos(tilt) * math.sin(longitude), math.cos(longitude)))
    difference_deg = (mean_longitude_deg - ascension_deg + 180.0) % 360.0 - 180.0
    return 4.0 * difference_deg, math.asin(math.sin(tilt) * math.sin(longitude))
