"""Stacks of seasons at spots: one chain for each spot, season and point of the unknown timing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from underoak.outlook.flush_model import (
    Chains,
    Evidence,
    Filtered,
    ageing_chance,
    filter_states,
    look_passes,
    onset_hazard,
)
from underoak.outlook.looks import outcome_chances

if TYPE_CHECKING:
    from underoak.outlook.drivers import SeasonWeather
    from underoak.outlook.looks import Looks
    from underoak.outlook.season_prior import Onset

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.intp]

#: Gauss-Hermite points for the timing that a season shares, and for what a place and spot keep.
SEASON_POINTS, OWN_POINTS = 5, 3


@dataclass(frozen=True, slots=True)
class Points:
    """Points of the unknown timing as standard scores (points,), the own ones running fastest."""

    season: FloatArray
    own: FloatArray


@dataclass(frozen=True, slots=True)
class Belief:
    """What is believed of each row on wanted days, point by point.

    Shapes (rows, points, wanted days). ``weight`` sums to 1 over points; given a point, ``active`` is the
    chance that the spot fruits this season and ``prime`` that a prime flush stands if it does.
    ``before`` (looks, points, 4) holds the states before each look, with the first of the ways on.
    ``way_weight`` (ways, wanted days) sums to 1: how well each way on of the weather fits the looks.
    """

    weight: FloatArray
    active: FloatArray
    prime: FloatArray
    before: FloatArray
    way_weight: FloatArray

    def mean(self, values: FloatArray) -> FloatArray:
        """Mean (rows, wanted days) of values (rows, points, wanted days) over the points."""
        total: FloatArray = (self.weight * values).sum(axis=1)
        return total

    def spread(self, values: FloatArray) -> FloatArray:
        """Standard deviation (rows, wanted days) of values over the points."""
        apart = values - self.mean(values)[:, None]
        deviation: FloatArray = np.sqrt((self.weight * apart**2).sum(axis=1))
        return deviation

    def over_ways(self, values: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Mean and standard deviation (rows of a way, wanted days) over the points and the ways on."""
        ways = len(self.way_weight)
        shape = (ways, len(self.weight) // ways, values.shape[2])
        means, spreads = self.mean(values).reshape(shape), self.spread(values).reshape(shape)
        weight = self.way_weight[:, None]
        mean = (weight * means).sum(axis=0)
        return mean, np.sqrt((weight * (spreads**2 + (means - mean) ** 2)).sum(axis=0))


@cache
def normal_points(count: int) -> tuple[FloatArray, FloatArray]:
    """Gauss-Hermite standard scores and log weights (count,) that stand for a normal; read only."""
    scores, weight = np.polynomial.hermite_e.hermegauss(count)
    logs = np.log(weight / weight.sum())
    scores.flags.writeable = logs.flags.writeable = False
    return scores, logs


def own_points() -> tuple[FloatArray, FloatArray]:
    """Standard scores and log weights (own points,) of what a spot keeps of its timing."""
    return normal_points(OWN_POINTS)


def season_weights() -> FloatArray:
    """Log weights (season points,) of what all spots of a season share of its timing."""
    return normal_points(SEASON_POINTS)[1]


def timing_points() -> Points:
    """All pairs of the season's and the own points."""
    season = normal_points(SEASON_POINTS)[0]
    return Points(np.repeat(season, OWN_POINTS), np.tile(own_points()[0], SEASON_POINTS))


def season_belief(
    onsets: Sequence[Onset],
    weather: Sequence[SeasonWeather],
    looks: Looks,
    row_of_look: IntArray,
    wanted: IntArray,
    *,
    detection: float,
    active: FloatArray,
    own_weight: FloatArray,
    season_says: FloatArray,
    ways: int = 1,
) -> Belief:
    """Filter all rows of one season together: what one spot shows of the season counts at the others.

    Parameters
    ----------
    onsets, weather : (rows,)
        Prior of the onset and weather of each row; equal records may be the same object.
    looks, row_of_look : (looks,)
        Looks sorted by day, and the row each belongs to.
    wanted : (wanted days,), ascending season day numbers
    detection : chance 0 to 1
        That a thorough look shows a prime flush.
    active, own_weight : (rows, own points)
        Chance that the spot fruits this season, 1 for rows without looks, and log weight of each point of
        its own timing, both from the seasons before.
    season_says : (season points, wanted days), natural logarithm
        What else is known of the season's timing at its points, as a log-likelihood (others' reports).
    ways : int
        Rows come in so many blocks of equal length, one for each way the weather may go on; looks, rows
        of looks, ``active`` and ``own_weight`` are given once and hold for all.

    Method
    ------
    Given the season's timing (k) and the row's own (l): M = active L1 + (1 - active) L0. The season's
    points weigh w_k * says_k * prod over rows (sum_l v_l M_kl); within a season's point, the own points of
    a row weigh v_l M_kl. A way on weighs the sum of its season's points. All hold for every wanted day,
    with the looks up to it.
    """
    points = timing_points()
    rows = len(onsets) // ways
    every_row = row_of_look[:, None] + rows * np.arange(ways)
    filtered = _filtered(onsets, weather, looks, every_row, wanted, points=points, detection=detection)
    active, own_weight = np.tile(active, (ways, 1)), np.tile(own_weight, (ways, 1))
    shape = (len(onsets), SEASON_POINTS, OWN_POINTS, len(wanted))
    fruited, blank = filtered.fruited.reshape(shape), filtered.blank.reshape(shape)
    with np.errstate(divide="ignore"):
        bears = np.log(active)[:, None, :, None] + fruited
        idles = np.log1p(-active)[:, None, :, None] + blank
    total = np.logaddexp(bears, idles)
    cells = total + own_weight[:, None, :, None]
    by_season = np.logaddexp.reduce(cells, axis=2)
    season = by_season.reshape(ways, rows, *by_season.shape[1:]).sum(axis=1)
    season += season_weights()[:, None] + season_says
    way = np.logaddexp.reduce(season, axis=1)
    season -= way[:, None]
    weight = np.exp(cells - by_season[:, :, None] + np.repeat(season, rows, axis=0)[:, :, None])
    flat = (len(onsets), len(points.season), len(wanted))
    return Belief(
        weight=weight.reshape(flat),
        active=np.exp(bears - total).reshape(flat),
        prime=filtered.states[:, :, 2].reshape(flat),
        before=filtered.before.reshape(len(row_of_look), ways, len(points.season), 4)[:, 0],
        way_weight=np.exp(way - np.logaddexp.reduce(way, axis=0)),
    )


def _filtered(
    onsets: Sequence[Onset],
    weather: Sequence[SeasonWeather],
    looks: Looks,
    rows_of_look: IntArray,
    wanted: IntArray,
    *,
    points: Points,
    detection: float,
) -> Filtered:
    """Filter the rows; each look counts at all its rows (looks, rows of a look)."""
    by_state, idle = outcome_chances(looks, detection)
    n = len(points.season)
    times = n * rows_of_look.shape[1]
    by_row = Evidence(rows_of_look[:, 0], looks.day, by_state, idle)
    passes = {  # a pass holds each row at most once, hence each of its chains
        day: [(some[:, None] * times + np.arange(times)).ravel() for some in groups]
        for day, groups in look_passes(by_row).items()
    }
    evidence = Evidence(
        chain=(rows_of_look[:, :, None] * n + np.arange(n)).ravel(),
        day=np.repeat(looks.day, times),
        by_state=np.repeat(by_state, times, axis=0),
        idle=np.repeat(idle, times),
    )
    pairs: dict[tuple[int, int], int] = {}
    kinds = [pairs.setdefault((id(o), id(w)), len(pairs)) for o, w in zip(onsets, weather, strict=True)]
    kind, (_, first) = np.array(kinds), np.unique(kinds, return_index=True)
    chains = chains_of_kinds(
        [onsets[row] for row in first], [weather[row] for row in first], points, int(wanted[-1]) + 1
    )
    of_chain = (kind[:, None] * n + np.arange(n)).ravel()
    rows = Chains(chains.onset[:, of_chain], chains.ripening[of_chain], chains.ageing[:, of_chain])
    return filter_states(rows, evidence, wanted, passes)


def chains_of_kinds(
    onsets: Sequence[Onset], weather: Sequence[SeasonWeather], points: Points, days: int
) -> Chains:
    """Chains (kinds * points) of so many days for the onset and weather (kinds,) of each kind of row."""
    n = len(points.season)
    columns = np.array(
        [(o.mean_day, o.season_sd, o.own_sd, o.residual_sd, o.young_days, o.prime_days) for o in onsets],
        dtype=np.float64,
    )
    mean = columns[:, :1] + columns[:, 1:2] * points.season + columns[:, 2:3] * points.own
    onset = onset_hazard(mean.ravel(), np.repeat(columns[:, 3], n), days)
    if any(o.term_effects for o in onsets):
        push = np.stack([_push(o, w, days) for o, w in zip(onsets, weather, strict=True)], axis=1)
        onset = 1.0 - np.power(1.0 - onset, np.exp(np.repeat(push, n, axis=1)))
    warmth = np.stack([w.warmth[:days] for w in weather], axis=1)
    freeze = np.stack([w.hard_freeze[:days] for w in weather], axis=1)
    ageing = ageing_chance(columns[:, 5], warmth, freeze)
    return Chains(onset, np.repeat(1.0 / columns[:, 4], n), np.repeat(ageing, n, axis=1))


def _push(onset: Onset, weather: SeasonWeather, days: int) -> FloatArray:
    """Sum (days,) of the weather terms on the log of the daily hazard."""
    terms = weather.terms_named([name for name, _ in onset.term_effects])
    push: FloatArray = terms[:days] @ np.array([effect for _, effect in onset.term_effects])
    return push
