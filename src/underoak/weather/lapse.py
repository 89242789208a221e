"""Weather brought from a station's elevation to another, month by month."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from underoak.model.weather import WeatherSeries

#: January to December, north of the equator: fall of air temperature, degrees per km
#: (Liston and Elder 2006 Table 1 after Kunkel 1989; second-hand, from a model's documentation).
AIR_C_KM = (4.4, 5.9, 7.1, 7.8, 8.1, 8.2, 8.1, 8.1, 7.7, 6.8, 5.5, 4.7)
#: Fall of the logarithm of vapour pressure per km (same table, from memory).
VAPOUR_KM = (0.41, 0.42, 0.40, 0.39, 0.38, 0.36, 0.33, 0.33, 0.36, 0.37, 0.40, 0.40)
#: Rain: P (1 + f dz) / (1 - f dz) with f per km (same table, from memory).
RAIN_KM = (0.35, 0.35, 0.35, 0.30, 0.25, 0.20, 0.20, 0.20, 0.20, 0.25, 0.30, 0.35)
#: Magnus constants that turn vapour pressure into dew point: degrees and 1.
MAGNUS_B, MAGNUS_C = 17.27, 237.3
#: Rain is not carried further up or down than this, km: the formula bends out of shape.
MOST_CLIMB_KM = 1.5


def at_elevation(series: WeatherSeries, elevation_m: float) -> WeatherSeries:
    """The series as it would be at another elevation nearby; unchanged where the station's is unknown.

    Method: monthly lapse rates; air temperature linear, dew point by the lapse of vapour pressure
    (lapse times C / B of the Magnus formula) and never above the highest temperature, rain by
    (1 + f dz) / (1 - f dz). Wind and radiation stay.
    South of the equator the months are turned by six.
    Source: Liston and Elder 2006 (MicroMet), second-hand and from memory.
    """
    known = series.station.elevation_m
    if known is None or known == elevation_m:
        return series
    climb_km = (elevation_m - known) / 1000.0
    days = np.datetime64(series.first_day, "D") + np.arange(series.days)
    turned = 6 if (series.station.latitude_deg or 0.0) < 0.0 else 0
    month = (days.astype("datetime64[M]").astype(np.int64) + turned) % 12
    values = dict(series.values)
    for name in ("tmin_c", "tmax_c"):
        if name in values:
            values[name] = values[name] - np.array(AIR_C_KM)[month] * climb_km
    if "dewpoint_c" in values:
        fall = np.array(VAPOUR_KM)[month] * MAGNUS_C / MAGNUS_B
        values["dewpoint_c"] = values["dewpoint_c"] - fall * climb_km
        if "tmax_c" in values:
            values["dewpoint_c"] = np.fmin(values["dewpoint_c"], values["tmax_c"])
    if "rain_mm" in values:
        lift = np.array(RAIN_KM)[month] * np.clip(climb_km, -MOST_CLIMB_KM, MOST_CLIMB_KM)
        values["rain_mm"] = values["rain_mm"] * (1.0 + lift) / (1.0 - lift)
    return replace(series, values=values)
