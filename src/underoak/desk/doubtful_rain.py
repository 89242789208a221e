"""Rain that reads zero for so long that its column was probably never filled."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from underoak.model.weather import WeatherSeries

#: A record without rain over as many days is doubted where this much is usual then, mm.
DRY_DAYS, DRY_USUAL_MM = 60, 20.0


def without_doubtful_rain(stations: Sequence[WeatherSeries]) -> tuple[list[WeatherSeries], list[str]]:
    """The stations with doubtful rain taken out, and the names of those whose rain it was.

    Where no station ever measured rain the zeros stay: the ground needs a number, and nothing leans on it.
    """
    import numpy as np

    dry = [_doubtful_rain(series) for series in stations]
    cleared = [_cleared(series, days) if days else series for series, days in zip(stations, dry, strict=True)]
    doubted = [series.station.name for series, days in zip(stations, dry, strict=True) if days]
    rains = any(np.isfinite(s.values["rain_mm"]).any() for s in cleared if "rain_mm" in s.values)
    return (cleared if rains else list(stations)), doubted


def _cleared(series: WeatherSeries, days: int) -> WeatherSeries:
    """The series without its observed rain of the last days."""
    import numpy as np

    late = np.arange(series.days) >= series.days - days
    rain = np.where(~series.forecast & late, np.nan, series.values["rain_mm"])
    return replace(series, values={**series.values, "rain_mm": rain})


def _doubtful_rain(series: WeatherSeries) -> int:
    """Days at the end of the series, forecast included, with doubtful zeros of rain; 0 for none."""
    import numpy as np

    from underoak.weather.daylight import days_of_year
    from underoak.weather.gaps import usual_by_day

    rain = series.values.get("rain_mm")
    observed = np.flatnonzero(~series.forecast)
    if rain is None or len(observed) < DRY_DAYS:
        return 0
    wet = observed[rain[observed] > 0.0]
    known = np.isfinite(rain[observed])
    since = observed[observed > wet[-1]] if len(wet) else observed
    if not known.any() or np.isfinite(rain[since]).sum() < DRY_DAYS:
        return 0
    number = days_of_year(series.first_day, series.days)
    before = np.isfinite(rain) & ~series.forecast
    before[since] = False
    usual = usual_by_day(rain, before, number, 15)[number[since[-DRY_DAYS:]] - 1]
    if len(wet) and np.nansum(usual) < DRY_USUAL_MM:
        return 0
    return series.days - int(since[0])
