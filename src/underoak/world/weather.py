"""Invented daily weather: a wet-dry chain with gamma rain and a seasonal, day-to-day linked temperature.

The form follows Richardson (1981, Water Resources Research 17:182-190; from memory); the numbers are
chosen to look like the interior of the north-eastern United States and are nobody's record.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np


@dataclass(frozen=True, slots=True)
class Day:
    """One invented day."""

    day: date
    rain_mm: float
    tmin_c: float
    tmax_c: float
    wind_m_s: float


def daily_weather(first: date, last: date, seed: int) -> list[Day]:
    """Weather of every day from ``first`` to ``last``, always the same for the same ``seed``."""
    rng = np.random.default_rng([seed, 7])
    wet, warm = False, 0.0
    days = []
    for offset in range((last - first).days + 1):
        day = first + timedelta(days=offset)
        wet = rng.random() < (0.52 if wet else 0.27)
        warm = 0.7 * warm + rng.normal(0.0, 2.6)
        season = math.cos(2.0 * math.pi * (day.timetuple().tm_yday - 203) / 365.25)
        mean = 8.6 + 12.8 * season + warm
        swing = max(3.0, (7.5 if wet else 11.5) + rng.normal(0.0, 1.5))
        days.append(
            Day(
                day=day,
                rain_mm=round(float(rng.gamma(0.75, 11.0)), 1) if wet else 0.0,
                tmin_c=round(mean - swing / 2.0, 1),
                tmax_c=round(mean + swing / 2.0, 1),
                wind_m_s=round(float(rng.gamma(4.0, 0.5)), 1),
            )
        )
    return days
