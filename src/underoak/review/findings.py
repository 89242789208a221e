"""Everything the review worked out, in one record."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from underoak.review.calibration import Calibration
from underoak.review.catch_rate import CatchRate, PlaceContrast
from underoak.review.colour import ColourTest
from underoak.review.expectation import Expectation
from underoak.review.kitchen_losses import Fate
from underoak.review.lateness import FromFrost, Lateness
from underoak.review.own_yields import OwnYield
from underoak.review.side_of_tree import SideOfTree
from underoak.review.skipped_checks import SkippedChecks
from underoak.review.tree_memory import TreeMemory
from underoak.review.weather_answer import WeatherAnswer


@dataclass(frozen=True, slots=True)
class Rates:
    """Rates of one season: by place and taxon, and by place, taxon, month and party alone."""

    by_place_and_taxon: tuple[CatchRate, ...]
    by_place: tuple[CatchRate, ...]
    by_taxon: tuple[CatchRate, ...]
    by_month: tuple[CatchRate, ...]
    by_party: tuple[CatchRate, ...]


@dataclass(frozen=True, slots=True)
class TaxonSide:
    """Sides of the trunk over all finds of a taxon whose side was noted, one for each spot and season."""

    taxon_id: str
    bearings_deg: tuple[float, ...]
    side: SideOfTree


@dataclass(frozen=True, slots=True)
class Findings:
    """What the ledger up to the end of ``season`` has to say.

    ``rates`` and ``fates`` are of the season, ``before`` of the season before it; all else rests on every
    season up to it. ``weather_words`` say why no weather was tried, empty where it was.
    """

    season: int
    rates: Rates
    before: Rates
    places: tuple[PlaceContrast, ...]
    walks: Expectation
    weeks: Expectation
    lateness: tuple[Lateness, ...]
    frost: tuple[FromFrost, ...]
    weather: tuple[WeatherAnswer, ...]
    weather_words: str
    trees: tuple[TreeMemory, ...]
    sides: tuple[TaxonSide, ...]
    colours: tuple[ColourTest, ...]
    forecasts: Calibration
    checks: SkippedChecks
    fates: tuple[Fate, ...]
    yields: tuple[OwnYield, ...]


@dataclass(frozen=True, slots=True)
class Names:
    """Ids to the words a person knows them by; what is not listed keeps its id."""

    words: Mapping[str, str]

    def __call__(self, key: str) -> str:
        """The name behind an id."""
        return self.words.get(key, key)
