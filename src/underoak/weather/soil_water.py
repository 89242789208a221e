"""Water in the root zone and in the litter above it, day after day.

Days come first: (days,) for one station, (days, stations) for many. The recursion is the same; for one
station it runs on plain floats, for many on whole rows.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from underoak.weather.precision import floats

if TYPE_CHECKING:
    import numpy.typing as npt

    FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class RootZone:
    """Daily root zone, all shaped like the input.

    ``depletion_mm`` below field capacity at the end of the day, ``evapotranspiration_mm``,
    ``drainage_mm`` below the roots, ``stress`` Ks 0 (wilting) to 1 (no stress) as it acted on the day.
    """

    depletion_mm: FloatArray
    evapotranspiration_mm: FloatArray
    drainage_mm: FloatArray
    stress: FloatArray


@dataclass(frozen=True, slots=True)
class Litter:
    """Daily litter store: ``store_mm`` at the end of the day, what dried off, what ran through."""

    store_mm: FloatArray
    evaporation_mm: FloatArray
    through_mm: FloatArray


def total_available_water_mm(
    field_capacity: npt.ArrayLike, wilting_point: npt.ArrayLike, root_depth_m: npt.ArrayLike
) -> FloatArray:
    """Water between field capacity and wilting point (both m3/m3) in the root zone, mm.

    Method: TAW = 1000 (FC - WP) Zr. Source: Allen et al. 1998 (FAO-56) Eq. 82, Ex. 36, second-hand.
    """
    held = floats(field_capacity) - floats(wilting_point)
    return np.asarray(1000.0 * held * floats(root_depth_m))


def stress_factor(
    depletion_mm: npt.ArrayLike, available_mm: npt.ArrayLike, readily_mm: npt.ArrayLike
) -> FloatArray:
    """Ks: 1 while the depletion is within the readily available water, down to 0 when all is used.

    Method: (TAW - Dr) / (TAW - RAW), held between 0 and 1.
    Source: Allen et al. 1998 (FAO-56) Eq. 84, Ex. 37, second-hand.
    """
    available, readily = floats(available_mm), floats(readily_mm)
    left = available - floats(depletion_mm)
    return np.asarray(np.clip(left / (available - readily), 0.0, 1.0))


def root_zone_balance(
    water_in_mm: FloatArray,
    demand_mm: FloatArray,
    *,
    available_mm: npt.ArrayLike,
    readily_mm: npt.ArrayLike,
    start_depletion_mm: npt.ArrayLike = 0.0,
) -> RootZone:
    """Daily balance of the root zone.

    Parameters
    ----------
    water_in_mm         water that enters the soil, >= 0, no gaps; (days,) or (days, stations)
    demand_mm           crop coefficient times reference evapotranspiration, same shape, >= 0
    available_mm        total available water TAW, > readily_mm; one number or (stations,)
    readily_mm          readily available water RAW, >= 0
    start_depletion_mm  depletion on the evening before the first day, 0 to TAW

    Method: Ks from the depletion of the evening before; Dr = Dr - in + Ks demand; what would lie above
    field capacity drains the same day. Demand is held to TAW - RAW, so that Dr never passes TAW.
    No capillary rise.
    Source: Allen et al. 1998 (FAO-56) Eq. 84 and 85, Ex. 37, second-hand.
    """
    available, readily = floats(available_mm, water_in_mm), floats(readily_mm, water_in_mm)
    demand = np.minimum(demand_mm, available - readily)
    start = np.broadcast_to(floats(start_depletion_mm, water_in_mm), water_in_mm.shape[1:])
    run = _deplete_one if water_in_mm.ndim == 1 else _deplete_rows
    depletion = run(water_in_mm, demand, available, readily, start)
    before = np.concatenate([start[None], depletion[:-1]])
    stress = stress_factor(before, available, readily)
    used = stress * demand
    drainage = np.maximum(depletion - before + water_in_mm - used, 0.0)
    return RootZone(depletion, used, drainage, stress)


def _deplete_one(
    water_in: FloatArray, demand: FloatArray, available: FloatArray, readily: FloatArray, start: FloatArray
) -> FloatArray:
    taw, per_mm, depletion = float(available), 1.0 / float(available - readily), float(start)
    evenings = []
    for water, wish in zip(water_in.tolist(), demand.tolist(), strict=True):
        stress = (taw - depletion) * per_mm
        depletion += (stress if stress < 1.0 else 1.0) * wish - water
        depletion = depletion if depletion > 0.0 else 0.0
        evenings.append(depletion)
    return np.array(evenings)


def _deplete_rows(
    water_in: FloatArray, demand: FloatArray, available: FloatArray, readily: FloatArray, start: FloatArray
) -> FloatArray:
    per_mm = 1.0 / (available - readily)
    evenings = np.empty_like(water_in)
    depletion, stress = start, np.empty_like(start)
    for day in range(len(water_in)):
        np.subtract(available, depletion, out=stress)
        np.multiply(stress, per_mm, out=stress)
        np.minimum(stress, 1.0, out=stress)
        np.multiply(stress, demand[day], out=stress)
        evening = evenings[day]
        np.add(depletion, stress, out=evening)
        np.subtract(evening, water_in[day], out=evening)
        np.maximum(evening, 0.0, out=evening)
        depletion = evening
    return evenings


def litter_balance(
    water_in_mm: FloatArray, drying_mm: FloatArray, *, capacity_mm: float, start_mm: float = 0.0
) -> Litter:
    """Daily balance of a store that fills first, then dries in proportion to what it holds.

    Parameters
    ----------
    water_in_mm  water that reaches the litter, >= 0, no gaps; (days,) or (days, stations)
    drying_mm    evaporation of a full store on that day, same shape, >= 0
    capacity_mm  most that it holds, > 0
    start_mm     store on the evening before the first day, 0 to capacity

    Method: store = min(capacity, store + in) exp(-drying / capacity); the rest runs through at once.
    Source: linear store solved exactly over a day; the capacity and drying are the caller's.
    """
    kept = np.exp(-drying_mm / capacity_mm)
    store = np.full(water_in_mm.shape[1:], start_mm, dtype=water_in_mm.dtype)
    run = _store_one if water_in_mm.ndim == 1 else _store_rows
    evening = run(water_in_mm, kept, capacity_mm, store)
    before = np.concatenate([store[None], evening[:-1]])
    filled = np.minimum(before + water_in_mm, capacity_mm)
    return Litter(evening, filled - evening, before + water_in_mm - filled)


def _store_one(water_in: FloatArray, kept: FloatArray, capacity: float, start: FloatArray) -> FloatArray:
    store, evenings = float(start), []
    for water, share in zip(water_in.tolist(), kept.tolist(), strict=True):
        store += water
        store = (store if store < capacity else capacity) * share
        evenings.append(store)
    return np.array(evenings)


def _store_rows(water_in: FloatArray, kept: FloatArray, capacity: float, start: FloatArray) -> FloatArray:
    evenings = np.empty_like(water_in)
    store = start
    for day in range(len(water_in)):
        evening = evenings[day]
        np.add(store, water_in[day], out=evening)
        np.minimum(evening, capacity, out=evening)
        np.multiply(evening, kept[day], out=evening)
        store = evening
    return evenings
