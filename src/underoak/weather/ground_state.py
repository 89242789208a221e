"""What the ground of a wood is like day after day: the one call that the outlook needs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from underoak.errors import NoAnswer
from underoak.weather.canopy import leaf_cover
from underoak.weather.daylight import day_length_h, days_of_year, extraterrestrial_radiation_mj_m2
from underoak.weather.evapotranspiration import reference_evapotranspiration
from underoak.weather.frost import FROST_C, HARD_FREEZE_C, frost_count, is_frost, season_start
from underoak.weather.gaps import fill_gaps
from underoak.weather.snow import snow_balance
from underoak.weather.soil_temperature import soil_temperature_c
from underoak.weather.soils import USUAL_SOIL, Soil
from underoak.weather.water_balance import LITTER_CAPACITY_MM, ground_water
from underoak.weather.wood import FULL_STORE, wood_balance

if TYPE_CHECKING:
    from datetime import date

    import numpy.typing as npt

    from underoak.model.weather import WeatherSeries

    FloatArray = npt.NDArray[np.float64]
    BoolArray = npt.NDArray[np.bool_]
    IntArray = npt.NDArray[np.int64]

#: Green area index of a closed oak canopy (the developers' judgement within the usual 3 to 6).
FULL_LEAF_AREA = 4.0


@dataclass(frozen=True, slots=True)
class GroundState:
    """Daily ground of a wood, every array (days,).

    ``litter_wetness``, ``wood_wetness`` and ``root_wetness`` run from 0 (dry) to 1 (full); ``stress`` is
    Ks, 1 without stress. ``_low`` and ``_high`` bound rain and wetness for filled rain anywhere between none
    and twice the usual, and the wetness also for any state before the first day.
    ``freeze_count`` counts frost nights so far in the frost season. ``filled`` is true where rain or
    temperature of the day was filled, ``forecast`` where it was forecast.
    """

    first_day: date
    rain_mm: FloatArray
    rain_mm_low: FloatArray
    rain_mm_high: FloatArray
    tmin_c: FloatArray
    tmax_c: FloatArray
    eto_mm: FloatArray
    runoff_mm: FloatArray
    litter_wetness: FloatArray
    litter_wetness_low: FloatArray
    litter_wetness_high: FloatArray
    wood_wetness: FloatArray
    root_wetness: FloatArray
    root_wetness_low: FloatArray
    root_wetness_high: FloatArray
    stress: FloatArray
    soil_temp_10cm_c: FloatArray
    day_length_h: FloatArray
    frost: BoolArray
    hard_freeze: BoolArray
    freeze_count: IntArray
    filled: BoolArray
    forecast: BoolArray


def ground_state(
    series: WeatherSeries, *, latitude_deg: float, elevation_m: float, soil: Soil = USUAL_SOIL
) -> GroundState:
    """Daily state of the ground over the series, gaps filled by `gaps.RULE`.

    Parameters
    ----------
    series        daily weather with at least rain, tmin and tmax
    latitude_deg  of the wood, -90 to 90
    elevation_m   of the wood
    soil          texture of the wood's soil

    Method: see `reference_evapotranspiration`, `snow_balance`, `ground_water`, `wood_balance`,
    `soil_temperature_c` and `frost`. The root zone starts full. The bounds run from an empty start with no
    rain on filled days and from a full start with twice the usual rain on them: where they meet, start and
    gaps are forgotten.

    Raises NoAnswer where rain or temperature was never measured for some days.
    """
    whole = fill_gaps(series)
    rain, tmin, tmax = (_needed(whole, name) for name in ("rain_mm", "tmin_c", "tmax_c"))
    day_of_year = days_of_year(series.first_day, series.days)
    leaves = leaf_cover(day_of_year, latitude_deg=latitude_deg, elevation_m=elevation_m)
    eto = _eto(whole, latitude_deg, elevation_m, day_of_year)
    wood = wood_balance(rain, tmax, first_day=series.first_day, latitude_deg=latitude_deg)
    mean = 0.5 * (tmin + tmax)
    frost = is_frost(tmin, FROST_C)
    return GroundState(
        first_day=series.first_day,
        rain_mm=rain,
        tmin_c=tmin,
        tmax_c=tmax,
        eto_mm=eto,
        **_water(rain, whole.filled.get("rain_mm"), mean, eto=eto, leaves=leaves, soil=soil),
        wood_wetness=wood.store_mm / FULL_STORE,
        soil_temp_10cm_c=soil_temperature_c(mean, FULL_LEAF_AREA * leaves, start_c=float(mean[:30].mean())),
        day_length_h=day_length_h(latitude_deg, day_of_year),
        frost=frost,
        hard_freeze=is_frost(tmin, HARD_FREEZE_C),
        freeze_count=frost_count(series.first_day, frost, season_start(latitude_deg)),
        filled=_filled(whole),
        forecast=whole.forecast,
    )


def _water(
    rain: FloatArray,
    filled: BoolArray | None,
    mean_c: FloatArray,
    *,
    eto: FloatArray,
    leaves: FloatArray,
    soil: Soil,
) -> dict[str, FloatArray]:
    """Bounds of the rain, runoff, stress, and the wetness of litter and roots with their bounds."""
    low_rain = rain if filled is None else np.where(filled, 0.0, rain)
    high_rain = rain if filled is None else np.where(filled, 2.0 * rain, rain)
    reaches, low, high = (snow_balance(one, mean_c).water_mm for one in (rain, low_rain, high_rain))
    water = ground_water(reaches, eto, leaves, soil)
    runs = {
        "": water,
        "_low": ground_water(low, eto, leaves, soil, start_litter=0.0, start_depletion=1.0),
        "_high": ground_water(high, eto, leaves, soil, start_litter=1.0),
    }
    found = {"rain_mm_low": low_rain, "rain_mm_high": high_rain}
    found |= {"runoff_mm": water.runoff_mm, "stress": water.roots.stress}
    for bound, run in runs.items():
        found[f"litter_wetness{bound}"] = run.litter.store_mm / LITTER_CAPACITY_MM
        found[f"root_wetness{bound}"] = 1.0 - run.roots.depletion_mm / soil.available_mm
    return found


def _needed(series: WeatherSeries, name: str) -> FloatArray:
    values = series.values.get(name)
    missing = series.days if values is None else int(np.isnan(values).sum())
    if values is None or missing:
        raise NoAnswer(
            f"{name} is missing on {missing} of {series.days} days at {series.station.name}, "
            "and the station's own years do not tell what is usual then",
            expected="rain, lowest and highest temperature of every day",
            remedy="load more of this station, or another station's file",
        )
    return values


def _eto(series: WeatherSeries, latitude_deg: float, elevation_m: float, day_of_year: IntArray) -> FloatArray:
    """Reference evapotranspiration; only what was measured on the day decides the method."""
    unknown = np.full(series.days, np.nan)

    def measured(name: str) -> FloatArray:
        if name not in series.values:
            return unknown
        marks = series.filled.get(name)
        return series.values[name] if marks is None else np.where(marks, np.nan, series.values[name])

    return reference_evapotranspiration(
        tmin_c=series.values["tmin_c"],
        tmax_c=series.values["tmax_c"],
        dewpoint_c=measured("dewpoint_c"),
        wind_m_s=measured("wind_m_s"),
        rs_mj_m2=measured("radiation_mj_m2"),
        ra_mj_m2=extraterrestrial_radiation_mj_m2(latitude_deg, day_of_year),
        elevation_m=elevation_m,
    ).eto_mm


def _filled(series: WeatherSeries) -> BoolArray:
    marks = [series.filled[n] for n in ("rain_mm", "tmin_c", "tmax_c") if n in series.filled]
    return np.logical_or.reduce(marks) if marks else np.zeros(series.days, dtype=bool)
