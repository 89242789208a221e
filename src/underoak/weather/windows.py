"""Sums and means over a span of days before each day."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

    FloatArray = npt.NDArray[np.float64]


def sum_before(values: FloatArray, nearest: int, farthest: int) -> FloatArray:
    """Sum of the days from ``farthest`` to ``nearest`` days before each day, both included; 0 is the day.

    ``values`` (days,) without gaps. NaN where the record does not reach back far enough.
    `sum_before(rain, 10, 30)` is the rain of 21 days that ended ten days ago.
    """
    total = np.concatenate([[0.0], np.cumsum(values)])
    sums = np.full(len(values), np.nan)
    at = np.arange(farthest, len(values))
    sums[at] = total[at + 1 - nearest] - total[at - farthest]
    return sums


def mean_before(values: FloatArray, nearest: int, farthest: int) -> FloatArray:
    """Mean over the same span as `sum_before`."""
    return sum_before(values, nearest, farthest) / (farthest - nearest + 1)


def water_balance_mm(rain_mm: FloatArray, eto_mm: FloatArray, days: int) -> FloatArray:
    """Rain minus reference evapotranspiration over the last ``days`` days, the day included, mm.

    Method: running sum of P - ET0. Source: Vicente-Serrano et al. 2010 (climatic water balance), from memory.
    """
    return sum_before(rain_mm - eto_mm, 0, days - 1)
