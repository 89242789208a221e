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
    """What earlier seasons leave to believe about each spot, arrays of shape (spots,).

    ``inhabited`` and ``active`` (inhabited, and fruits this season) are chances, ``returns`` is the
    chance to fruit if inhabited; ``active_logit_sd`` is the spread of the logit of ``active``.
    """

    inhabited: FloatArray
    returns: FloatArray
    active: FloatArray
    active_logit_sd: FloatArray


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
    inhabited: FloatArray, returns: float, fruited: FloatArray, blank: FloatArray, spot: npt.NDArray[np.intp]
) -> Recall:
    """Belief about each spot after the seasons before this one.

    Parameters
    ----------
    inhabited : (spots,), chance 0 to 1
        Book's chance that the taxon lives there, moved by host.
    returns : chance 0 to 1
        Book's mean chance that an inhabited spot fruits in a season.
    fruited, blank : (records,), natural logarithm
        For each spot and season with visits: log-likelihood of all visits of that season if the spot
        fruited, and if it did not.
    spot : (records,)
        Position of the spot of each record.

    Method
    ------
    With phi the chance of return, beta around ``returns``: likelihood of a spot
    psi * E[prod(phi L1 + (1 - phi) L0)] + (1 - psi) prod(L0), over its seasons. Seasons are exchangeable
    given phi; uncertain seasons count by their likelihoods, never as plain hits or misses.
    """
    phi, weight = return_chances(returns)
    ratio = np.clip(fruited - blank, -700.0, 700.0)  # log(L1/L0): only the ratio matters
    step = np.logaddexp(np.log(phi)[None, :] + ratio[:, None], np.log1p(-phi)[None, :])
    total = np.zeros((len(inhabited), len(phi)))
    np.add.at(total, spot, step)
    top = total.max(axis=1, keepdims=True)
    posterior = weight * np.exp(total - top)
    evidence = posterior.sum(axis=1)
    mean = posterior @ phi / evidence
    variance = posterior @ phi**2 / evidence - mean**2
    odds = np.log(inhabited) - np.log1p(-inhabited) + np.log(evidence) + top[:, 0]
    psi = 1.0 / (1.0 + np.exp(-np.clip(odds, -700.0, 700.0)))
    active = np.clip(psi * mean, 1e-12, 1.0 - 1e-12)
    log_sd = np.sqrt(((1.0 - psi) * INHABITED_LOGIT_SD) ** 2 + np.maximum(variance, 0.0) / mean**2)
    return Recall(psi, mean, active, log_sd / (1.0 - active))
