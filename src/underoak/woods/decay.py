"""How far from the trail the household sees things, learnt from its own finds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from underoak.model.ground import Spot, Trail
from underoak.model.network import Edge
from underoak.woods.exposure import REACH, SIGHT_M
from underoak.woods.geodesy import FloatArray, LocalPlane

#: The prior scale counts as much as this many finds of one's own. Judgement.
PRIOR_FINDS = 8.0
#: Nobody sees mushrooms farther than this off [m].
MOST_SIGHT_M = 150.0
#: Finds farther from every trail than this were not seen from one [m]: three prior scales.
SEEN_WITHIN_M = REACH * SIGHT_M


@dataclass(frozen=True, slots=True)
class Sight:
    """Scale of the half-normal detection function [m], its 90 % range, and the finds behind it."""

    sight_m: float
    low_m: float
    high_m: float
    finds: int

    @property
    def words(self) -> str:
        """One line for a person."""
        of = f"{self.finds} of your own finds" if self.finds else "a first guess, no find of your own yet"
        span = f"{self.sight_m:.0f} m from the trail ({self.low_m:.0f} to {self.high_m:.0f})"
        return f"six in ten are seen {span}: {of}"


def fit_sight(
    distances_m: npt.ArrayLike,
    *,
    within_m: float = np.inf,
    prior_sight_m: float = SIGHT_M,
    prior_finds: float = PRIOR_FINDS,
) -> Sight:
    """Scale of the detection function from the distances of finds to the trail.

    Parameters
    ----------
    distances_m : at right angles to the trail [m], at least 0, any number of them, also none
    within_m : finds farther than this were left out [m]; nobody knows then how many there were
    prior_sight_m : scale before any find [m]
    prior_finds : how many finds that is worth; 0 takes the finds alone

    Raises
    ------
    ValueError   for a distance that is negative, unknown or beyond ``within_m``, and for no find without
                 a prior

    Method
    ------
    Half-normal density of distances, f(x) = sqrt(2 / pi) / s exp(-x^2 / (2 s^2)); its maximum-likelihood
    scale is s^2 = mean(x^2) (Buckland et al. 2001, from memory; checked against scipy). The prior is the
    conjugate inverse gamma worth n0 finds: s^2 = (n0 s0^2 + sum x^2) / (n0 + n). Range: (n0 + n) s^2 over
    the 5 % and 95 % points of chi-square with n0 + n degrees of freedom. Where finds beyond w were left
    out, f is divided by its share within w, erf(w / (s sqrt 2)) (truncated detection, same source; checked
    against scipy), and scale and range are read from that posterior over ln s.
    Holds when hosts stand as thickly near the trail as away from it, and for finds seen from the trail.
    """
    from scipy.stats import chi2

    x = np.asarray(distances_m, dtype=np.float64).ravel()
    if not np.all((x >= 0.0) & (x <= within_m)):
        raise ValueError(f"distances must be known, at least 0 and at most {within_m:g} m")
    weight = prior_finds + len(x)
    if weight <= 0.0:
        raise ValueError("neither a find nor a prior")
    total = prior_finds * prior_sight_m**2 + float(np.sum(x**2))
    if len(x) and np.isfinite(within_m):
        return Sight(*_truncated(total, weight, len(x), within_m), len(x))
    low, high = (float(np.sqrt(total / chi2.ppf(share, weight))) for share in (0.95, 0.05))
    return Sight(float(np.sqrt(total / weight)), low, high, len(x))


def _truncated(total: float, weight: float, finds: int, within_m: float) -> tuple[float, float, float]:
    """Mode, 5 % and 95 % point of the scale [m] where finds beyond ``within_m`` were left out."""
    from scipy.special import erf

    logs = np.log(np.geomspace(0.1, MOST_SIGHT_M, 6000))
    s = np.exp(logs)
    density = -weight * logs - total / (2.0 * s**2) - finds * np.log(erf(within_m / (s * np.sqrt(2.0))))
    share = np.cumsum(np.exp(density - density.max()))
    low, high = np.interp([0.05, 0.95], share / share[-1], s)
    return float(s[np.argmax(density)]), float(low), float(high)


def find_distances_m(ways: Sequence[Trail | Edge], spots: Sequence[Spot]) -> FloatArray:
    """Distance to the nearest open trail of each spot where something was found [m].

    ``spots`` are those, each once: after its first find people go there on purpose. Spots farther than
    `SEEN_WITHIN_M` (36 m) were not seen from the trail and are left out.
    """
    from shapely import MultiLineString, Point

    by_place: dict[str, list[Spot]] = {}
    for spot in spots:
        by_place.setdefault(spot.place_id, []).append(spot)
    lines = [way.points for way in ways if not way.closed]
    away: list[float] = []
    for mine in by_place.values() if lines else ():
        places = [(spot.longitude_deg, spot.latitude_deg) for spot in mine]
        plane = LocalPlane(*places[0])
        trails = MultiLineString([plane.to_plane(line) for line in lines])
        away += [trails.distance(Point(xy)) for xy in plane.to_plane(places)]
    distances = np.array(away, dtype=np.float64)
    return distances[distances <= SEEN_WITHIN_M]
