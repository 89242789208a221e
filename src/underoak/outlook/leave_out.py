"""Forecasts of looks from which their own season was left out: the only fair trial of the model."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from underoak.outlook.baselines import Baseline
from underoak.outlook.fit import fit
from underoak.outlook.knowledge import Knowledge, knowledge_of
from underoak.outlook.looks import NONE, PRIME, Looks, outcome_chances
from underoak.outlook.record import taxon_record
from underoak.outlook.season_engine import SeasonEngine
from underoak.outlook.taxon_outlook import Spots, taxon_chances

if TYPE_CHECKING:
    from underoak.outlook.drivers import Climate
    from underoak.outlook.reports import ReportDays

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.intp]

#: No forecast of a look is held surer than this: one surprise must not outweigh a season.
SUREST = 1e-4
#: A long record is learned anew so many times, not once for each of its seasons.
MOST_FOLDS = 10


@dataclass(frozen=True, slots=True)
class TaxonCase:
    """One taxon with all its looks, as known before any learning."""

    known: Knowledge
    spots: Spots
    climates: Mapping[str, Climate]
    looks: Looks
    reports: ReportDays

    @property
    def seasons(self) -> tuple[int, ...]:
        """Seasons with looks."""
        return tuple(int(season) for season in np.unique(self.looks.season))

    @property
    def hits(self) -> npt.NDArray[np.bool_]:
        """Looks (looks,) that found a prime flush."""
        hits: npt.NDArray[np.bool_] = self.looks.outcome == PRIME
        return hits


def folds(seasons: Sequence[int]) -> list[tuple[int, ...]]:
    """Seasons that are left out together: one by one up to `MOST_FOLDS`, beyond that every so manieth."""
    count = min(len(seasons), MOST_FOLDS)
    return [tuple(seasons[n::count]) for n in range(count)]


def by_model(case: TaxonCase, terms: Sequence[str] = ()) -> FloatArray:
    """Chance (looks,) that each look finds prime, by the model learned from all seasons outside its fold.

    Within the season, looks of earlier days are known, as they are to a household; those of the same day
    are not. With fewer than two other seasons, or without a find in them, the book's values stand.
    """
    chances = np.zeros(len(case.looks.day))
    for fold in folds(case.seasons):
        others = case.looks.where(~np.isin(case.looks.season, fold))
        learned = None
        if len(np.unique(others.season)) >= 2 and (others.outcome != NONE).any():
            reports = case.reports.where(~np.isin(case.reports.season, fold))
            record = taxon_record(
                case.known,
                spots=case.spots,
                looks=others,
                reports=reports,
                climates=case.climates,
                terms=terms,
            )
            learned = fit(case.known.taxon.id, record)  # not begun from a fit that saw the season
        known = knowledge_of(case.known.taxon, learned)
        for season in fold:
            chances[case.looks.season == season] = season_forecast(known, case, season, others)
    return np.clip(chances, SUREST, 1.0 - SUREST)


def season_forecast(known: Knowledge, case: TaxonCase, season: int, others: Looks) -> FloatArray:
    """Chance (looks of the season,) that each look finds prime, from other seasons and earlier days."""
    looks = case.looks.where(case.looks.season == season)
    engine = SeasonEngine(known, case.spots, case.climates)
    wanted = np.unique(np.maximum(looks.day - 1, 0))
    last = np.unique(np.append(wanted, looks.day[-1:]))
    row, belief = engine.this_season(
        looks, season, last, before=engine.recalled(others, case.looks.spot), reports=case.reports
    )
    at = np.searchsorted(last, np.maximum(looks.day - 1, 0))
    mine = row[looks.spot]
    shows, idle = _of_prime(looks, known.detection)
    if_fruits = (belief.before * shows[:, None, :]).sum(axis=2)
    active, weight = belief.active[mine, :, at], belief.weight[mine, :, at]
    chance: FloatArray = (weight * (active * if_fruits + (1.0 - active) * idle[:, None])).sum(axis=1)
    return chance


def by_book(case: TaxonCase) -> FloatArray:
    """Chance (looks,) of finding prime by the book alone: season and host, no memory, no visit."""
    chances = np.zeros(len(case.looks.day))
    nothing = case.looks.where(np.zeros(len(case.looks.day), dtype=bool))
    for season in case.seasons:
        test = np.flatnonzero(case.looks.season == season)
        days = np.unique(case.looks.day[test])
        table = taxon_chances(
            case.known, case.spots, season, days, climates=case.climates, looks=nothing, with_interval=False
        ).prime
        at = np.searchsorted(days, case.looks.day[test])
        shows, _ = _of_prime(case.looks.at(test), case.known.detection)
        chances[test] = table[case.looks.spot[test], at] * shows[:, 2]
    return np.clip(chances, SUREST, 1.0 - SUREST)


def by_baseline(case: TaxonCase, baseline: Baseline) -> FloatArray:
    """Chance (looks,) of finding prime by a plain rule learned from all seasons outside its fold."""
    chances = np.zeros(len(case.looks.day))
    for fold in folds(case.seasons):
        left_out = np.isin(case.looks.season, fold)
        if left_out.all():
            return by_book(case)
        baseline.learn(case.looks.where(~left_out))
        for season in fold:
            test = case.looks.season == season
            before = case.looks.where(case.looks.season == season - 1)
            chances[test] = baseline.chance(case.looks.where(test), before)
    return np.clip(chances, SUREST, 1.0 - SUREST)


def _of_prime(looks: Looks, detection: float) -> tuple[FloatArray, FloatArray]:
    """Chance that each look finds prime: by state (looks, 4) if the spot fruits, and (looks,) if not."""
    return outcome_chances(replace(looks, outcome=np.full_like(looks.outcome, PRIME)), detection)
