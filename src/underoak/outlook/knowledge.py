"""What is known of one taxon when a forecast is made: the book, moved by what was learned."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import exp, log, sqrt
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from underoak.errors import NoAnswer
from underoak.outlook.learned import Learned
from underoak.outlook.memory import inhabited_chances
from underoak.outlook.parameters import WIDTHS
from underoak.outlook.season_prior import PLACE_SHARE, SEASON_SHARE, SPOT_SHARE, Onset, onset_prior

if TYPE_CHECKING:
    from underoak.model.book import Memory, Season
    from underoak.outlook.drivers import Climate
    from underoak.outlook.taxon_outlook import Forecastable, Spots

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.intp]


#: Parameters whose uncertainty widens the interval; the terms of weather are added.
DOUBTED = ("log_prime", "log_spread", "detection")


@dataclass(frozen=True, slots=True)
class Knowledge:
    """The book's blocks of one taxon, and what was learned (None: nothing yet)."""

    taxon: Forecastable
    season: Season
    memory: Memory
    learned: Learned | None = None

    @property
    def detection(self) -> float:
        """Chance that a thorough look shows a prime flush."""
        return _moved(self.memory.detection, self._mean("detection"))

    @property
    def returns(self) -> float:
        """Mean chance that an inhabited spot fruits in a season."""
        return _moved(self.memory.returns, self._mean("returns"))

    def inhabited(self, spots: Spots, looked: IntArray) -> FloatArray:
        """Chance (spots,) that the taxon lives at each spot, before any look at it.

        What was learned of it holds for spots the household chose to look at, at positions ``looked``
        (any shape); a tree from an inventory keeps the book's chance, for nobody chose it.
        """
        chances = inhabited_chances(self.memory, self.taxon.habitat, spots.host_groups, spots.diameters_cm)
        at = np.unique(looked)
        odds = chances[at] / (1.0 - chances[at]) * exp(self._mean("inhabited"))
        chances[at] = odds / (1.0 + odds)
        return chances

    def onset(self, climate: Climate, season: int, place_id: str) -> Onset:
        """Onset at any spot of a place in a season: the book's, moved and narrowed by what was learned.

        What was learned of the season is used where the season was in the fit; effects nobody has seen
        keep the prior's width.
        """
        frost = climate.of(season).frost
        book = onset_prior(
            self.season, latitude_deg=climate.latitude_deg, elevation_m=climate.elevation_m, frost=frost
        )
        if self.learned is None:
            return book
        place = f"place:{place_id}"
        shift, variance = self.learned.total(["timing", place])
        variance += (SPOT_SHARE * self.season.sd_days) ** 2
        if not self.learned.knows(place):
            variance += (PLACE_SHARE * self.season.sd_days) ** 2
        season_name = f"season:{season}"
        season_sd = book.season_sd
        if self.learned.knows(season_name):
            season_shift, season_variance = self.learned.total([season_name])
            shift += season_shift
            anchor = max(book.season_sd**2 - (SEASON_SHARE * self.season.sd_days) ** 2, 0.0)
            season_sd = sqrt(season_variance + anchor)
        scale = exp(self._mean("log_prime"))
        return replace(
            book,
            mean_day=book.mean_day + shift,
            residual_sd=book.residual_sd * exp(self._mean("log_spread")),
            season_sd=season_sd,
            own_sd=sqrt(variance),
            young_days=max(book.young_days * scale, 1.0),
            prime_days=max(book.prime_days * scale, 1.0),
            term_effects=self.term_effects,
        )

    @property
    def term_effects(self) -> tuple[tuple[str, float], ...]:
        """Weather terms that are switched on, with their effect on the log of the daily hazard."""
        if self.learned is None:
            return ()
        return tuple((name, self.learned.mean(f"term:{name}")) for name in self.learned.terms)

    def doubts(self) -> list[Knowledge]:
        """The same moved by one standard deviation in each direction in which its parameters are uncertain.

        Of how long a flush is prime, how far flushes spread, how well looks show them, and the weather terms
        that are on: with the covariance of what was learned, else the width of the book's prior. The timing
        has its own points, and memory its own spread.
        """
        names = (*DOUBTED, *(f"term:{name}" for name, _ in self.term_effects))
        learned = self.learned or _nothing(self.taxon.id)
        covariance = np.diag([WIDTHS.get(name, 0.0) ** 2 for name in names])
        here = [n for n, name in enumerate(names) if learned.knows(name)]
        there = [learned.names.index(names[n]) for n in here]
        covariance[np.ix_(here, here)] = learned.covariance[np.ix_(there, there)]
        values, vectors = np.linalg.eigh(covariance)
        steps = (vectors * np.sqrt(np.maximum(values, 0.0))).T
        return [
            replace(self, learned=learned.moved(dict(zip(names, step.tolist(), strict=True))))
            for step in steps
            if np.abs(step).max() > 0.0
        ]

    def region(self) -> tuple[float, float]:
        """Mean and standard deviation of how far reports of the region stand from the book, days."""
        width = PLACE_SHARE * self.season.sd_days
        if self.learned is None or not self.learned.knows("region"):
            return 0.0, width
        mean, variance = self.learned.total(["region"])
        return mean, min(sqrt(variance), width)

    def _mean(self, name: str) -> float:
        return self.learned.mean(name) if self.learned is not None else 0.0


def knowledge_of(taxon: Forecastable, learned: Learned | None = None) -> Knowledge:
    """What is known of a taxon.

    Raises
    ------
    NoAnswer   when the book has no season or memory for it
    """
    if taxon.season is None or taxon.memory is None:
        raise NoAnswer(
            f"the book has no season or memory for {taxon.id}, so nothing can be said of its days",
            remedy="add the blocks season and memory to its file in book/taxa",
        )
    return Knowledge(taxon, taxon.season, taxon.memory, learned)


def _nothing(taxon_id: str) -> Learned:
    """What is learned of a taxon before any learning."""
    return Learned(taxon_id, (), np.zeros(0), np.zeros((0, 0)), (), 0, 0)


def _moved(chance: float, offset: float) -> float:
    return 1.0 / (1.0 + exp(-log(chance / (1.0 - chance)) - offset))
