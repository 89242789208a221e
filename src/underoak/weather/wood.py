"""Dead wood and deep litter: a store that fills and empties over weeks."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import numpy as np

from underoak.weather.soil_water import Litter, litter_balance

if TYPE_CHECKING:
    import numpy.typing as npt

    FloatArray = npt.NDArray[np.float64]

#: Water of the full store, in units of 0.254 mm; drought code = 400 ln(800 / store).
FULL_STORE = 800.0
#: Rain of a day that never reaches the store, mm.
LOST_RAIN_MM = 2.8
#: Drying by day length, January to December north of the equator.
DAY_LENGTH_FACTOR = (-1.6, -1.6, -1.6, 0.9, 3.8, 5.8, 6.4, 5.0, 2.4, 0.4, -1.6, -1.6)
#: The same near the equator.
EQUATOR_FACTOR = 1.39


def drought_code(store: npt.ArrayLike) -> FloatArray:
    """Drought code (0 wet, above 300 dry) of a store of 0 to 800."""
    return np.asarray(400.0 * np.log(FULL_STORE / np.asarray(store, dtype=float)))


def wood_balance(
    rain_mm: FloatArray,
    noon_c: FloatArray,
    *,
    first_day: date,
    latitude_deg: float,
    start_store: float = FULL_STORE,
) -> Litter:
    """Daily store of large dead wood and deep litter, in units of 0.254 mm, 0 to 800.

    Parameters
    ----------
    rain_mm       rain in the open, >= 0, no gaps, (days,)
    noon_c        temperature at noon; the day's highest serves, and dries a little too fast
    first_day     day of the first value
    latitude_deg  tells the half of the earth
    start_store   store on the evening before

    Method: the Canadian drought code, written as the store that it stands for. A day's rain above 2.8 mm
    adds 3.937 (0.83 P - 1.27); then the store falls by exp(-V / 800) with V = 0.36 (T + 2.8) + day length
    factor, T at least -2.8, V at least 0. DC = 400 ln(800 / store). Snow is taken as rain: the code runs
    through the winter and is full in spring, as it is where winters are wet.
    Source: Van Wagner 1987, Forestry Technical Report 35, from memory.
    """
    effective = np.where(rain_mm > LOST_RAIN_MM, 0.83 * rain_mm - 1.27, 0.0)
    days = np.datetime64(first_day, "D") + np.arange(len(rain_mm))
    month = days.astype("datetime64[M]").astype(np.int64) % 12
    drying = 0.36 * (np.maximum(noon_c, -2.8) + 2.8) + _day_length_factors(latitude_deg)[month]
    return litter_balance(
        3.937 * effective,
        np.maximum(drying, 0.0),
        capacity_mm=FULL_STORE,
        start_mm=start_store,
    )


def _day_length_factors(latitude_deg: float) -> FloatArray:
    if abs(latitude_deg) < 10.0:
        return np.full(12, EQUATOR_FACTOR)
    return np.roll(DAY_LENGTH_FACTOR, 0 if latitude_deg > 0.0 else 6)
