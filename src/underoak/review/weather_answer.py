"""Which weather the seasons answered to: rank correlation of onset with what came before it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from statistics import median

import numpy as np
import numpy.typing as npt

from underoak.model.weather import WeatherSeries
from underoak.outlook.season import day_of_season
from underoak.review.association import Association, holm, rank_correlation
from underoak.review.onset import SeasonOnset
from underoak.weather.climate import summer_means_c
from underoak.weather.windows import mean_before, sum_before

FloatArray = npt.NDArray[np.float64]

#: Seasons under which no weather is tried: with 4 no order of seasons comes below 5 %.
FEWEST_SEASONS = 5
WATER, WARMTH, SUMMER = (
    "water balance 10 to 30 days before",
    "mean temperature 10 to 30 days before",
    "mean temperature of July and August",
)


@dataclass(frozen=True, slots=True)
class WeatherAnswer:
    """One taxon and driver. ``association`` is None with too few seasons.

    A negative statistic means: the more of it, the earlier. ``adjusted_p`` allows for all tests of the
    review that were made at once.
    """

    taxon_id: str
    driver: str
    seasons: int
    association: Association | None
    adjusted_p: float | None

    @property
    def shown(self) -> bool:
        """Whether the seasons show an answer, all tests of the review considered."""
        return self.adjusted_p is not None and self.adjusted_p <= 0.05


def weather_answers(
    onsets: Mapping[str, Sequence[SeasonOnset]], series: WeatherSeries, eto_mm: FloatArray
) -> tuple[WeatherAnswer, ...]:
    """Kendall's tau of the season's onset with three drivers, for each taxon.

    Parameters
    ----------
    onsets : by taxon id
    series : weather of the station that serves the woods, gaps filled
    eto_mm : (days,), reference evapotranspiration over the same days

    Method
    ------
    Drivers are taken at one calendar day for all seasons, the median onset of the taxon: rain minus
    evapotranspiration, and mean temperature, each over 10 to 30 days before it; and the mean of July and
    August. Taken before each season's own onset they would partly explain themselves. p by all orders
    (`rank_correlation`), then Holm's correction over all tests.

    Source
    ------
    holm_1979, vicente_serrano_2010 (water balance), from memory. Lags of 10 to 30 days: own judgement
    within the published spread.
    """
    balance = sum_before(series.values["rain_mm"] - eto_mm, 10, 30)
    mean_c = mean_before(0.5 * (series.values["tmin_c"] + series.values["tmax_c"]), 10, 30)
    summers = summer_means_c(series)
    rows: list[WeatherAnswer] = []
    for taxon_id, seasons in onsets.items():
        middle = median(onset.day for onset in seasons)
        columns = {
            WATER: _at(series, balance, seasons, middle),
            WARMTH: _at(series, mean_c, seasons, middle),
            SUMMER: [(o.day, summers[o.season]) for o in seasons if o.season in summers],
        }
        rows += [_answer(taxon_id, driver, pairs) for driver, pairs in columns.items()]
    return _adjusted(rows)


def _at(
    series: WeatherSeries, values: FloatArray, seasons: Sequence[SeasonOnset], middle: float
) -> list[tuple[float, float]]:
    """Onset and driver of every season whose driver is known."""
    pairs = []
    for onset in seasons:
        n = (day_of_season(onset.season, middle) - series.first_day).days
        if 0 <= n < len(values) and np.isfinite(values[n]):
            pairs.append((onset.day, float(values[n])))
    return pairs


def _answer(taxon_id: str, driver: str, pairs: Sequence[tuple[float, float]]) -> WeatherAnswer:
    days, values = [pair[0] for pair in pairs], [pair[1] for pair in pairs]
    if len(pairs) < FEWEST_SEASONS or len(set(days)) < 2 or len(set(values)) < 2:
        return WeatherAnswer(taxon_id, driver, len(pairs), None, None)
    return WeatherAnswer(taxon_id, driver, len(pairs), rank_correlation(values, days), None)


def _adjusted(rows: Sequence[WeatherAnswer]) -> tuple[WeatherAnswer, ...]:
    from dataclasses import replace

    tried = [row.association.p for row in rows if row.association]
    corrected = iter(holm(tried))
    return tuple(replace(row, adjusted_p=next(corrected)) if row.association else row for row in rows)


def rain_before_mm(series: WeatherSeries, day: date, days: int = 10) -> float | None:
    """Rain of the ``days`` days before a day, mm, None where a day of them is missing."""
    last = (day - timedelta(days=1) - series.first_day).days
    if last - days + 1 < 0 or last >= series.days:
        return None
    rain = float(series.values["rain_mm"][last - days + 1 : last + 1].sum())
    return rain if np.isfinite(rain) else None
