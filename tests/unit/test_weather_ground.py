"""Gaps, frost and the daily ground state, on real and on plain invented days."""

from __future__ import annotations

from dataclasses import fields, replace
from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from underoak.errors import NoAnswer
from underoak.intake.weather import read_weather
from underoak.model.weather import Station, WeatherSeries
from underoak.weather.frost import first_frosts, frost_chance, frost_count, station_first_frosts
from underoak.weather.gaps import fill_gaps
from underoak.weather.ground_state import ground_state
from underoak.weather.soils import TEXTURES

NEW_YORK = Path(__file__).parents[1] / "data" / "new_york_2012_2015.csv"


@pytest.fixture(scope="module")
def new_york() -> WeatherSeries:
    (series,) = read_weather(NEW_YORK).records
    return series


def _holed(series: WeatherSeries, name: str, first: date, days: int) -> WeatherSeries:
    values = dict(series.values)
    values[name] = values[name].copy()
    start = series.index(first)
    values[name][start : start + days] = np.nan
    return replace(series, values=values)


def test_a_short_gap_lies_on_a_straight_line(new_york: WeatherSeries) -> None:
    at = new_york.index(date(2014, 10, 3))
    filled = fill_gaps(_holed(new_york, "tmin_c", date(2014, 10, 3), 3))
    before, after = new_york.values["tmin_c"][at - 1], new_york.values["tmin_c"][at + 3]
    line = np.linspace(before, after, 5)[1:4]
    limit = new_york.values["tmax_c"][at : at + 3]
    assert filled.values["tmin_c"][at : at + 3] == pytest.approx(np.minimum(line, limit))
    assert filled.filled["tmin_c"].sum() == 3


def test_a_long_gap_takes_what_is_usual_then(new_york: WeatherSeries) -> None:
    filled = fill_gaps(_holed(new_york, "rain_mm", date(2014, 7, 1), 60))
    at = new_york.index(date(2014, 7, 1))
    others = [new_york.index(date(year, 7, 1)) for year in (2012, 2013, 2015)]
    usual = np.mean([new_york.values["rain_mm"][i - 15 : i + 76].mean() for i in others])
    assert filled.values["rain_mm"][at : at + 60].mean() == pytest.approx(usual, rel=0.25)
    assert not filled.filled["rain_mm"][:at].any()
    again = fill_gaps(filled)
    assert np.array_equal(again.values["rain_mm"], filled.values["rain_mm"])
    assert np.array_equal(again.filled["rain_mm"], filled.filled["rain_mm"])


def test_what_was_never_measured_stays_empty(new_york: WeatherSeries) -> None:
    short = WeatherSeries(
        Station("x", "X"),
        date(2015, 3, 1),
        {"rain_mm": np.r_[np.ones(40), np.full(60, np.nan), np.ones(3)]},
        np.zeros(103, dtype=bool),
        {},
    )
    filled = fill_gaps(short)
    assert np.isfinite(filled.values["rain_mm"][40:54]).all()
    assert np.isnan(filled.values["rain_mm"][60:80]).all()
    with pytest.raises(NoAnswer, match="rain_mm is missing on"):
        ground_state(
            replace(short, values={**short.values, "tmin_c": np.zeros(103), "tmax_c": np.ones(103)}),
            latitude_deg=40.78,
            elevation_m=40.0,
        )


def test_a_filled_extreme_never_crosses_the_other(new_york: WeatherSeries) -> None:
    filled = fill_gaps(_holed(new_york, "tmax_c", date(2013, 1, 1), 120))
    assert (filled.values["tmin_c"] <= filled.values["tmax_c"]).all()


def test_frost_is_counted_from_late_july() -> None:
    frost = np.zeros(400, dtype=bool)
    first = date(2015, 7, 20)
    for day in (date(2015, 7, 22), date(2015, 11, 1), date(2016, 1, 5), date(2016, 7, 23), date(2016, 8, 1)):
        frost[(day - first).days] = True
    count = frost_count(first, frost)

    def on(day: date) -> int:
        return int(count[(day - first).days])

    assert [on(date(2015, 7, 23)), on(date(2015, 7, 24)), on(date(2015, 11, 1))] == [1, 0, 1]
    assert [on(date(2016, 7, 23)), on(date(2016, 7, 24)), on(date(2016, 8, 2))] == [3, 0, 1]


