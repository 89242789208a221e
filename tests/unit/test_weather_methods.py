"""Which method serves which day, leaves by place, and many stations at once."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from underoak.weather.canopy import leaf_cover
from underoak.weather.evapotranspiration import (
    hargreaves_mm,
    penman_monteith_mm,
    radiation_from_temperature_mj_m2,
    reference_evapotranspiration,
)
from underoak.weather.grid import grid_water
from underoak.weather.soil_temperature import soil_temperature_c
from underoak.weather.soil_water import root_zone_balance, stress_factor
from underoak.weather.vapour import saturation_vapour_pressure_kpa

GAP = np.nan


def _eto(dewpoint: list[float], wind: list[float], radiation: list[float]):  # type: ignore[no-untyped-def]
    return reference_evapotranspiration(
        tmin_c=np.full(4, 10.0),
        tmax_c=np.full(4, 20.0),
        dewpoint_c=np.array(dewpoint),
        wind_m_s=np.array(wind),
        rs_mj_m2=np.array(radiation),
        ra_mj_m2=np.full(4, 30.0),
        elevation_m=100.0,
    )


def test_two_of_three_inputs_allow_penman_monteith() -> None:
    found = _eto([9.0, GAP, 9.0, GAP], [3.0, 3.0, GAP, 3.0], [GAP, 15.0, 15.0, GAP])
    assert found.penman_monteith.tolist() == [True, True, True, False]
    assert found.eto_mm[3] == pytest.approx(float(hargreaves_mm(10.0, 20.0, 30.0)))
    by_range = radiation_from_temperature_mj_m2(10.0, 20.0, 30.0)
    ea = saturation_vapour_pressure_kpa([9.0, 10.0, 9.0])
    expected = penman_monteith_mm(
        tmin_c=10.0,
        tmax_c=20.0,
        ea_kpa=ea,
        wind_m_s=[3.0, 3.0, 2.0],
        rs_mj_m2=np.array([float(by_range), 15.0, 15.0]),
        ra_mj_m2=30.0,
        elevation_m=100.0,
    )
    assert found.eto_mm[:3] == pytest.approx(expected)


def test_days_without_temperature_stay_unknown() -> None:
    found = reference_evapotranspiration(
        tmin_c=[GAP],
        tmax_c=[20.0],
        dewpoint_c=[9.0],
        wind_m_s=[2.0],
        rs_mj_m2=[15.0],
        ra_mj_m2=[30.0],
        elevation_m=0.0,
    )
    assert np.isnan(found.eto_mm[0])
    assert not found.penman_monteith[0]


def test_leaves_follow_latitude_elevation_and_hemisphere() -> None:
    days = np.arange(1, 366)

    def half_out(latitude: float, elevation: float) -> tuple[int, int]:
        leaves = leaf_cover(days, latitude_deg=latitude, elevation_m=elevation)
        half = np.flatnonzero(leaves >= 0.5)
        return int(days[half[0]]), int(days[half[-1]])

    out, fall = half_out(40.0, 0.0)
    assert half_out(41.0, 0.0) == (out + 4, fall - 4), "four days a degree"
    assert half_out(40.0, 240.0) == (out + 8, fall - 8), "four days for each 120 m"
    south = leaf_cover(days, latitude_deg=-40.0, elevation_m=0.0)
    assert south[10] == 1.0
    assert south[190] == 0.0


def test_many_stations_in_blocks_are_each_station_alone() -> None:
    rng = np.random.default_rng(11)
    shape = (200, 700)
    tmin = rng.normal(8.0, 5.0, shape)
    weather = {
        "tmin_c": tmin,
        "tmax_c": tmin + rng.uniform(2.0, 14.0, shape),
        "ea_kpa": saturation_vapour_pressure_kpa(tmin),
        "wind_m_s": rng.uniform(0.2, 6.0, shape),
        "rs_mj_m2": rng.uniform(2.0, 22.0, shape),
        "ra_mj_m2": np.full((200, 1), 30.0),
        "rain_mm": rng.gamma(0.3, 9.0, shape),
    }
    water = {"available_mm": 96.0, "readily_mm": 40.0}
    blocks = list(grid_water(weather, elevation_m=50.0, **water))
    assert len(blocks) > 3
    depletion = np.concatenate([roots.depletion_mm for _, _, roots in blocks])
    for station in (0, 333, 699):
        one = {name: column[:, station % column.shape[1]] for name, column in weather.items()}
        rain = np.ascontiguousarray(one.pop("rain_mm"))
        eto = penman_monteith_mm(**one, elevation_m=50.0)
        assert depletion[:, station] == pytest.approx(
            root_zone_balance(rain, eto, **water).depletion_mm, abs=1e-9
        )
    single: dict[str, Any] = {name: column.astype(np.float32) for name, column in weather.items()}
    rough = np.concatenate([eto for _, eto, _ in grid_water(single, elevation_m=50.0, **water)])
    exact = np.concatenate([eto for _, eto, _ in blocks])
    assert rough.dtype == np.float32
    assert np.abs(rough - exact).max() < 1e-3


def test_stress_has_its_ends() -> None:
    assert stress_factor([0.0, 40.0, 70.0, 100.0, 120.0], 100.0, 40.0) == pytest.approx(
        [1.0, 1.0, 0.5, 0.0, 0.0]
    )


def test_soil_temperature_of_stations_side_by_side() -> None:
    air = np.random.default_rng(2).normal(10.0, 6.0, (50, 3))
    together = soil_temperature_c(air, 2.0, start_c=9.0)
    for station in range(3):
        assert together[:, station] == pytest.approx(soil_temperature_c(air[:, station], 2.0, start_c=9.0))
