"""What the outlook answers: chances per spot, taxon and day, with reasons."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a chance is higher or lower: a sentence, and how much it moved the chance (ratio of odds)."""

    words: str
    odds_ratio: float


@dataclass(frozen=True, slots=True)
class Chance:
    """Chance that a prime flush of a taxon stands at a spot on a day.

    All chances are 0 to 1; ``low`` and ``high`` bound 90 % of what the model holds possible.
    ``expected_kg`` is prime fresh weight times its chance; ``found`` is the chance that a thorough look
    shows a prime flush.
    """

    spot_id: str
    place_id: str
    taxon_id: str
    day: date
    prime: float
    low: float
    high: float
    expected_kg: float
    reasons: tuple[Reason, ...] = ()
    found: float = 0.0
