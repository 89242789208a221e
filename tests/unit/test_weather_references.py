"""The weather stage beside general-purpose libraries, over a year of real days."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime, timedelta, timezone
from pathlib import Path

import numpy as np
import pytest

from underoak.intake.weather import read_weather
from underoak.model.weather import WeatherSeries
from underoak.weather.daylight import days_of_year, extraterrestrial_radiation_mj_m2, sun_times
from underoak.weather.evapotranspiration import (
    hargreaves_mm,
    penman_monteith_mm,
    radiation_from_temperature_mj_m2,
)
from underoak.weather.vapour import saturation_vapour_pressure_kpa

NEW_YORK = Path(__file__).parents[1] / "data" / "new_york_2012_2015.csv"
LATITUDE, LONGITUDE, ELEVATION = 40.78, -73.97, 40.0
#: One millimetre in a thousand days is nothing a wood would notice.
MOST_MM = 1e-3


@pytest.fixture(scope="module")
def year() -> WeatherSeries:
    (series,) = read_weather(NEW_YORK).records
    start = series.index(date(2014, 1, 1))
    values = {name: column[start : start + 365] for name, column in series.values.items()}
    return WeatherSeries(series.station, date(2014, 1, 1), values, np.zeros(365, dtype=bool), {})


def _inputs(year: WeatherSeries) -> dict[str, np.ndarray]:
    tmin, tmax = year.values["tmin_c"], year.values["tmax_c"]
    day_of_year = days_of_year(year.first_day, year.days)
    ra = extraterrestrial_radiation_mj_m2(LATITUDE, day_of_year)
    return {
        "tmin": tmin,
        "tmax": tmax,
        "ea": saturation_vapour_pressure_kpa(tmin),
        "wind": year.values["wind_m_s"],
        "rs": radiation_from_temperature_mj_m2(tmin, tmax, ra),
        "ra": ra,
        "day_of_year": day_of_year,
    }


def _ours(x: dict[str, np.ndarray]) -> np.ndarray:
    return penman_monteith_mm(
        tmin_c=x["tmin"],
        tmax_c=x["tmax"],
        ea_kpa=x["ea"],
        wind_m_s=x["wind"],
        rs_mj_m2=x["rs"],
        ra_mj_m2=x["ra"],
        elevation_m=ELEVATION,
    )


def test_penman_monteith_beside_refet(year: WeatherSeries) -> None:
    import refet

    x = _inputs(year)
    theirs = refet.Daily(
        tmin=x["tmin"],
        tmax=x["tmax"],
        ea=x["ea"],
        rs=x["rs"],
        uz=x["wind"],
        zw=2.0,
        elev=ELEVATION,
        lat=LATITUDE,
        doy=x["day_of_year"],
        method="asce",
    ).eto()
    assert np.abs(_ours(x) - np.maximum(theirs, 0.0)).max() < MOST_MM


def test_penman_monteith_beside_pyet(year: WeatherSeries) -> None:
    import pandas as pd
    import pyet

    x = _inputs(year)
    days = pd.date_range("2014-01-01", periods=365)
    columns = {k: pd.Series(v, days) for k, v in x.items()}
    theirs = pyet.pm_fao56(
        0.5 * (columns["tmin"] + columns["tmax"]),
        columns["wind"],
        rs=columns["rs"],
        elevation=ELEVATION,
        lat=np.radians(LATITUDE),
        tmin=columns["tmin"],
        tmax=columns["tmax"],
        ea=columns["ea"],
    )
    assert np.abs(_ours(x) - theirs.to_numpy()).max() < MOST_MM


def test_hargreaves_beside_pyet(year: WeatherSeries) -> None:
    import pandas as pd
    import pyet

    x = _inputs(year)
    days = pd.date_range("2014-01-01", periods=365)
    tmin, tmax = pd.Series(x["tmin"], days), pd.Series(x["tmax"], days)
    theirs = pyet.hargreaves(0.5 * (tmin + tmax), tmax, tmin, np.radians(LATITUDE)).to_numpy()
    latent_heat = 2.501 - 0.002361 * 0.5 * (x["tmin"] + x["tmax"])  # theirs varies, FAO-56 holds 1 / 0.408
    ours = hargreaves_mm(x["tmin"], x["tmax"], x["ra"])
    assert np.abs(ours - theirs * latent_heat * 0.408).max() < 2.0 * MOST_MM


def _apart(theirs: Callable[[date], list[datetime]], longitude_deg: float, utc_offset_h: float) -> float:
    """Most minutes between our rise and set and theirs over a leap year."""
    most = 0.0
    for number in range(0, 366, 5):
        day = date(2024, 1, 1) + timedelta(days=number)
        midnight = datetime(day.year, day.month, day.day, tzinfo=timezone(timedelta(hours=utc_offset_h)))
        sun = sun_times(day, latitude_deg=LATITUDE, longitude_deg=longitude_deg, utc_offset_h=utc_offset_h)
        for ours, moment in zip((sun.sunrise_min, sun.sunset_min), theirs(day), strict=True):
            assert ours is not None
            most = max(most, abs(ours - (moment - midnight).total_seconds() / 60.0))
    return most


def test_sun_beside_astral() -> None:
    from astral import Observer
    from astral.sun import sunrise, sunset

    zone, place = timezone(timedelta(hours=-5)), Observer(LATITUDE, LONGITUDE, 0.0)
    assert _apart(lambda day: [f(place, day, tzinfo=zone) for f in (sunrise, sunset)], LONGITUDE, -5.0) < 0.5


def test_sun_beside_pvlib() -> None:
    import pandas as pd
    from pvlib.solarposition import sun_rise_set_transit_spa

    def theirs(day: date) -> list[datetime]:
        found = sun_rise_set_transit_spa(pd.DatetimeIndex([pd.Timestamp(day, tz="UTC")]), LATITUDE, 0.0)
        return [found[name].iloc[0].round("s").to_pydatetime() for name in ("sunrise", "sunset")]

    assert _apart(theirs, 0.0, 0.0) < 0.5, "at longitude 0, where its UTC day is the local day"
