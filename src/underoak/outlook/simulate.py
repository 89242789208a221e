"""Invented worlds whose truth is known: what stood where and when, and what a household saw of it.

A tool for judging the model (are its parameters recovered, do its intervals hold) and for anybody who
wants an invented season: ``invented_world(spots, [habit_of(taxon, climate)], seasons, climates=..., seed=1)``
hands back visits and reports as the ledger would, with the truth beside them. The worlds follow the
model's own story (waiting, young, prime, past) but draw it day by day, without any of its code for
filtering; the same seed gives the same world.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import exp
from typing import TYPE_CHECKING

import numpy as np

from underoak.model.visits import Find, FlushStage, Report, Search, Visit
from underoak.outlook.invented_flushes import Flush, Habit, Truth, habit_of, varied
from underoak.outlook.looks import SHOWS, STAGE_WRITTEN, THOROUGH
from underoak.outlook.season import day_of_season

if TYPE_CHECKING:
    from underoak.model.ground import Spot
    from underoak.outlook.drivers import Climate

__all__ = ["Flush", "Habit", "World", "habit_of", "invented_world", "varied"]

_STAGES: tuple[FlushStage, ...] = ("young", "prime", "past")
#: Season days between which an invented household goes out: 10 August to 25 November.
OUT_FROM, OUT_TO = 162, 269
_LOOKS = np.array([0.3, 0.6, 0.9])


@dataclass(frozen=True, slots=True)
class World:
    """What a household wrote down, and the truth it never sees.

    ``shifts`` maps (taxon id, "place:x" | "season:2024" | "spot:x") to the true shift in days.
    """

    visits: tuple[Visit, ...]
    reports: tuple[Report, ...]
    flushes: tuple[Flush, ...]
    shifts: Mapping[tuple[str, str], float]
    inhabited: frozenset[tuple[str, str]]


def invented_world(
    spots: Sequence[Spot],
    habits: Sequence[Habit],
    seasons: Sequence[int],
    *,
    climates: Mapping[str, Climate],
    seed: int,
    visits_per_season: int = 15,
    reports_per_season: int = 0,
    returns_spread: float = 4.0,
) -> World:
    """Draw a world.

    Parameters
    ----------
    spots : the spots of the household; each visit goes to one place and looks at all spots there
    habits : how each taxon behaves; every spot may carry it with chance ``inhabited``
    seasons : years
    climates : place id -> Climate, for freezing, warmth and weather terms
    seed : any integer
    visits_per_season : outings between 10 August and 25 November
    reports_per_season : dated reports of each taxon from the region, on the season's timing alone
    returns_spread : pseudo-seasons of the beta from which each spot's chance of return is drawn
    """
    rng = np.random.default_rng(seed)
    truth = Truth(spots, seasons, climates, rng, returns_spread)
    for habit in habits:
        truth.grow(habit)
    household = _Household(truth, habits)
    visits = [visit for season in seasons for visit in household.outings(season, visits_per_season)]
    reports = [
        report
        for habit in habits
        for season in seasons
        for report in _reported(truth, habit, season, reports_per_season)
    ]
    return World(
        tuple(visits), tuple(reports), tuple(truth.flushes), truth.shifts, frozenset(truth.inhabited)
    )


class _Household:
    """Goes out, looks, and writes down what it sees."""

    def __init__(self, truth: Truth, habits: Sequence[Habit]) -> None:
        self._rng, self._habits = truth.rng, habits
        self._standing = {(f.spot_id, f.taxon_id, f.season): f for f in truth.flushes}
        places = dict.fromkeys(spot.place_id for spot in truth.spots)
        self._spots = {place: [s for s in truth.spots if s.place_id == place] for place in places}

    def outings(self, season: int, count: int) -> list[Visit]:
        """The visits of one season, in order."""
        places = list(self._spots)
        visits = []
        for number, day in enumerate(np.sort(self._rng.integers(OUT_FROM, OUT_TO, count)).tolist()):
            place = places[int(self._rng.integers(len(places)))]
            searches = [Search(s.id, float(self._rng.choice(_LOOKS))) for s in self._spots[place]]
            name = f"{season}-{number:02d}"
            finds = [find for search in searches for find in self._finds(name, search, season, day)]
            visits.append(
                Visit(
                    name,
                    day_of_season(season, day),
                    place,
                    minutes=20.0 + 10.0 * len(searches),
                    searches=tuple(searches),
                    finds=tuple(finds),
                )
            )
        return visits

    def _finds(self, visit: str, search: Search, season: int, day: int) -> list[Find]:
        finds = []
        for habit in self._habits:
            flush = self._standing.get((search.spot_id, habit.taxon_id, season))
            stage = self._seen(flush, habit, day, search.thoroughness)
            if stage is not None:
                grams = habit.median_g * exp(self._rng.normal(0.0, habit.log_weight_sd))
                name = f"{visit}-{search.spot_id}-{habit.taxon_id}"
                finds.append(Find(name, search.spot_id, habit.taxon_id, stage, None, grams))
        return finds

    def _seen(self, flush: Flush | None, habit: Habit, day: int, thoroughness: float) -> FlushStage | None:
        """The stage that one look writes down, None for nothing."""
        firsts = () if flush is None else (flush.young, flush.prime, flush.past)
        state = sum(day >= first for first in firsts)
        shown = 1.0 - (1.0 - habit.detection * SHOWS[state]) ** (thoroughness / THOROUGH)
        if self._rng.random() >= shown:
            return None
        return _STAGES[int(self._rng.choice(3, p=STAGE_WRITTEN[state]))]


def _reported(truth: Truth, habit: Habit, season: int, count: int) -> list[Report]:
    middle = habit.mean_day + habit.young_days + 0.5 * habit.prime_days
    middle += truth.shifts[habit.taxon_id, f"season:{season}"]
    days = truth.rng.normal(middle, habit.record_sd, count)
    taxon = habit.taxon_id
    return [
        Report(f"r-{taxon}-{season}-{n}", day_of_season(season, day), taxon, taxon, None, None)
        for n, day in enumerate(days)
    ]
