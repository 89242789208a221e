"""Frost: which nights froze, the first frost of each autumn, and its chance by date.

A frost season runs from 24 July to 23 July of the next year on the northern half of the earth
(Utah Climate Center, seen), and from 24 January on the southern.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from underoak.errors import NoAnswer

if TYPE_CHECKING:
    import numpy.typing as npt

    from underoak.model.weather import WeatherSeries

    FloatArray = npt.NDArray[np.float64]
    BoolArray = npt.NDArray[np.bool_]
    IntArray = npt.NDArray[np.int64]

#: 36 F, rounded up so that 2.2 in tenths and 36 F exactly both count: ground frost is possible.
GROUND_FROST_C = 2.23
#: 32 F: air frost in the screen, called freeze by the weather service.
FROST_C = 0.0
#: 28 F, rounded up in the same way: hard freeze.
HARD_FREEZE_C = -2.2
#: More missing nights than this before the first frost make a season void (Utah Climate Center, seen).
MOST_MISSING = 10


@dataclass(frozen=True, slots=True)
class FirstFrost:
    """First frost of the season that began in ``year``: its day, or None where no frost came.

    ``valid`` is false where too many nights before it are missing or the season is not over.
    """

    year: int
    day: date | None
    missing: int
    valid: bool


@dataclass(frozen=True, slots=True)
class FrostChance:
    """Chance of the first frost by date, from a station's own years.

    ``years`` valid seasons, of which ``frosted`` had one; mean and standard deviation of the day
    counted from the start of the season.
    """

    years: int
    frosted: int
    mean_days: float
    sd_days: float
    season_start: tuple[int, int]

    def by(self, day: date) -> float:
        """Chance (0 to 1) that the first frost has come on or before ``day``.

        Method: q F(t), q the share of years with frost, F normal.
        Source: Thom and Shaw 1958, from memory.
        """
        days = (day - _season_start_before(day, self.season_start)).days
        z = (days - self.mean_days) / self.sd_days
        return self.frosted / self.years * 0.5 * math.erfc(-z / math.sqrt(2.0))

    def by_if_none_before(self, day: date, today: date) -> float:
        """Chance that the first frost comes by ``day``, when none came up to and on ``today``.

        Method: (q F(t) - q F(today)) / (1 - q F(today)).
        **Fails towards** frost: where every recorded autumn had its frost by today, it counts as due.
        """
        past, then = self.by(today), self.by(day)
        left = 1.0 - past
        return min(max((then - past) / left, 0.0), 1.0) if left > 1e-9 else 1.0

    def days_at(self, chance: float) -> float | None:
        """Days from the start of the season at which the chance is reached, or None where it never is.

        Method: F^-1(p / q), undefined for p >= q. Source: Thom and Shaw 1958, from memory.
        **Fails towards** no date: years without frost never become a date.
        """
        from statistics import NormalDist

        share = chance * self.years / self.frosted if self.frosted else math.inf
        if not 0.0 < share < 1.0:
            return None
        return NormalDist(self.mean_days, self.sd_days).inv_cdf(share)

    def day_at(self, chance: float, season_year: int) -> date | None:
        """Calendar day, in the season that begins in ``season_year``, at which the chance is reached."""
        days = self.days_at(chance)
        if days is None:
            return None
        return date(season_year, *self.season_start) + timedelta(days=round(days))


def season_start(latitude_deg: float) -> tuple[int, int]:
    """Month and day on which a frost season starts."""
    return (7, 24) if latitude_deg >= 0.0 else (1, 24)


def is_frost(tmin_c: npt.ArrayLike, threshold_c: float = FROST_C) -> BoolArray:
    """True where the night was at or below the threshold; a missing night is false."""
    return np.asarray(np.asarray(tmin_c, dtype=float) <= threshold_c)


def frost_count(first_day: date, frost: BoolArray, start: tuple[int, int] = (7, 24)) -> IntArray:
    """Frost nights so far in the season, (days,), starting again at each season start."""
    total = np.cumsum(frost, dtype=np.int64)
    season = _season_years(first_day, len(frost), start)
    begins = np.flatnonzero(np.diff(season, prepend=season[:1] - 1))
    before = np.where(begins > 0, total[begins - 1], 0)
    lengths = np.diff(np.append(begins, len(frost)))
    return np.asarray(total - np.repeat(before, lengths))


def first_frosts(
    first_day: date, tmin_c: FloatArray, *, threshold_c: float = FROST_C, start: tuple[int, int] = (7, 24)
) -> tuple[FirstFrost, ...]:
    """First frost of every season whose first day lies in the record.

    ``tmin_c`` (days,) with NaN for missing nights.

    Rule: a season with more than 10 missing nights before its first frost is void, and so is a season
    without frost that the record does not follow to its end.
    Source: Utah Climate Center, seen.
    """
    season = _season_years(first_day, len(tmin_c), start)
    found = []
    for year in np.unique(season).tolist():
        opens = date(year, *start)
        if opens < first_day:
            continue
        nights = tmin_c[season == year]
        frosty = np.flatnonzero(nights <= threshold_c)
        until = int(frosty[0]) if len(frosty) else len(nights)
        missing = int(np.isnan(nights[:until]).sum())
        over = len(frosty) > 0 or len(nights) >= (date(year + 1, *start) - opens).days
        day = opens + timedelta(days=until) if len(frosty) else None
        found.append(FirstFrost(year, day, missing, over and missing <= MOST_MISSING))
    return tuple(found)


def frost_chance(frosts: tuple[FirstFrost, ...], start: tuple[int, int] = (7, 24)) -> FrostChance:
    """Chance of first frost by date from the valid seasons.

    Raises NoAnswer with fewer than three seasons that had a frost: their spread would be a guess.
    """
    valid = [f for f in frosts if f.valid]
    days = [(f.day - date(f.year, *start)).days for f in valid if f.day is not None]
    if len(days) < 3:
        raise NoAnswer(
            f"only {len(days)} whole autumns with a frost are on record",
            expected="at least 3",
            remedy="load more years of the station",
        )
    sd = max(float(np.std(days, ddof=1)), 1.0)
    return FrostChance(len(valid), len(days), float(np.mean(days)), sd, start)


def station_first_frosts(
    series: WeatherSeries, *, threshold_c: float = FROST_C, start: tuple[int, int] = (7, 24)
) -> tuple[FirstFrost, ...]:
    """First frosts of a station by its observed nights: neither forecast nor filled nights count."""
    filled = series.filled.get("tmin_c", np.zeros(series.days, dtype=bool))
    tmin = np.where(series.forecast | filled, np.nan, series.values["tmin_c"])
    return first_frosts(series.first_day, tmin, threshold_c=threshold_c, start=start)


def _season_years(first_day: date, days: int, start: tuple[int, int]) -> IntArray:
    """Year in which the frost season of each day began."""
    years = np.arange(first_day.year - 1, (first_day + timedelta(days=days)).year + 1)
    opens = np.array([date(int(y), *start) for y in years], dtype="datetime64[D]")
    calendar = np.datetime64(first_day, "D") + np.arange(days)
    return np.asarray(years[np.searchsorted(opens, calendar, side="right") - 1], dtype=np.int64)


def _season_start_before(day: date, start: tuple[int, int]) -> date:
    this_year = date(day.year, *start)
    return this_year if day >= this_year else date(day.year - 1, *start)
