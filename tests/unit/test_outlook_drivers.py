"""What the weather says about a season, and the calendar it is told in."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest

from underoak.model.weather import Station, WeatherSeries
from underoak.outlook.drivers import climate, climate_without_station
from underoak.outlook.season import day_number, day_of_season, number_of_year_day, season_of
from underoak.outlook.season_prior import Frost, frost_not_before, seasonal_sign, usual_frost
from underoak.outlook.season_tables import season_table, usual_day
from underoak.weather.ground_state import GroundState, ground_state

FIRST = date(2018, 1, 1)


def ground(until: date, *, frost_day: int = 300, extra_c: float = 0.0) -> GroundState:
    """Invented weather: a sine of the year, first frost of every autumn on one day of the year."""
    days = [FIRST + timedelta(days=n) for n in range((until - FIRST).days + 1)]
    of_year = np.array([day.timetuple().tm_yday for day in days], dtype=np.float64)
    tmax = 16.0 - 14.0 * np.cos(2.0 * np.pi * (of_year - 20.0) / 365.0)
    tmin = np.maximum(tmax - 9.0, np.where((of_year > 120) & (of_year < frost_day), 1.0, -np.inf))
    tmin = np.where(of_year == frost_day, -1.0, tmin)
    last_year = np.array([day.year == until.year for day in days])
    values = {
        "rain_mm": np.where(np.arange(len(days)) % 5 == 0, 12.0, 0.0),
        "tmin_c": tmin + extra_c * last_year * (of_year < 290),
        "tmax_c": tmax + extra_c * last_year * (of_year < 290),
    }
    none = np.zeros(len(days), dtype=bool)
    series = WeatherSeries(Station("s", "Invented"), FIRST, values, none, dict.fromkeys(values, none))
    return ground_state(series, latitude_deg=41.5, elevation_m=100.0)


def test_a_season_runs_from_march_to_february() -> None:
    assert season_of(date(2025, 2, 28)) == 2024
    assert season_of(date(2025, 3, 1)) == 2025
    assert day_number(date(2025, 3, 1)) == 0
    assert day_number(date(2024, 2, 29)) == 365
    assert day_of_season(2025, day_number(date(2026, 1, 15))) == date(2026, 1, 15)
    assert number_of_year_day(60) == 0.0
    assert day_of_season(2025, number_of_year_day(270)).timetuple().tm_yday == 270


def test_table_puts_every_day_in_its_season() -> None:
    seasons, table = season_table(date(2020, 2, 28), np.arange(400.0))
    assert seasons == [2019, 2020, 2021]
    assert table[0, day_number(date(2020, 2, 29))] == 1.0
    assert table[1, 0] == 2.0
    assert np.isnan(table[0, :300]).all()
    assert np.nansum(table) == np.arange(400.0).sum()


def test_usual_needs_three_seasons() -> None:
    assert np.isnan(usual_day(np.ones((2, 366)))).all()
    assert usual_day(np.ones((3, 366))) == pytest.approx(np.ones(366))


def test_first_frost_is_read_and_shrunk_to_the_latitude() -> None:
    place = climate(
        ground(date(2023, 12, 31)), latitude_deg=41.5, elevation_m=100.0, today=date(2023, 12, 31)
    )
    assert place.of(2021).frost.seen
    assert day_of_season(2021, place.of(2021).frost.mean_day).timetuple().tm_yday == 300
    prior = usual_frost(41.5, 100.0)
    assert prior.mean_day < place.usual.frost.mean_day < number_of_year_day(300) + 1.0
    assert place.usual.frost.sd_days < prior.sd_days


def test_a_season_without_frost_so_far_expects_it_later() -> None:
    today = date(2023, 10, 20)
    place = climate(ground(today), latitude_deg=41.5, elevation_m=100.0, today=today)
    left = place.of(2023).frost
    assert not left.seen
    assert left.mean_day > place.usual.frost.mean_day
    assert left.mean_day > day_number(today)


def test_truncated_frost_has_the_moments_of_the_truncated_normal() -> None:
    """Reference: scipy.stats.truncnorm."""
    from scipy.stats import truncnorm

    left = frost_not_before(Frost(230.0, 12.0), 240.0)
    reference = truncnorm(10.0 / 12.0, np.inf, loc=230.0, scale=12.0)
    assert left.mean_day == pytest.approx(reference.mean())
    assert left.sd_days == pytest.approx(reference.std())


def test_a_warm_year_ages_flushes_faster_and_the_usual_does_not() -> None:
    usual = climate(ground(date(2023, 9, 30)), latitude_deg=41.5, elevation_m=100.0, today=date(2023, 9, 30))
    warm = climate(
        ground(date(2023, 9, 30), extra_c=4.0), latitude_deg=41.5, elevation_m=100.0, today=date(2023, 9, 30)
    )
    number = day_number(date(2023, 9, 20))
    assert usual.of(2023).warmth[number] == pytest.approx(1.0, abs=0.05)
    assert 1.1 < warm.of(2023).warmth[number] < 1.4
    assert warm.of(2023).warmth[number + 30] == 1.0, "days without weather are usual ones"


def test_facts_stand_on_the_last_observed_day() -> None:
    place = climate(ground(date(2023, 9, 30)), latitude_deg=41.5, elevation_m=100.0, today=date(2023, 10, 9))
    assert {fact.name for fact in place.facts} == {"litter_wetness", "root_wetness", "soil_temp_10cm_c"}
    assert all(fact.usual is not None for fact in place.facts)


def test_without_a_station_frost_is_usual_for_latitude_and_height() -> None:
    low, high = (climate_without_station(latitude_deg=41.5, elevation_m=m) for m in (100.0, 500.0))
    assert high.usual.frost.mean_day < low.usual.frost.mean_day
    assert np.all(low.usual.hard_freeze <= 0.3)
    assert low.usual.hard_freeze[day_number(date(2025, 9, 1))] < 0.001


def test_the_law_turns_its_sign_between_solstice_and_equinox() -> None:
    assert seasonal_sign(120.0) == 1.0
    assert seasonal_sign(280.0) == -1.0
    assert abs(seasonal_sign(218.5)) < 1e-9
