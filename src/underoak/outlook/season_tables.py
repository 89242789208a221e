"""Daily ground laid out by season, one row a season from 1 March."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from underoak.outlook.season import AUTUMN_STARTS, SEASON_DAYS, season_of
from underoak.outlook.weather_terms import Bound, term_days

if TYPE_CHECKING:
    from underoak.weather.ground_state import GroundState

FloatArray = npt.NDArray[np.float64]

#: Fewest seasons that make a climate of the place's own.
FEWEST_SEASONS = 3
#: Days without a reading before the first frost that make an autumn useless (utah_climate_center, seen).
_MOST_MISSING_DAYS = 10


@dataclass(frozen=True, slots=True)
class SeasonTables:
    """Ground by season: (seasons, 366), and terms (seasons, 366, terms); NaN where nothing is known.

    ``dry`` and ``wet`` are the terms at the bounds that gaps in the rain leave open.
    """

    seasons: list[int]
    hard_freeze: FloatArray
    soil_c: FloatArray
    frost: FloatArray
    terms: FloatArray
    dry: FloatArray
    wet: FloatArray

    def carried_on_by(self, season: int, later: SeasonTables) -> SeasonTables:
        """One season of this table, its days after the last known one taken from another."""
        here, there = self.seasons.index(season), later.seasons.index(season)
        after = np.arange(SEASON_DAYS) > last_known(self.soil_c[here])

        def row(name: str) -> FloatArray:
            mine, other = getattr(self, name), getattr(later, name)
            mask = after if mine.ndim == 2 else after[:, None]
            joined: FloatArray = np.where(mask, other[there], mine[here])[None]
            return joined

        columns = ("hard_freeze", "soil_c", "frost", "terms", "dry", "wet")
        return SeasonTables([season], *(row(name) for name in columns))


def season_tables(ground: GroundState) -> SeasonTables:
    """The tables of a ground."""
    first_day = ground.first_day
    seasons, freezes = season_table(first_day, ground.hard_freeze.astype(np.float64))
    frost = np.where(ground.filled & ~ground.forecast, np.nan, ground.frost)
    bounds: tuple[Bound, ...] = ("", "_low", "_high")
    terms, dry, wet = (
        np.stack([season_table(first_day, v)[1] for v in term_days(ground, bound).values()], axis=2)
        for bound in bounds
    )
    return SeasonTables(
        seasons,
        freezes,
        season_table(first_day, ground.soil_temp_10cm_c)[1],
        season_table(first_day, frost)[1],
        terms,
        dry,
        wet,
    )


def season_table(first_day: date, values: FloatArray) -> tuple[list[int], FloatArray]:
    """Seasons, and a table (seasons, 366) of daily values with NaN where the series has no day."""
    seasons = list(range(season_of(first_day), season_of(first_day + timedelta(days=len(values) - 1)) + 1))
    table = np.full((len(seasons), SEASON_DAYS), np.nan)
    for row, season in enumerate(seasons):
        start = (date(season, 3, 1) - first_day).days
        length = (date(season + 1, 3, 1) - date(season, 3, 1)).days
        low, high = max(start, 0), min(start + length, len(values))
        table[row, low - start : high - start] = values[low:high]
    return seasons, table


def usual_day(table: FloatArray, *, half_window: int = 7) -> FloatArray:
    """Mean (366,) over seasons and ``half_window`` days to both sides; NaN under three seasons of a day."""
    known = np.isfinite(table)
    totals = np.where(known, table, 0.0).sum(axis=0)
    counts = known.sum(axis=0).astype(np.float64)
    kernel = np.ones(2 * half_window + 1)
    wide = np.concatenate([totals[-half_window:], totals, totals[:half_window]])
    wide_counts = np.concatenate([counts[-half_window:], counts, counts[:half_window]])
    total, count = np.convolve(wide, kernel, "valid"), np.convolve(wide_counts, kernel, "valid")
    enough = count >= FEWEST_SEASONS * len(kernel) * 0.9
    return np.where(enough, total / np.maximum(count, 1.0), np.nan)


def first_frost(row: FloatArray) -> int | None:
    """Season day of the first frost after 24 July; None without one, or with too many gaps before it."""
    frosts = np.flatnonzero(row[AUTUMN_STARTS:] == 1.0)
    if not len(frosts):
        return None
    first = AUTUMN_STARTS + int(frosts[0])
    missing = int(np.isnan(row[AUTUMN_STARTS:first]).sum())
    return first if missing <= _MOST_MISSING_DAYS else None


def last_known(row: FloatArray) -> int:
    """Last season day with a value; -1 for none."""
    known = np.flatnonzero(np.isfinite(row))
    return int(known[-1]) if len(known) else -1
