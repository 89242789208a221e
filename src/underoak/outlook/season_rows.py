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


def season_evidence(
    onsets: Sequence[Onset],
    weather: Sequence[SeasonWeather],
    looks: Looks,
    row_of_look: IntArray,
    *,
    detection: float,
) -> tuple[FloatArray, FloatArray]:
    """Log-likelihood of all looks of each row if the spot fruited in its season, and if it did not.

    The first has shape (rows, own points), the second (rows,). The season's timing is summed out for each
    row on its own.
    """
    points = timing_points()
    if not onsets:
        return np.zeros((0, OWN_POINTS)), np.zeros(0)
    last = np.array([int(looks.day[-1])], dtype=np.intp)
    filtered = _filtered(
        onsets, weather, looks, row_of_look[:, None], last, points=points, detection=detection
    )
    fruited = filtered.fruited.reshape(-1, SEASON_POINTS, OWN_POINTS) + season_weights()[:, None]
    return np.logaddexp.reduce(fruited, axis=1), filtered.blank.reshape(fruited.shape)[:, 0, 0]


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
    evidence = Evidence(
        chain=(rows_of_look[:, :, None] * n + np.arange(n)).ravel(),
        day=np.repeat(looks.day, times),
        by_state=np.repeat(by_state, times, axis=0),
        idle=np.repeat(idle, times),
    )
    return filter_states(_chains(onsets, weather, points, int(wanted[-1]) + 1), evidence, wanted)


def _chains(onsets: Sequence[Onset], weather: Sequence[SeasonWeather], points: Points, days: int) -> Chains:
    """Chains (rows * points) to the last wanted day; rows of one onset and weather are reckoned once."""
    n = len(points.season)
    pairs: dict[tuple[int, int], int] = {}
    kinds = [pairs.setdefault((id(o), id(w)), len(pairs)) for o, w in zip(onsets, weather, strict=True)]
    first = [kinds.index(kind) for kind in range(len(pairs))]
    some, their_weather = [onsets[row] for row in first], [weather[row] for row in first]
    columns = np.array(
        [(o.mean_day, o.season_sd, o.own_sd, o.residual_sd, o.young_days, o.prime_days) for o in some],
        dtype=np.float64,
    )
    mean = columns[:, :1] + columns[:, 1:2] * points.season + columns[:, 2:3] * points.own
    onset = onset_hazard(mean.ravel(), np.repeat(columns[:, 3], n), days)
    if any(o.term_effects for o in some):
        push = np.stack([_push(o, w, days) for o, w in zip(some, their_weather, strict=True)], axis=1)
        onset = 1.0 - np.power(1.0 - onset, np.exp(np.repeat(push, n, axis=1)))
    warmth = np.stack([w.warmth[:days] for w in their_weather], axis=1)
    freeze = np.stack([w.hard_freeze[:days] for w in their_weather], axis=1)
    ageing = ageing_chance(columns[:, 5], warmth, freeze)
    kind = np.array(kinds)
    of_chain = (kind[:, None] * n + np.arange(n)).ravel()
    return Chains(onset[:, of_chain], np.repeat(1.0 / columns[kind, 4], n), ageing[:, np.repeat(kind, n)])


def _push(onset: Onset, weather: SeasonWeather, days: int) -> FloatArray:
    """Sum (days,) of the weather terms on the log of the daily hazard."""
    terms = weather.terms_named([name for name, _ in onset.term_effects])
    push: FloatArray = terms[:days] @ np.array([effect for _, effect in onset.term_effects])
    return push
