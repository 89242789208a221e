"""Learn one taxon's parameters from the household's looks: most probable values and their uncertainty."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from underoak.outlook.learned import Learned
from underoak.outlook.posterior import Posterior

if TYPE_CHECKING:
    from underoak.outlook.record import TaxonRecord

FloatArray = npt.NDArray[np.float64]

#: Step of the differences of the exact slopes that give the curvature, in prior standard deviations.
_CURVATURE_STEP = 1e-4
_MOST_ITERATIONS = 200


def fit(
    taxon_id: str,
    record: TaxonRecord,
    *,
    start: Mapping[str, float] | None = None,
    with_uncertainty: bool = True,
) -> Learned:
    """Most probable parameters of one taxon and their covariance.

    Parameters
    ----------
    taxon_id, record : the taxon and its record
    start : name -> value, from an earlier fit
        Where to begin; saves time, changes nothing beyond the last digits.
    with_uncertainty : bool
        Without it the covariance is zero: for trials that only need the means.

    Method
    ------
    Maximum of the log posterior by L-BFGS with exact slopes, in units of the prior deviations, from the
    book's values (or ``start``); covariance is the inverse of minus the curvature there (Laplace), the
    curvature by differences of the exact slopes. Nothing is drawn at random.

    Source
    ------
    Laplace approximation and penalised likelihood: standard results.
    """
    from scipy.optimize import minimize

    posterior = Posterior(record)
    sd, names = posterior.prior_sd, record.layout.names
    begin = np.array([(start or {}).get(name, 0.0) for name in names]) / sd

    def downhill(scaled: FloatArray) -> tuple[float, FloatArray]:
        value, slope = posterior.value_and_slope(scaled * sd)
        return -value, -slope * sd

    found = minimize(
        downhill,
        begin,
        jac=True,
        method="L-BFGS-B",
        options={"maxiter": _MOST_ITERATIONS, "ftol": 1e-10, "gtol": 1e-4, "maxcor": 20},
    )
    best = np.asarray(found.x, dtype=np.float64)
    covariance = np.zeros((len(best), len(best)))
    if with_uncertainty:
        covariance = _covariance(downhill, best) * np.outer(sd, sd)
    return Learned(
        taxon_id=taxon_id,
        names=names,
        means=best * sd,
        covariance=covariance,
        seasons=record.layout.seasons,
        looks=record.look_count,
        finds=record.find_count,
    )


def _covariance(downhill: Callable[[FloatArray], tuple[float, FloatArray]], best: FloatArray) -> FloatArray:
    """Inverse curvature at the optimum; directions that curve less than the prior keep the prior's width."""
    size = len(best)
    curvature, here = np.zeros((size, size)), downhill(best)[1]
    for k in range(size):
        step = np.zeros(size)
        step[k] = _CURVATURE_STEP
        curvature[k] = (downhill(best + step)[1] - here) / _CURVATURE_STEP
    values, vectors = np.linalg.eigh(0.5 * (curvature + curvature.T))
    inverse: FloatArray = (vectors / np.maximum(values, 1.0)) @ vectors.T
    return inverse


def starting_values(learned: Learned) -> dict[str, float]:
    """The means by name, for `fit` to start from."""
    return dict(zip(learned.names, (float(x) for x in learned.means), strict=True))