def test_seasons_with_too_many_missing_nights_are_void() -> None:
    nights = np.full(3 * 366, 5.0)
    first = date(2013, 7, 24)
    nights[100] = -1.0
    nights[(date(2014, 9, 1) - first).days + np.arange(11)] = np.nan
    nights[(date(2014, 11, 1) - first).days] = -1.0
    one, two, three = first_frosts(first, nights)[:3]
    assert (one.day, one.valid) == (first + timedelta(days=100), True)
    assert (two.day, two.missing, two.valid) == (date(2014, 11, 1), 11, False)
    assert (three.day, three.valid) == (None, True), "a whole season without frost is a season"
    unfinished = first_frosts(first, nights[: 2 * 366 + 100])
    assert not unfinished[-1].valid, "a season that goes on may still bring frost"


def test_chance_of_frost_by_date(new_york: WeatherSeries) -> None:
    chance = frost_chance(station_first_frosts(new_york))
    by = [chance.by(date(2015, 9, 1) + timedelta(days=i)) for i in range(120)]
    assert all(a <= b for a, b in pairwise(by))
    assert by[0] < 0.01
    assert by[-1] == pytest.approx(1.0, abs=0.01)
    with pytest.raises(NoAnswer, match="at least 3"):
        frost_chance(station_first_frosts(new_york)[:2])


def test_forecast_nights_are_no_record(new_york: WeatherSeries) -> None:
    forecast = np.zeros(new_york.days, dtype=bool)
    forecast[new_york.index(date(2015, 11, 24)) :] = True
    last = station_first_frosts(replace(new_york, forecast=forecast))[-1]
    assert not last.valid


def test_ground_state_of_new_york(new_york: WeatherSeries) -> None:
    state = ground_state(new_york, latitude_deg=40.78, elevation_m=40.0)
    for field in fields(state):
        value = getattr(state, field.name)
        if isinstance(value, np.ndarray):
            assert value.shape == (new_york.days,)
            assert np.isfinite(value).all()
    yearly_mm = state.eto_mm.sum() / 4.0
    assert 800.0 < yearly_mm < 1100.0, "common figure for the region, no source"
    july, january = new_york.index(date(2014, 7, 15)), new_york.index(date(2014, 1, 15))
    assert state.day_length_h[july] > 14.0
    assert state.day_length_h[january] < 10.0
    assert state.root_wetness[january] > state.root_wetness[july]
    air = 0.5 * (new_york.values["tmin_c"] + new_york.values["tmax_c"])
    assert np.std(np.diff(state.soil_temp_10cm_c)) < 0.5 * np.std(np.diff(air))
    assert state.frost.sum() == (new_york.values["tmin_c"] <= 0.0).sum()


def test_an_unknown_start_is_forgotten_within_the_year(new_york: WeatherSeries) -> None:
    state = ground_state(new_york, latitude_deg=40.78, elevation_m=40.0)
    width = state.root_wetness_high - state.root_wetness_low
    assert width[0] > 0.9
    assert width[365:].max() < 1e-9
    assert (width >= -1e-12).all()


def test_sand_dries_before_silt(new_york: WeatherSeries) -> None:
    sand = ground_state(new_york, latitude_deg=40.78, elevation_m=40.0, soil=TEXTURES["sand"])
    silt = ground_state(new_york, latitude_deg=40.78, elevation_m=40.0, soil=TEXTURES["silt"])
    assert (sand.stress < 1.0).sum() > (silt.stress < 1.0).sum()


def test_gaps_are_marked_in_the_state(new_york: WeatherSeries) -> None:
    state = ground_state(
        _holed(new_york, "rain_mm", date(2014, 9, 1), 20), latitude_deg=40.78, elevation_m=40.0
    )
    assert state.filled.sum() == 20
