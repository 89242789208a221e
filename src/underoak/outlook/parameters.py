"""What is learned of one taxon: names, order and priors of the parameters."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from underoak.outlook.season_prior import PLACE_SHARE, SEASON_SHARE

if TYPE_CHECKING:
    from underoak.model.book import Season

FloatArray = npt.NDArray[np.float64]

#: Parameters every taxon has, with the standard deviation of their normal prior around the book's value
#: (own judgement, wide): logit of inhabited, logit of returns, log of the spread of onsets, log of prime
#: days, logit of detection. ``timing`` and ``region`` are in days, their priors follow the taxon's spread.
WIDTHS = {"inhabited": 1.0, "returns": 0.7, "log_spread": 0.25, "log_prime": 0.3, "detection": 0.6}
#: Prior of a weather term: per standard deviation of the term, on the log of the daily hazard.
TERM_SD = 0.3
#: How far the book may be off in its timing, as a share of the records' standard deviation.
TIMING_SHARE = 0.3
COMMON = ("inhabited", "returns", "timing", "log_spread", "log_prime", "detection", "region")


@dataclass(frozen=True, slots=True)
class Layout:
    """Order of a parameter vector, and its prior: independent normals around 0.

    First `COMMON`, then one timing effect in days for each place and season, then the weather terms.
    ``prior_sd`` has shape (parameters,). What a spot keeps of its own timing is summed out, not learned.
    """

    places: tuple[str, ...]
    seasons: tuple[int, ...]
    terms: tuple[str, ...]
    prior_sd: FloatArray

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the parameters: the common ones, ``place:x``, ``season:2024``, ``term:x``."""
        groups: tuple[tuple[str, Sequence[object]], ...] = (
            ("place", self.places),
            ("season", self.seasons),
            ("term", self.terms),
        )
        return (*COMMON, *(f"{group}:{key}" for group, keys in groups for key in keys))

    def start(self, group: str) -> int:
        """Position of the first parameter of a group: place, season or term."""
        sizes = {"place": len(self.places), "season": len(self.seasons), "term": 0}
        position = len(COMMON)
        for name, size in sizes.items():
            if name == group:
                return position
            position += size
        raise ValueError(f"no group {group!r}")


def layout(
    season: Season,
    *,
    places: Sequence[str],
    seasons: Sequence[int],
    terms: Sequence[str] = (),
) -> Layout:
    """Layout and prior for one taxon, from its season block and what its record holds."""
    sd = season.sd_days
    common = [WIDTHS.get(name, 0.0) for name in COMMON]
    common[COMMON.index("timing")] = TIMING_SHARE * sd
    common[COMMON.index("region")] = PLACE_SHARE * sd
    prior = [
        *common,
        *[PLACE_SHARE * sd] * len(places),
        *[SEASON_SHARE * sd] * len(seasons),
        *[TERM_SD] * len(terms),
    ]
    return Layout(tuple(places), tuple(seasons), tuple(terms), np.array(prior))
