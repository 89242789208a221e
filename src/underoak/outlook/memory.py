"""Memory of a spot: does the taxon live here, and will it fruit this year."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from underoak.book.hosts import host_preference

if TYPE_CHECKING:
    from collections.abc import Sequence

    from underoak.model.book import Habitat, Memory

FloatArray = npt.NDArray[np.float64]

#: The book's chance of return counts as this many seasons (own judgement within the published 3 to 5).
PSEUDO_SEASONS = 4.0
#: How unsure the book's chance of being inhabited is, as a standard deviation of its logit.
INHABITED_LOGIT_SD = 1.0
#: Least preference: for a host the book does not list.
OTHER_HOST = 0.03
#: Trunk for which the book's chance stands, cm.
USUAL_TRUNK_CM = 50.0
_ON_WOOD = frozenset({"roots", "stump", "log", "standing_trunk", "buried_wood"})


@dataclass(frozen=True, slots=True)
class Recall:
    """What earlier seasons leave to believe about each spot, at each point of its own timing.

    Arrays (spots, own points): ``inhabited`` and ``active`` (inhabited, and fruits this season) are
    chances, ``returns`` the chance to fruit if inhabited, ``log_weight`` the logarithm of how likely each
    point is. ``active_logit_sd`` (spots,) is the spread of the logit of the mean of ``active``.
    """

    inhabited: FloatArray
    returns: FloatArray
    active: FloatArray
    log_weight: FloatArray
    active_logit_sd: FloatArray

    @property
    def mean_active(self) -> FloatArray:
        """Chance (spots,) that each spot fruits this season, over the points of its timing."""
        mean: FloatArray = (np.exp(self.log_weight) * self.active).sum(axis=1)
        return mean


def inhabited_chances(
    memory: Memory, habitat: Habitat, host_groups: Sequence[str], diameters_cm: FloatArray
) -> FloatArray:
    """Chance (spots,) that a spot nobody has looked at carries the taxon, from its host and trunk.

    Parameters
    ----------
    memory, habitat : blocks of the taxon
    host_groups : (spots,), keys of the book's hosts or "unknown"
    diameters_cm : (spots,), cm, NaN where not measured

    Method
    ------
    The book's odds for a fitting host, times its preference for the host group, times diameter / 50 cm
    within 0.4 to 2.5 where the taxon lives on wood or roots (old large trees carry more: second-hand, no
    number published). A host the book does not list still counts 0.03: nobody has looked everywhere. A
    taxon without hosts takes every spot.
    """
    known = {group: host_preference(habitat.hosts, group) for group in set(host_groups)}
    preference = np.array([known[group] if habitat.hosts else 1.0 for group in host_groups])
    preference = np.maximum(preference, OTHER_HOST)
    if _ON_WOOD & set(habitat.substrate):
        size = np.clip(diameters_cm / USUAL_TRUNK_CM, 0.4, 2.5)
        preference *= np.where(np.isnan(size), 1.0, size)
    odds = memory.inhabited / (1.0 - memory.inhabited) * preference
    chances: FloatArray = odds / (1.0 + odds)
    return chances


@lru_cache(maxsize=512)
def return_chances(mean: float, pseudo_seasons: float = PSEUDO_SEASONS) -> tuple[FloatArray, FloatArray]:
    """Points (24,) and weights (24,) that stand for a beta distribution of the chance of return.

    Gauss-Jacobi quadrature: integrals of polynomials to degree 47, so histories of up to 47 seasons, are
    exact to rounding.

    Source
    ------
    Beta-binomial shrinkage (pseudo_seasons * mean + hits) / (pseudo_seasons + seasons): standard result.
    """
    from scipy.special import roots_jacobi

    a, b = mean * pseudo_seasons, (1.0 - mean) * pseudo_seasons
    points, weights = roots_jacobi(24, b - 1.0, a - 1.0)
    return (points + 1.0) / 2.0, weights / weights.sum()


def recall(
    inhabited: FloatArray,
    returns: float,
    *,
    fruited: FloatArray,
    blank: FloatArray,
    spot: npt.NDArray[np.intp],
    log_weight: FloatArray,
) -> Recall:
    """Belief about each spot after the seasons before this one.

    Parameters
    ----------
    inhabited : (spots,), chance 0 to 1
        Book's chance that the taxon lives there, moved by host.
    returns : chance 0 to 1
        Mean chance that an inhabited spot fruits in a season.
    fruited, blank : (records, own points) and (records,), natural logarithm
        For each spot and season with visits: log-likelihood of all visits of that season if the spot
        fruited, by the point of its own timing, and if it did not.
    spot : (records,)
        Position of the spot of each record.
    log_weight : (own points,), natural logarithm
        Weights of the points before any look.

    Method
    ------
    With phi the chance of return, beta around ``returns``: likelihood of a spot
    psi * E[prod(phi L1 + (1 - phi) L0)] + (1 - psi) prod(L0), over its seasons, at each point. Seasons are
    exchangeable given phi; uncertain seasons count by their likelihoods, never as plain hits or misses.
    """
    phi, weight = return_chances(returns)
    known, row = np.unique(spot, return_inverse=True)
    ratio = np.clip(fruited - blank[:, None], -700.0, 700.0)  # log(L1/L0): only the ratio matters
    step = np.logaddexp(np.log(phi) + ratio[:, :, None], np.log1p(-phi))
    total = np.zeros((len(known) + 1, len(log_weight), len(phi)))  # the last row: a spot nobody looked at
    np.add.at(total, row.ravel(), step)
    cells = total + np.log(weight)
    evidence = np.logaddexp.reduce(cells, axis=2)
    posterior = np.exp(cells - evidence[:, :, None])
    mean = posterior @ phi
    variance = np.maximum(posterior @ phi**2 - mean**2, 0.0)
    at = np.full(len(inhabited), len(known))
    at[known] = np.arange(len(known))
    lives = np.log(inhabited)[:, None] + evidence[at]
    whole = np.logaddexp(lives, np.log1p(-inhabited)[:, None])
    return _recall(lives - whole, mean[at], variance[at], whole + log_weight)


def _recall(log_psi: FloatArray, mean: FloatArray, variance: FloatArray, weights: FloatArray) -> Recall:
    """The record from arrays (spots, own points): log chance to be inhabited, moments of return, weights."""
    psi = np.exp(log_psi)
    log_weight = weights - np.logaddexp.reduce(weights, axis=1)[:, None]
    share = np.exp(log_weight)
    active = np.clip(psi * mean, 1e-12, 1.0 - 1e-12)
    log_variance = ((1.0 - psi) * INHABITED_LOGIT_SD) ** 2 + variance / mean**2
    log_sd = np.sqrt((share * log_variance).sum(axis=1))
    return Recall(psi, mean, active, log_weight, log_sd / (1.0 - (share * active).sum(axis=1)))
