"""Whether finds favour one side of their trunk: statistics of directions."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

#: Fewer directions than this carry no claim; the published approximation is stated for 10 and more.
FEWEST_DIRECTIONS = 10
#: Chi square with one degree of freedom that one in twenty exceeds.
_CHI_SQUARE = 3.841459


@dataclass(frozen=True, slots=True)
class SideOfTree:
    """How directions (degrees clockwise from north) are spread around the trunk.

    ``mean_deg`` is their mean direction, ``resultant`` the length of the mean vector, 0 (all round) to 1
    (one direction). ``rayleigh_p`` is the chance of so long a vector when no side is favoured. Towards a
    side stated beforehand, ``v_p`` is that of the V-test, None where none was stated. The 95 % interval of
    the mean reaches ``within_deg`` to either side of it; None where the directions are too few or too spread
    for one.
    """

    n: int
    mean_deg: float
    resultant: float
    rayleigh_z: float
    rayleigh_p: float
    toward_deg: float | None = None
    v_u: float | None = None
    v_p: float | None = None
    within_deg: float | None = None

    @property
    def enough(self) -> bool:
        """Whether the number of directions carries a claim at all."""
        return self.n >= FEWEST_DIRECTIONS


def side_of_tree(bearings_deg: Sequence[float], toward_deg: float | None = None) -> SideOfTree:
    """Mean direction, resultant length, Rayleigh's test and the V-test.

    Parameters
    ----------
    bearings_deg : at least one direction from the trunk, degrees clockwise from north
        One for each clump: bodies that share a mycelium are not independent, and counting each of them
        makes every p too small.
    toward_deg : a side stated before looking at the finds, or None

    Raises
    ------
    ValueError   without a direction, or where one is not a finite number

    Method
    ------
    C = sum cos, S = sum sin, R = sqrt(C^2 + S^2), r = R / n, z = n r^2.
    Rayleigh: p = exp(-z) (1 + (2z - z^2)/(4n) - (24z - 132z^2 + 76z^3 - 9z^4)/(288 n^2)), within 0 to 1;
    from 50 directions on the bracket is left out.
    V: u = R cos(mean - stated) sqrt(2 / n); p = 1 - Phi(u) + phi(u) ((3u - u^3)/(16 n)
    + (15u + 305u^3 - 125u^5 + 9u^7)/(4608 n^2)).

    Source
    ------
    mardia_jupp_2000 eqs 6.3.5 and 6.3.10 (from memory), zar_1999 (from memory); equal to astropy.stats,
    see tests/published/review.toml.
    """
    if not bearings_deg or not all(map(math.isfinite, bearings_deg)):
        raise ValueError("at least one direction is needed, and each has to be a number")
    n = len(bearings_deg)
    cosine = math.fsum(math.cos(math.radians(b)) for b in bearings_deg)
    sine = math.fsum(math.sin(math.radians(b)) for b in bearings_deg)
    resultant = min(math.hypot(cosine, sine) / n, 1.0)
    mean = math.degrees(math.atan2(sine, cosine)) % 360.0
    z = n * resultant**2
    within = half_width_deg(resultant, n) if n >= FEWEST_DIRECTIONS else None
    if toward_deg is None:
        return SideOfTree(n, mean, resultant, z, rayleigh_p(z, n), within_deg=within)
    u = resultant * math.cos(math.radians(mean - toward_deg)) * math.sqrt(2.0 * n)
    return SideOfTree(n, mean, resultant, z, rayleigh_p(z, n), toward_deg, u, v_p(u, n), within)


def half_width_deg(resultant: float, n: int) -> float | None:
    """Half the width of the 95 % interval of a mean direction, degrees; None where it would be all round.

    Parameters
    ----------
    resultant : length of the mean vector, 0 to 1
    n : number of directions, 1 or more

    Method
    ------
    With R = n r and c = 3.841 (chi square, one degree of freedom):
    cos d = sqrt(2n (2R^2 - n c) / (4n - c)) / R up to r = 0.9,
    cos d = sqrt(n^2 - (n^2 - R^2) exp(c / n)) / R above; none where r^2 <= c / (2n).

    Source
    ------
    Upton 1986, as in zar_1999 eqs 26.23 to 26.26 (from memory). How often it holds is counted in
    tests/published/test_review.py.
    """
    if resultant**2 <= _CHI_SQUARE / (2.0 * n):
        return None
    length = n * resultant
    if resultant <= 0.9:
        square = 2.0 * n * (2.0 * length**2 - n * _CHI_SQUARE) / (4.0 * n - _CHI_SQUARE)
    else:
        square = n**2 - (n**2 - length**2) * math.exp(_CHI_SQUARE / n)
    return math.degrees(math.acos(min(math.sqrt(max(square, 0.0)) / length, 1.0)))


def rayleigh_p(z: float, n: int) -> float:
    """Chance of a Rayleigh statistic of ``z`` or more from ``n`` directions that favour no side."""
    if n >= 50:
        return math.exp(-z)
    correction = (
        1.0
        + (2.0 * z - z**2) / (4.0 * n)
        - (24.0 * z - 132.0 * z**2 + 76.0 * z**3 - 9.0 * z**4) / (288.0 * n**2)
    )
    return min(max(math.exp(-z) * correction, 0.0), 1.0)


def v_p(u: float, n: int) -> float:
    """Chance of a V-test statistic of ``u`` or more from ``n`` directions that favour no side."""
    density = math.exp(-0.5 * u * u) / math.sqrt(2.0 * math.pi)
    correction = (3.0 * u - u**3) / (16.0 * n) + (15.0 * u + 305.0 * u**3 - 125.0 * u**5 + 9.0 * u**7) / (
        4608.0 * n**2
    )
    return min(max(0.5 * math.erfc(u / math.sqrt(2.0)) + density * correction, 0.0), 1.0)
