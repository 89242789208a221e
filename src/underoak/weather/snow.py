"""Snow waits on the ground: what of a day's precipitation and old snow reaches the litter as water."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

    FloatArray = npt.NDArray[np.float64]

#: Rain and snow are equally likely at this mean of the day: 0 to 2, 1 usual (nws_snow_parameters, seen).
SNOW_BELOW_C = 1.0
#: Daily mean temperature above which snow melts (nws_snow_parameters, seen).
MELT_ABOVE_C = 0.0
#: Melt for each degree and day, mm, where nothing else is known; 1.6 to 6.0 occur (nrcs_2004, from memory).
MELT_MM_C_DAY = 2.74


@dataclass(frozen=True, slots=True)
class Snow:
    """Daily snow, both (days,): water held at the end of the day, and water that reached the ground, mm."""

    pack_mm: FloatArray
    water_mm: FloatArray


def snow_balance(precipitation_mm: FloatArray, mean_c: FloatArray) -> Snow:
    """Daily balance of a snow cover; it starts bare.

    Parameters
    ----------
    precipitation_mm   rain and melted snow as gauges tell it, >= 0, no gaps, (days,)
    mean_c             daily mean temperature, (days,)

    Method: below 1 degree C all of it falls as snow; then as much melts as 2.74 mm for each degree of the
    mean above 0 allows. Water held within the snow is left out.
    Source: nrcs_2004 (National Engineering Handbook 630, chapter 11), degree-day method, from memory;
    temperatures from nws_snow_parameters, seen.
    """
    falls_as_snow = mean_c < SNOW_BELOW_C
    could_melt = MELT_MM_C_DAY * np.maximum(mean_c - MELT_ABOVE_C, 0.0)
    pack, evenings, melted = 0.0, [], []
    for snow, most in zip(
        np.where(falls_as_snow, precipitation_mm, 0.0).tolist(), could_melt.tolist(), strict=True
    ):
        melt = min(pack + snow, most)
        pack += snow - melt
        evenings.append(pack)
        melted.append(melt)
    rain = np.where(falls_as_snow, 0.0, precipitation_mm)
    return Snow(np.array(evenings, dtype=np.float64), rain + np.array(melted, dtype=np.float64))
