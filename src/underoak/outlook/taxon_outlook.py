"""The outlook of one taxon over all spots."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Protocol

import numpy as np
import numpy.typing as npt

from underoak.outlook.season_engine import SeasonEngine, ways_on

if TYPE_CHECKING:
    from underoak.model.book import Habitat, Memory, Season, Weight
    from underoak.model.ground import Spot
    from underoak.outlook.drivers import Climate
    from underoak.outlook.knowledge import Knowledge
    from underoak.outlook.looks import Looks
    from underoak.outlook.reports import ReportDays
    from underoak.outlook.season_rows import Belief
    from underoak.outlook.weather_terms import Bound

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.intp]


class Forecastable(Protocol):
    """What the outlook needs of a taxon of the book."""

    @property
    def id(self) -> str:
        """Key of the taxon."""

    @property
    def season(self) -> Season | None:
        """When it fruits."""

    @property
    def memory(self) -> Memory | None:
        """How its spots behave over the years."""

    @property
    def habitat(self) -> Habitat:
        """Where it grows."""

    @property
    def weight(self) -> Weight | None:
        """What a prime flush weighs."""


@dataclass(frozen=True, slots=True)
class Spots:
    """Spots as columns, for many taxa at once; ``place`` (spots,) is a position in ``place_ids``."""

    ids: tuple[str, ...]
    position: Mapping[str, int]
    host_groups: tuple[str, ...]
    diameters_cm: FloatArray
    place_ids: tuple[str, ...]
    place: IntArray


def spot_columns(spots: Sequence[Spot]) -> Spots:
    """Columns of the spots, in their order."""
    place_ids = tuple(dict.fromkeys(spot.place_id for spot in spots))
    number = {place_id: n for n, place_id in enumerate(place_ids)}
    return Spots(
        ids=tuple(spot.id for spot in spots),
        position={spot.id: n for n, spot in enumerate(spots)},
        host_groups=tuple(spot.host_group for spot in spots),
        diameters_cm=np.array(
            [np.nan if spot.diameter_cm is None else spot.diameter_cm for spot in spots], dtype=np.float64
        ),
        place_ids=place_ids,
        place=np.array([number[spot.place_id] for spot in spots], dtype=np.intp),
    )


@dataclass(frozen=True, slots=True)
class TaxonChances:
    """Chance of prime (spots, wanted days), the spread of its logit, and the chance to fruit this season.

    ``logit_down`` and ``logit_up``, 0 or more, are how far the logit may lie below and above because gaps
    in the rain leave the ground open.
    """

    prime: FloatArray
    logit_sd: FloatArray
    active: FloatArray
    logit_down: FloatArray | float = 0.0
    logit_up: FloatArray | float = 0.0


def taxon_chances(
    known: Knowledge,
    spots: Spots,
    season: int,
    wanted: IntArray,
    *,
    climates: Mapping[str, Climate],
    looks: Looks,
    reports: ReportDays | None = None,
    with_interval: bool = True,
) -> TaxonChances:
    """Chance of prime of one taxon at every spot on the wanted days of a season; see `forecast.chance_table`.

    ``looks`` may hold all seasons; those after the last wanted day are not used. Without an interval, which
    takes most of the time, the spread is 0.

    Method for the spread: over the points of the timing and the ways on of the weather; from what is not
    known of the spot's memory; and from the parameters, one step of each deviation (`Knowledge.doubts`).
    Where a weather term is on and this season's rain has gaps, the same chance again on the driest and the
    wettest ground that they leave open.
    """
    until = (looks.season < season) | ((looks.season == season) & (looks.day <= wanted[-1]))
    looks = looks.where(until)
    engine = SeasonEngine(known, spots, climates)
    before = engine.recalled(looks.where(looks.season < season), looks.spot)
    ways = ways_on({p: climates[p] for p in spots.place_ids}, season, int(wanted[-1]))

    def believed(by: Knowledge, ways: Sequence[Mapping[str, Climate]]) -> tuple[IntArray, Belief]:
        asked = replace(engine, known=by)
        return asked.this_season(looks, season, wanted, before=before, reports=reports, ways=ways)

    row, belief = believed(known, ways)
    chance, spread = belief.over_ways(belief.active * belief.prime)
    fruits, _ = belief.over_ways(belief.active)
    own = np.where(row < len(spots.place_ids), before.mean_active, 1.0)[:, None]
    prime, active = _within(own * chance[row]), own * fruits[row]
    if not with_interval:
        return TaxonChances(prime, np.zeros_like(prime), active)
    first_way = chance if len(ways) == 1 else _prime(believed(known, ways[:1])[1])
    moved = [_prime(believed(by, ways[:1])[1]) - first_way for by in known.doubts()]
    spread = np.sqrt(np.square([spread, *moved]).sum(axis=0))
    log_sd = np.hypot(
        (1.0 - active) * before.active_logit_sd[:, None], spread[row] / np.maximum(chance[row], 1e-12)
    )
    answer = TaxonChances(prime, log_sd / (1.0 - prime), active)
    terms = [name for name, _ in known.term_effects]
    if not terms or not any(c.of(season).open_by(int(wanted[-1]), terms) for w in ways for c in w.values()):
        return answer
    bounds: tuple[Bound, ...] = ("_low", "_high")
    dry_wet = [
        own * _prime(believed(known, [_at_bound(way, season, bound) for way in ways])[1])[row]
        for bound in bounds
    ]
    return _opened(answer, dry_wet)


def _prime(belief: Belief) -> FloatArray:
    return belief.over_ways(belief.active * belief.prime)[0]


def _at_bound(way: Mapping[str, Climate], season: int, bound: Bound) -> dict[str, Climate]:
    return {place_id: climate.at_bound(season, bound) for place_id, climate in way.items()}


def _opened(answer: TaxonChances, chances: Sequence[FloatArray]) -> TaxonChances:
    """The answer with how far below and above it other chances lie."""
    apart = [_logit(_within(chance)) - _logit(answer.prime) for chance in chances]
    down, up = np.minimum.reduce(apart), np.maximum.reduce(apart)
    return replace(answer, logit_down=np.maximum(-down, 0.0), logit_up=np.maximum(up, 0.0))


def _within(chance: FloatArray) -> FloatArray:
    """Never quite 0 or 1."""
    return np.clip(chance, 1e-9, 1.0 - 1e-9)


def _logit(chance: FloatArray) -> FloatArray:
    odds: FloatArray = np.log(chance) - np.log1p(-chance)
    return odds
