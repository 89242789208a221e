"""Stacks of seasons at spots: the chains of one taxon, and what its looks say about them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from underoak.outlook.flush_model import Chains, Evidence, ageing_chance, filter_states, onset_hazard
from underoak.outlook.looks import outcome_chances

if TYPE_CHECKING:
    from underoak.outlook.drivers import SeasonWeather
    from underoak.outlook.looks import Looks
    from underoak.outlook.season_prior import Onset

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.intp]

#: Points of the Gauss-Hermite sum over timing that season, place and spot share.
SHARED_POINTS = 5


@dataclass(frozen=True, slots=True)
class RowStates:
    """What is believed of each row (a spot in a season) on wanted days; shapes (rows, wanted days).

    ``prime`` is the chance of a prime flush if the spot fruits and ``prime_sd`` its spread over the shared
    timing; ``fruited`` and ``blank`` are log-likelihoods of the looks so far if it fruits and if not.
    """

    prime: FloatArray
    prime_sd: FloatArray
    fruited: FloatArray
    blank: FloatArray


def row_states(
    onsets: Sequence[Onset],
    weather: Sequence[SeasonWeather],
    looks: Looks,
    row_of_look: IntArray,
    wanted: IntArray,
    *,
    detection: float,
) -> RowStates:
    """Filter a stack of rows, summing over the timing that season, place and spot share.

    Parameters
    ----------
    onsets, weather : (rows,)
        Prior of the onset and weather of each row; equal records may be the same object.
    looks, row_of_look : (looks,)
        Looks sorted by day, and the row each belongs to.
    wanted : (wanted days,), ascending season day numbers
    detection : chance 0 to 1
        That a thorough look shows a prime flush.

    Method
    ------
    The shared timing is normal; five Gauss-Hermite points stand for it, each with its own chain, weighed
    by its prior weight times the likelihood of the looks so far.
    """
    points, prior = np.polynomial.hermite_e.hermegauss(SHARED_POINTS)
    chains = _chains(onsets, weather, points, int(wanted[-1]) + 1)
    by_state, idle = outcome_chances(looks, detection)
    n = SHARED_POINTS
    evidence = Evidence(
        chain=(row_of_look[:, None] * n + np.arange(n)).ravel(),
        day=np.repeat(looks.day, n),
        by_state=np.repeat(by_state, n, axis=0),
        idle=np.repeat(idle, n),
    )
    filtered = filter_states(chains, evidence, wanted)
    shape = (len(onsets), n, len(wanted))
    fruited = filtered.fruited.reshape(shape)
    top = fruited.max(axis=1, keepdims=True)
    weight = (prior / prior.sum())[None, :, None] * np.exp(fruited - top)
    total = weight.sum(axis=1)
    weight /= total[:, None]
    prime = filtered.states[:, :, 2].reshape(shape)
    mean = (weight * prime).sum(axis=1)
    variance = (weight * (prime - mean[:, None]) ** 2).sum(axis=1)
    blank = filtered.blank.reshape(shape)[:, 0]
    return RowStates(mean, np.sqrt(variance), np.log(total) + top[:, 0], blank)


def _chains(
    onsets: Sequence[Onset], weather: Sequence[SeasonWeather], points: FloatArray, days: int
) -> Chains:
    """Chains (rows * points) to the last wanted day."""
    columns = np.array(
        [(o.mean_day, o.residual_sd, o.shared_sd, o.young_days, o.prime_days) for o in onsets],
        dtype=np.float64,
    ).reshape(-1, 5)
    mean = (columns[:, 0, None] + columns[:, 2, None] * points[None, :]).ravel()
    residual, young, prime = (np.repeat(columns[:, k], len(points)) for k in (1, 3, 4))
    warmth = np.repeat(np.stack([w.warmth[:days] for w in weather]), len(points), axis=0)
    freeze = np.repeat(np.stack([w.hard_freeze[:days] for w in weather]), len(points), axis=0)
    return Chains(onset_hazard(mean, residual, days), 1.0 / young, ageing_chance(prime, warmth, freeze))
