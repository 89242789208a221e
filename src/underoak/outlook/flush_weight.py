"""How much a prime flush weighs, as a lognormal."""

from __future__ import annotations

from math import exp, log
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy.typing as npt

    from underoak.model.book import Weight

#: Standard normal quantile of 0.9.
_Z90 = 1.2815515655446004
#: The book's median counts as this many weighed flushes of the household (own judgement).
PSEUDO_FLUSHES = 3.0


def mean_flush_g(weight: Weight, weighed_g: Sequence[float] | npt.NDArray[np.float64] = ()) -> float:
    """Mean fresh weight of one prime flush, g.

    Parameters
    ----------
    weight : Weight
        Median and 90th percentile from the book, g.
    weighed_g : g, positive
        Prime flushes of this taxon that the household weighed.

    Method
    ------
    Lognormal with log-deviation s = ln(p90/median)/1.2816; own weights move the mean of the logarithm as
    against three flushes of the book; mean = exp(mean log + s^2/2). This is the yield half of a hurdle:
    times the chance of a prime flush it gives expected weight (taye_2016, abstract seen, for the form).

    Raises
    ------
    ValueError   when p90 is below the median or a weight is not positive
    """
    if weight.p90_g < weight.median_g or np.any(np.asarray(weighed_g) <= 0.0):
        raise ValueError("the 90th percentile must not lie below the median, and weights must be positive")
    spread = log(weight.p90_g / weight.median_g) / _Z90
    known = float(np.log(np.asarray(weighed_g, dtype=np.float64)).sum())
    mean_log = (PSEUDO_FLUSHES * log(weight.median_g) + known) / (PSEUDO_FLUSHES + len(weighed_g))
    return exp(mean_log + 0.5 * spread * spread)
