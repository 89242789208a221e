"""Numbers keep the precision they come in: single precision halves time and memory of wide grids."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

    FloatArray = npt.NDArray[np.float64]


def floats(numbers: npt.ArrayLike, like: FloatArray | None = None) -> FloatArray:
    """Array of floats: single precision stays single, everything else becomes double.

    ``like`` asks for the precision of that array. The annotation says double, because that is what a
    household's single station runs in.
    """
    array = np.asarray(numbers)
    if like is not None:
        return np.asarray(array, dtype=like.dtype)
    return array if array.dtype == np.float32 else np.asarray(array, dtype=np.float64)
