"""Rain on its way down: leaves, litter, runoff, roots. One closed balance by the day."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from underoak.weather.canopy import rain_on_the_ground_mm
from underoak.weather.runoff import WOODS_CURVE_NUMBER, curve_number_runoff_mm
from underoak.weather.soil_water import Litter, RootZone, litter_balance, root_zone_balance

if TYPE_CHECKING:
    import numpy.typing as npt

    from underoak.weather.soils import Soil

    FloatArray = npt.NDArray[np.float64]

#: Water that the litter and fine wood of an oak wood hold when wet (the developers' judgement).
LITTER_CAPACITY_MM = 6.0
#: Share of the reference evapotranspiration that dries a full litter, under leaf and bare.
LITTER_DRYING_LEAF = 0.2
LITTER_DRYING_BARE = 0.5
#: Crop coefficient of the trees, in leaf and bare (the developers' judgement).
CROP_LEAF = 1.0
CROP_BARE = 0.2


@dataclass(frozen=True, slots=True)
class GroundWater:
    """Where each day's rain went, all (days,) or (days, stations), mm.

    rain = interception + runoff + litter evaporation + change of litter + evapotranspiration
    + drainage + change of the root zone.
    """

    interception_mm: FloatArray
    runoff_mm: FloatArray
    litter: Litter
    roots: RootZone


def ground_water(
    rain_mm: FloatArray,
    eto_mm: FloatArray,
    leaves: npt.ArrayLike,
    soil: Soil,
    *,
    start_litter: float = 0.5,
    start_depletion: float = 0.0,
) -> GroundWater:
    """Daily water of a hardwood floor.

    Parameters
    ----------
    rain_mm          rain, >= 0, no gaps; (days,) or (days, stations)
    eto_mm           reference evapotranspiration, same shape, no gaps
    leaves           share of full leaf, 0 to 1, broadcast to the rain
    soil             texture with its water contents
    start_litter     share of the litter store that is full at the start, 0 to 1
    start_depletion  share of the available water used up at the start, 0 to 1

    Method: rain less interception reaches the floor; the curve number takes the runoff; the litter fills
    first and passes the rest to the roots; trees draw what the air still asks for after the leaves and
    the litter have dried.
    Source: Helvey and Patric 1965 (from memory), USDA 1986, Allen et al. 1998; the coupling, the litter
    store and the crop coefficients are the developers' judgement.
    """
    share = np.asarray(leaves, dtype=float)
    if share.ndim < rain_mm.ndim:
        share = share.reshape(share.shape + (1,) * (rain_mm.ndim - share.ndim))
    floor = rain_on_the_ground_mm(rain_mm, share)
    runoff = curve_number_runoff_mm(floor, WOODS_CURVE_NUMBER[soil.hydrologic_group])
    drying = eto_mm * (LITTER_DRYING_BARE + (LITTER_DRYING_LEAF - LITTER_DRYING_BARE) * share)
    litter = litter_balance(
        floor - runoff, drying, capacity_mm=LITTER_CAPACITY_MM, start_mm=start_litter * LITTER_CAPACITY_MM
    )
    interception = rain_mm - floor
    crop = eto_mm * (CROP_BARE + (CROP_LEAF - CROP_BARE) * share)
    demand = np.maximum(crop - interception - litter.evaporation_mm, 0.0)
    roots = root_zone_balance(
        litter.through_mm,
        demand,
        available_mm=soil.available_mm,
        readily_mm=soil.readily_mm,
        start_depletion_mm=start_depletion * soil.available_mm,
    )
    return GroundWater(interception, runoff, litter, roots)
