"""The plain answer for a taxon where the model has not earned trust: how often looks found it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from underoak.outlook.baselines import BIN_DAYS, BIN_PRIOR_LOOKS, SpotRate, TenDayRate
from underoak.outlook.looks import PRIME, outcome_chances
from underoak.outlook.taxon_outlook import TaxonChances

if TYPE_CHECKING:
    from underoak.outlook.knowledge import Knowledge
    from underoak.outlook.looks import Looks

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.intp]


def climatology_chances(
    known: Knowledge, spots: int, season: int, wanted: IntArray, *, looks: Looks
) -> TaxonChances:
    """Chance of prime (spots, wanted days) from the household's own rates by ten days and spot.

    Parameters
    ----------
    known, spots : the taxon, and how many spots there are
    season, wanted : season and its ascending day numbers
    looks : of all seasons; only those before ``season`` are used

    Method
    ------
    `baselines.SpotRate` over earlier seasons gives the chance that a look finds prime; divided by the mean
    chance that a look shows what stands there. The spread of the logit is that of a rate from the looks of
    the ten days and the five that stand for the taxon as a whole.
    """
    earlier = looks.where(looks.season < season)
    rule = SpotRate(TenDayRate())
    rule.learn(earlier)
    factor = np.array([rule.factor.get(spot, 1.0) for spot in range(spots)])
    as_prime = replace(earlier, outcome=np.full_like(earlier.outcome, PRIME))
    seen = float(outcome_chances(as_prime, known.detection)[0][:, 2].mean())
    rates = rule.base.rates[wanted // BIN_DAYS]
    prime = np.clip(np.outer(factor, rates) / max(seen, 0.2), 1e-9, 0.95)
    count = np.bincount(earlier.day // BIN_DAYS, minlength=40)[wanted // BIN_DAYS] + BIN_PRIOR_LOOKS
    sd = 1.0 / np.sqrt(np.maximum(count * prime * (1.0 - prime), 0.25))
    return TaxonChances(prime, sd, np.clip(prime, 0.0, 1.0))
