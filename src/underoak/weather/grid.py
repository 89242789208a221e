"""Water of many stations or grid cells at once, in blocks of days that fit the processor's cache."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

import numpy as np

from underoak.weather.evapotranspiration import penman_monteith_mm
from underoak.weather.soil_water import RootZone, root_zone_balance

if TYPE_CHECKING:
    import numpy.typing as npt

    FloatArray = npt.NDArray[np.float64]

#: Cells of a block: days times stations.
BLOCK_CELLS = 32_000
INPUTS = ("tmin_c", "tmax_c", "ea_kpa", "wind_m_s", "rs_mj_m2", "ra_mj_m2", "rain_mm")


def grid_water(
    weather: Mapping[str, FloatArray],
    *,
    elevation_m: npt.ArrayLike,
    available_mm: npt.ArrayLike,
    readily_mm: npt.ArrayLike,
    start_depletion_mm: npt.ArrayLike = 0.0,
) -> Iterator[tuple[slice, FloatArray, RootZone]]:
    """Reference evapotranspiration and root zone of every station, block of days by block of days.

    Parameters
    ----------
    weather             arrays of `INPUTS`, each (days, stations), no gaps; ``ra_mj_m2`` may be (days, 1)
    elevation_m         one number or (stations,)
    available_mm, readily_mm, start_depletion_mm   as in `root_zone_balance`

    Yields the days of the block, evapotranspiration in mm and the root zone, both (block, stations).
    Single precision gives the numbers of double precision to a thousandth of a millimetre a day.

    Method: `penman_monteith_mm` and `root_zone_balance`, the depletion carried from block to block.
    """
    days, stations = weather["rain_mm"].shape
    step = max(BLOCK_CELLS // stations, 1)
    depletion: npt.ArrayLike = start_depletion_mm
    for first in range(0, days, step):
        block = slice(first, min(first + step, days))
        part = {name: weather[name][block] for name in INPUTS}
        rain = part.pop("rain_mm")
        eto = penman_monteith_mm(**part, elevation_m=elevation_m)
        roots = root_zone_balance(
            rain,
            eto,
            available_mm=available_mm,
            readily_mm=readily_mm,
            start_depletion_mm=depletion,
        )
        depletion = roots.depletion_mm[-1]
        yield block, eto, roots
