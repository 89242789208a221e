"""What whole seasons of looks weigh: reckoned once for each state of the record."""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from hashlib import blake2b
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from underoak.outlook.flush_model import Evidence
from underoak.outlook.leaps import leap_likelihood
from underoak.outlook.looks import outcome_chances
from underoak.outlook.season_rows import (
    OWN_POINTS,
    SEASON_POINTS,
    chains_of_kinds,
    season_weights,
    timing_points,
)

if TYPE_CHECKING:
    from underoak.outlook.drivers import SeasonWeather
    from underoak.outlook.looks import Looks
    from underoak.outlook.season_prior import Onset

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.intp]

#: Answers kept: those of 30 taxa in some states of their record.
MOST_KEPT = 256


def season_evidence(
    onsets: Sequence[Onset],
    weather: Sequence[SeasonWeather],
    kind: IntArray,
    *,
    looks: Looks,
    row_of_look: IntArray,
    detection: float,
) -> tuple[FloatArray, FloatArray]:
    """Log-likelihood of all looks of each row if the spot fruited in its season, and if it did not.

    Parameters
    ----------
    onsets, weather : (kinds,)
        Prior of the onset and weather of each kind of row, as a place and a season.
    kind, row_of_look : (rows,), (looks,)
        The kind of each row, and the row of each look.
    looks : Looks
        Sorted by day.
    detection : chance 0 to 1
        That a thorough look shows a prime flush.

    Returns
    -------
    Arrays (rows, own points) and (rows,); read only. The season's timing is summed out for each row on its
    own. What was reckoned is kept in memory under a digest of everything it was reckoned from, so that
    seasons that are over cost their weight once.
    """
    if not len(kind):
        return np.zeros((0, OWN_POINTS)), np.zeros(0)
    days = int(looks.day[-1]) + 1

    def reckon() -> tuple[FloatArray, FloatArray]:
        by_state, idle = outcome_chances(looks, detection)
        points = timing_points()
        found = leap_likelihood(
            chains_of_kinds(onsets, weather, points, days),
            kind,
            Evidence(row_of_look, looks.day, by_state, idle),
            points=len(points.season),
        )
        fruited = found.reshape(-1, SEASON_POINTS, OWN_POINTS) + season_weights()[:, None]
        blank = np.bincount(row_of_look, weights=np.log(idle), minlength=len(kind)).astype(np.float64)
        return np.logaddexp.reduce(fruited, axis=1), blank

    digest = blake2b(repr((onsets, days, detection)).encode(), digest_size=20)
    for one, onset in zip(weather, onsets, strict=True):
        for column in (one.warmth, one.hard_freeze, *([one.terms] if onset.term_effects else ())):
            digest.update(np.ascontiguousarray(column[:days]).tobytes())
    for array in (kind, row_of_look, looks.day, looks.outcome, looks.thoroughness):
        digest.update(np.ascontiguousarray(array).tobytes())
    return _kept(digest.digest(), reckon)


_LOCK = threading.Lock()
_KEPT: dict[bytes, tuple[FloatArray, FloatArray]] = {}


def _kept(key: bytes, reckon: Callable[[], tuple[FloatArray, FloatArray]]) -> tuple[FloatArray, FloatArray]:
    """The kept answer of a key, or a new one; the one asked for longest ago makes room."""
    with _LOCK:
        answer = _KEPT.pop(key, None)
    if answer is None:
        answer = reckon()
        for array in answer:
            array.flags.writeable = False
    with _LOCK:
        _KEPT[key] = answer
        while len(_KEPT) > MOST_KEPT:
            del _KEPT[next(iter(_KEPT))]
    return answer
