"""Snow waits, melts by degree-days, and no water is lost."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from underoak.model.weather import Station, WeatherSeries
from underoak.weather.ground_state import ground_state
from underoak.weather.snow import MELT_MM_C_DAY, snow_balance


def test_a_winter_week_by_hand() -> None:
    """NRCS 2004, degree-day method (from memory): 2.74 mm for each degree of the mean above freezing."""
    precipitation = np.array([10.0, 5.0, 0.0, 0.0, 4.0, 0.0, 3.0])
    mean_c = np.array([-3.0, 0.5, 2.0, -1.0, 3.0, 5.0, 8.0])
    snow = snow_balance(precipitation, mean_c)
    # day 2: 5 mm more fall as snow and 0.5 x 2.74 = 1.37 melt; day 3: 5.48; day 5: 8.22 of 8.15 left
    assert snow.pack_mm == pytest.approx([10.0, 13.63, 8.15, 8.15, 0.0, 0.0, 0.0])
    assert snow.water_mm == pytest.approx([0.0, 1.37, 5.48, 0.0, 12.15, 0.0, 3.0])


days = st.lists(st.tuples(st.floats(0.0, 60.0), st.floats(-25.0, 30.0)), min_size=1, max_size=60)


@settings(max_examples=40, deadline=None)
@given(days)
def test_no_water_is_lost_and_no_more_melts_than_the_day_allows(week: list[tuple[float, float]]) -> None:
    precipitation, mean_c = (np.array(column) for column in zip(*week, strict=True))
    snow = snow_balance(precipitation, mean_c)
    assert snow.water_mm.sum() + snow.pack_mm[-1] == pytest.approx(precipitation.sum())
    assert (snow.pack_mm >= 0.0).all()
    rain = np.where(mean_c >= 1.0, precipitation, 0.0)
    assert (snow.water_mm - rain <= MELT_MM_C_DAY * np.maximum(mean_c, 0.0) + 1e-9).all()


@settings(max_examples=20, deadline=None)
@given(days)
def test_where_it_never_freezes_rain_stays_rain(week: list[tuple[float, float]]) -> None:
    precipitation = np.array([rain for rain, _ in week])
    snow = snow_balance(precipitation, np.full(len(week), 6.0))
    assert snow.water_mm.tolist() == precipitation.tolist()


def test_the_litter_is_wetted_by_the_thaw_not_by_the_snowfall() -> None:
    """Snow on day 200 of a frosty spell that ends 20 days later."""
    count = 400
    rain, tmax = np.zeros(count), np.full(count, 18.0)
    rain[200], tmax[190:220] = 25.0, -4.0
    values = {"rain_mm": rain, "tmax_c": tmax, "tmin_c": tmax - 6.0}
    none = np.zeros(count, dtype=bool)
    series = WeatherSeries(
        Station("s", "Invented"), date(2024, 6, 1), values, none, dict.fromkeys(values, none)
    )
    wet = ground_state(series, latitude_deg=41.5, elevation_m=100.0).litter_wetness
    assert wet[200] < 0.1
    assert wet[219] < 0.1
    assert wet[220] > 0.5
