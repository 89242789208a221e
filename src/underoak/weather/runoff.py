"""Storm runoff by the curve number."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

    FloatArray = npt.NDArray[np.float64]

#: Curve numbers of woods in good condition by hydrologic soil group (TR-55 Table 2-2c, from memory).
WOODS_CURVE_NUMBER = {"A": 30.0, "B": 55.0, "C": 70.0, "D": 77.0}


def curve_number_runoff_mm(rain_mm: npt.ArrayLike, curve_number: npt.ArrayLike) -> FloatArray:
    """Water that runs off the surface, mm, between 0 and the rain; shapes broadcast.

    ``curve_number`` 1 to 100 (exclusive of 0).

    Method: S = 25400/CN - 254 mm, Ia = 0.2 S, Q = (P - Ia)^2 / (P + 0.8 S) where P > Ia, else 0.
    Source: USDA 1986 (TR-55) Eq. 2-1 to 2-4, seen as a copy.
    """
    rain = np.asarray(rain_mm, dtype=float)
    storage = 25400.0 / np.asarray(curve_number, dtype=float) - 254.0
    excess = np.maximum(rain - 0.2 * storage, 0.0)
    return np.asarray(excess * excess / np.maximum(rain + 0.8 * storage, 1e-9))
