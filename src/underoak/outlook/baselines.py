"""Plain forecasts that the model must beat: each gives the chance that a look finds a prime flush."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Protocol

import numpy as np
import numpy.typing as npt

from underoak.outlook.looks import PRIME, Looks

if TYPE_CHECKING:
    from collections.abc import Mapping

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]
IntArray = npt.NDArray[np.intp]

#: Width of the parts of the season, days, and looks that the taxon's overall rate counts for in each part.
BIN_DAYS, BIN_PRIOR_LOOKS = 10, 5.0
#: Hits that a spot's rate starts from: its own rate is (hits + 1)/(expected hits + 1) of the usual.
SPOT_PRIOR_HITS = 1.0
#: "Same date last year" means within so many days.
SAME_DATE_DAYS = 7
#: The rain rule: this much rain, so many days ago.
RAIN_MM, RAIN_FROM_DAYS, RAIN_TO_DAYS = 25.0, 7, 21
#: Half-width of the rule's window around the taxon's middle, in standard deviations of its finds.
WINDOW_SDS = 1.5


class Baseline(Protocol):
    """A way to forecast, learned from some looks of one taxon."""

    def learn(self, looks: Looks) -> None:
        """Take in the looks of the seasons that may be known."""

    def chance(self, looks: Looks, before: Looks) -> FloatArray:
        """Chance (looks,) of finding prime; ``before`` holds the season before, which is known then."""


@dataclass(slots=True)
class TenDayRate:
    """Share of looks that found prime, by ten days of the season, shrunk to the taxon's own rate."""

    rates: FloatArray = field(default_factory=lambda: np.zeros(0))

    def learn(self, looks: Looks) -> None:
        """See `Baseline`."""
        hit = looks.outcome == PRIME
        bins = looks.day // BIN_DAYS
        count = np.bincount(bins, minlength=40).astype(np.float64)
        hits = np.bincount(bins, weights=hit.astype(np.float64), minlength=40)
        overall = (hit.sum() + 0.5) / (len(hit) + 10.0)
        self.rates = (hits + BIN_PRIOR_LOOKS * overall) / (count + BIN_PRIOR_LOOKS)

    def chance(self, looks: Looks, before: Looks) -> FloatArray:  # noqa: ARG002
        """See `Baseline`."""
        rates: FloatArray = self.rates[looks.day // BIN_DAYS]
        return rates


@dataclass(slots=True)
class SpotRate:
    """The ten-day rate times how often the spot gave against how often it should have."""

    base: TenDayRate
    factor: Mapping[int, float] = field(default_factory=dict)

    def learn(self, looks: Looks) -> None:
        """See `Baseline`."""
        self.base.learn(looks)
        expected = self.base.chance(looks, looks)
        factor = {}
        for spot in np.unique(looks.spot).tolist():
            mine = looks.spot == spot
            hits = float((looks.outcome[mine] == PRIME).sum())
            factor[spot] = (hits + SPOT_PRIOR_HITS) / (float(expected[mine].sum()) + SPOT_PRIOR_HITS)
        self.factor = factor

    def chance(self, looks: Looks, before: Looks) -> FloatArray:
        """See `Baseline`."""
        factor = np.array([self.factor.get(spot, 1.0) for spot in looks.spot.tolist()])
        chance: FloatArray = np.minimum(self.base.chance(looks, before) * factor, 0.95)
        return chance


@dataclass(slots=True)
class LastYear:
    """Same spot, same date as last year: the share of hits where last year gave, where not, where unknown."""

    rates: FloatArray = field(default_factory=lambda: np.zeros(0))

    def learn(self, looks: Looks) -> None:
        """See `Baseline`."""
        kind = _last_year(looks, looks)
        hit = (looks.outcome == PRIME).astype(np.float64)
        overall = (hit.sum() + 0.5) / (len(hit) + 10.0)
        count = np.bincount(kind, minlength=3)
        hits = np.bincount(kind, weights=hit, minlength=3)
        self.rates = (hits + BIN_PRIOR_LOOKS * overall) / (count + BIN_PRIOR_LOOKS)

    def chance(self, looks: Looks, before: Looks) -> FloatArray:
        """See `Baseline`."""
        rates: FloatArray = self.rates[_last_year(looks, before)]
        return rates


@dataclass(slots=True)
class RainRule:
    """25 mm of rain 7 to 21 days ago, inside the taxon's window: the share of hits with and without.

    ``rained`` maps (season, day number) to whether the rule's rain fell; unknown days count as dry.
    """

    rained: Mapping[tuple[int, int], bool]
    window: tuple[float, float] = (0.0, 0.0)
    rates: FloatArray = field(default_factory=lambda: np.zeros(0))

    def learn(self, looks: Looks) -> None:
        """See `Baseline`."""
        hit = looks.outcome == PRIME
        days = looks.day[hit] if hit.sum() >= 3 else looks.day
        middle, width = float(np.mean(days)), WINDOW_SDS * max(float(np.std(days)), 5.0)
        self.window = (middle - width, middle + width)
        kind = self._kind(looks)
        overall = (hit.sum() + 0.5) / (len(hit) + 10.0)
        hits = np.bincount(kind, weights=hit.astype(np.float64), minlength=3)
        count = np.bincount(kind, minlength=3)
        self.rates = (hits + BIN_PRIOR_LOOKS * overall) / (count + BIN_PRIOR_LOOKS)

    def chance(self, looks: Looks, before: Looks) -> FloatArray:  # noqa: ARG002
        """See `Baseline`."""
        rates: FloatArray = self.rates[self._kind(looks)]
        return rates

    def _kind(self, looks: Looks) -> IntArray:
        inside = (looks.day >= self.window[0]) & (looks.day <= self.window[1])
        wet = np.array(
            [
                self.rained.get((s, d), False)
                for s, d in zip(looks.season.tolist(), looks.day.tolist(), strict=True)
            ],
            dtype=bool,
        )
        return np.where(inside, np.where(wet, 2, 1), 0).astype(np.intp)


def rule_rain(rain_mm: FloatArray) -> BoolArray:
    """True (days,) where at least 25 mm fell 7 to 21 days before."""
    total = np.concatenate([[0.0], np.cumsum(np.nan_to_num(rain_mm))])
    at = np.arange(len(rain_mm))
    low, high = np.maximum(at - RAIN_TO_DAYS, 0), np.maximum(at - RAIN_FROM_DAYS + 1, 0)
    wet: BoolArray = total[high] - total[low] >= RAIN_MM
    return wet


def _last_year(looks: Looks, known: Looks) -> IntArray:
    """0 where nobody looked at the spot at that time last year, 1 where it gave nothing, 2 where prime."""
    key = _moment(known.spot, known.season, known.day)
    order = np.argsort(key)
    hits = np.concatenate([[0], np.cumsum(known.outcome[order] == PRIME)])
    then = _moment(looks.spot, looks.season - 1, looks.day)
    first = np.searchsorted(key[order], then - SAME_DATE_DAYS)
    after = np.searchsorted(key[order], then + SAME_DATE_DAYS, side="right")
    return np.where(after > first, np.where(hits[after] > hits[first], 2, 1), 0).astype(np.intp)


def _moment(spot: IntArray, season: IntArray, day: IntArray) -> IntArray:
    """One number for spot, season and day; seasons lie further apart than the days that count as the same."""
    return (spot * 10_000 + season) * 1_000 + day
