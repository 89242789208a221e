"""How good the stored forecasts were: chances that were given against what later looks showed."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
import numpy.typing as npt

from underoak.model.visits import Visit
from underoak.outlook.looks import THOROUGH, UNLISTED_LOOK
from underoak.outlook.scores import ReliabilityBin, brier, reliability

FloatArray = npt.NDArray[np.float64]

#: Looks under which nothing is said of how good the forecasts are.
FEWEST_LOOKS = 20


@dataclass(frozen=True, slots=True)
class SpotForecast:
    """A stored chance: prime flush standing, and shown by a thorough look, at a spot on a day."""

    made_on: date
    day: date
    spot_id: str
    taxon_id: str
    prime: float
    found: float


@dataclass(frozen=True, slots=True)
class Calibration:
    """Stored chances against looks of the same spot and day.

    ``seen`` of ``looks`` looks showed a prime flush where ``expected`` were to be expected;
    ``too_far_p`` is the chance of a count at least so far from it if every chance was right. ``brier`` is
    to be compared with ``brier_of_rate``, that of always giving the share that came true. All but
    ``looks`` are None without a look.
    """

    looks: int
    seen: int
    expected: float | None = None
    too_far_p: float | None = None
    brier: float | None = None
    brier_of_rate: float | None = None
    bins: tuple[ReliabilityBin, ...] = ()

    @property
    def enough(self) -> bool:
        """Whether so many looks carry a word about the forecasts."""
        return self.looks >= FEWEST_LOOKS


def calibration(forecasts: Iterable[SpotForecast], visits: Sequence[Visit]) -> Calibration:
    """Reliability and Brier score of stored forecasts.

    Parameters
    ----------
    forecasts : in the order in which they were given
        For each spot, taxon and day the last one made before the day counts, else the first of the day.
    visits : all visits; a spot that was not searched on the day judges nothing

    Method
    ------
    A look of thoroughness t shows a prime flush with chance prime (1 - (1 - d)^(t/0.9)), d = found / prime:
    effort adds up as in the outlook. The count is judged by the exact distribution of a sum of unequal
    chances (`count_chances`), which takes looks as independent.

    Source
    ------
    brier_1950, from memory.
    """
    chosen: dict[tuple[str, str, date], SpotForecast] = {}
    for forecast in forecasts:
        key = (forecast.spot_id, forecast.taxon_id, forecast.day)
        if key not in chosen or chosen[key].made_on < forecast.made_on < forecast.day:
            chosen[key] = forecast
    days = {day for _, _, day in chosen}
    visits = [visit for visit in visits if visit.day in days]
    looked = _looks(visits)
    primes = {
        (f.spot_id, f.taxon_id, visit.day) for visit in visits for f in visit.finds if f.stage == "prime"
    }
    pairs = [
        (_shown(forecast, looked[key[0], key[2]]), key in primes)
        for key, forecast in sorted(chosen.items())
        if (key[0], key[2]) in looked
    ]
    if not pairs:
        return Calibration(0, 0)
    return _scored(np.array([p for p, _ in pairs]), np.array([true for _, true in pairs]))


def _looks(visits: Sequence[Visit]) -> dict[tuple[str, date], float]:
    """(spot, day) -> the most thorough look; a spot with a find that was not listed counts as looked at."""
    looked: dict[tuple[str, date], float] = {}
    for visit in visits:
        shares = {find.spot_id: UNLISTED_LOOK for find in visit.finds}
        shares |= {search.spot_id: search.thoroughness for search in visit.searches}
        for spot_id, share in shares.items():
            looked[spot_id, visit.day] = max(share, looked.get((spot_id, visit.day), 0.0))
    return looked


def _shown(forecast: SpotForecast, thoroughness: float) -> float:
    if forecast.prime <= 0.0:
        return 0.0
    at_thorough = min(forecast.found / forecast.prime, 1.0)
    missed: float = (1.0 - at_thorough) ** (thoroughness / THOROUGH)
    return forecast.prime * (1.0 - missed)


def _scored(chance: FloatArray, true: npt.NDArray[np.bool_]) -> Calibration:
    seen, looks = int(true.sum()), len(true)
    rate = np.full(looks, seen / looks)
    return Calibration(
        looks=looks,
        seen=seen,
        expected=float(chance.sum()),
        too_far_p=_too_far(count_chances(chance), seen),
        brier=brier(chance, true),
        brier_of_rate=brier(rate, true),
        bins=reliability(chance, true),
    )


def count_chances(chance: FloatArray) -> FloatArray:
    """Chance (n + 1,) of 0, 1, ..., n successes of independent trials with unequal chances (n,).

    Method: trial by trial, P'(k) = P(k) (1 - p) + P(k - 1) p (Poisson binomial distribution).
    """
    counts = np.array([1.0])
    for p in chance:
        counts = np.convolve(counts, [1.0 - p, p])
    return counts


def _too_far(counts: FloatArray, seen: int) -> float:
    below, above = float(counts[: seen + 1].sum()), float(counts[seen:].sum())
    return min(1.0, 2.0 * min(below, above))
