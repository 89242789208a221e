"""The weather stage against published worked examples."""

from __future__ import annotations

import importlib
import tomllib
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from underoak.intake.weather import read_weather
from underoak.intake.weather_units import WIND_10M_TO_2M
from underoak.model.weather import Station, WeatherSeries
from underoak.weather.blend import distance_km
from underoak.weather.canopy import rain_on_the_ground_mm
from underoak.weather.daylight import sun_times
from underoak.weather.frost import FrostChance, station_first_frosts
from underoak.weather.lapse import at_elevation
from underoak.weather.soil_water import root_zone_balance, total_available_water_mm
from underoak.weather.soils import TEXTURES
from underoak.weather.vapour import wind_at_2m_m_s
from underoak.weather.wood import FULL_STORE, drought_code, wood_balance

CASES = tomllib.loads(Path(__file__).with_name("weather.toml").read_text("utf-8"))
NEW_YORK = Path(__file__).parents[1] / "data" / "new_york_2012_2015.csv"


@pytest.mark.parametrize("case", CASES["case"], ids=lambda case: case["name"])
def test_published_value(case: dict[str, Any]) -> None:
    module, name = case["function"].split(".")
    function = getattr(importlib.import_module(f"underoak.weather.{module}"), name)
    answer = function(**{k: np.array(v) if isinstance(v, list) else v for k, v in case["arguments"].items()})
    assert np.asarray(answer) == pytest.approx(np.asarray(case["expected"]), abs=case["tolerance"])


def test_depletion_of_ten_dry_days() -> None:
    case = CASES["depletion"]
    days = len(case["stress"])
    roots = root_zone_balance(
        np.zeros(days),
        np.full(days, case["demand_mm"]),
        available_mm=case["available_mm"],
        readily_mm=case["readily_mm"],
        start_depletion_mm=case["start_depletion_mm"],
    )
    assert roots.stress == pytest.approx(case["stress"], abs=0.0051)
    assert roots.depletion_mm == pytest.approx(case["depletion_mm"], abs=0.051)


def test_frost_chance_of_years_with_and_without_frost() -> None:
    case = CASES["frost_chance"]
    chance = FrostChance(case["years"], case["frosted"], case["mean_day_of_year"], case["sd_days"], (7, 24))
    assert chance.days_at(0.10) == pytest.approx(case["day_at_10_percent"], abs=case["tolerance"])
    assert chance.days_at(0.50) == pytest.approx(case["day_at_50_percent"], abs=case["tolerance"])
    assert chance.days_at(0.90) is None
    assert chance.day_at(0.95, 2015) is None


def test_first_frosts_of_new_york() -> None:
    (series,) = read_weather(NEW_YORK).records
    frosts = station_first_frosts(series)
    assert [f.day for f in frosts] == CASES["first_frost"]["days"]
    assert all(f.valid for f in frosts)


def test_sunrise_of_the_almanac() -> None:
    case = CASES["sunrise"]
    sun = sun_times(
        case["day"],
        latitude_deg=case["latitude_deg"],
        longitude_deg=case["longitude_deg"],
        utc_offset_h=case["utc_offset_h"],
    )
    assert sun.sunrise_min == pytest.approx(case["sunrise_min"], abs=case["tolerance"])
    assert sun.dawn_min == pytest.approx(case["dawn_min"], abs=case["tolerance"])
    assert sun.sunset_min == pytest.approx(case["sunset_min"], abs=case["tolerance"])


def test_no_sunset_in_polar_day() -> None:
    sun = sun_times(date(2024, 6, 21), latitude_deg=70.0, longitude_deg=25.0, utc_offset_h=2.0)
    assert sun.sunrise_min is None
    assert sun.sunset_min is None


def test_drought_code_of_the_test_table() -> None:
    case = CASES["drought_code"]
    wood = wood_balance(
        np.array(case["rain_mm"]),
        np.array(case["noon_c"]),
        first_day=case["first_day"],
        latitude_deg=46.0,
        start_store=FULL_STORE * np.exp(-case["start"] / 400.0),
    )
    assert drought_code(wood.store_mm) == pytest.approx(case["code"], abs=case["tolerance"])


def test_monthly_lapse_of_air_temperature() -> None:
    for month, fall in enumerate(CASES["lapse"]["air_c_km"], 1):
        low = WeatherSeries(
            Station("x", "X", 41.0, -74.0, 100.0),
            date(2015, month, 1),
            {"tmin_c": np.array([10.0])},
            np.zeros(1, dtype=bool),
            {},
        )
        assert at_elevation(low, 1100.0).values["tmin_c"][0] == pytest.approx(10.0 - fall)


@pytest.mark.parametrize("texture", sorted(TEXTURES))
def test_textures_hold_the_water_of_the_table(texture: str) -> None:
    soil = TEXTURES[texture]
    least, most = CASES["evaporable_water_mm"][texture]
    assert least <= 100.0 * (soil.field_capacity - 0.5 * soil.wilting_point) <= most
    assert soil.available_mm == pytest.approx(
        float(total_available_water_mm(soil.field_capacity, soil.wilting_point, soil.root_depth_m))
    )


def test_distance_in_the_park() -> None:
    case = CASES["distance"]
    metres = 1000.0 * distance_km(*case["from"], *case["to"])
    assert metres == pytest.approx(case["metres"], abs=case["tolerance"])


def test_rain_under_hardwoods() -> None:
    case = CASES["net_rain"]
    net = rain_on_the_ground_mm(case["storm_mm"], [1.0, 0.0])
    assert net == pytest.approx([case["in_leaf_mm"], case["bare_mm"]], abs=case["tolerance"])


def test_wind_factor_of_the_readers_is_the_published_formula() -> None:
    assert pytest.approx(float(wind_at_2m_m_s(1.0, 10.0)), abs=0.0005) == WIND_10M_TO_2M
