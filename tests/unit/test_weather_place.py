"""Weather of a place from several stations, and what usually comes there."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest

from underoak.errors import NoAnswer
from underoak.intake.reading import Reading
from underoak.intake.weather import read_weather
from underoak.intake.weather_table import TableOptions
from underoak.model.weather import Station, WeatherSeries
from underoak.weather.blend import blend, distance_km
from underoak.weather.climate import continuations, ground_fan, summer_anomaly_c
from underoak.weather.evapotranspiration import hargreaves_mm
from underoak.weather.frost import frost_chance, station_first_frosts
from underoak.weather.ground_state import ground_state
from underoak.weather.lapse import at_elevation
from underoak.weather.vapour import air_pressure_kpa, saturation_vapour_pressure_kpa
from underoak.weather.windows import mean_before, sum_before, water_balance_mm
from underoak.weather.wood import FULL_STORE, drought_code, wood_balance

NEW_YORK = Path(__file__).parents[1] / "data" / "new_york_2012_2015.csv"
MILWAUKEE = Path(__file__).parents[3] / "shared" / "data" / "phenology" / "milwaukee_USW00014839_daily.csv"


@pytest.fixture(scope="module")
def new_york() -> WeatherSeries:
    (series,) = read_weather(NEW_YORK).records
    return replace(series, station=Station("new-york", "New York", 40.78, -73.97, 40.0))


def _station(
    code: str,
    latitude: float | None,
    rain: list[float],
    *,
    low: float = 5.0,
    elevation: float | None = 100.0,
    forecast: bool = False,
) -> WeatherSeries:
    days = len(rain)
    values = {"rain_mm": np.array(rain), "tmin_c": np.full(days, low), "tmax_c": np.full(days, low + 10.0)}
    longitude = None if latitude is None else -74.0
    station = Station(code, code.upper(), latitude, longitude, elevation)
    return WeatherSeries(station, date(2015, 10, 1), values, np.full(days, forecast), {})


def _blend(*stations: WeatherSeries, elevation_m: float = 100.0):  # type: ignore[no-untyped-def]
    return blend(stations, latitude_deg=41.0, longitude_deg=-74.0, elevation_m=elevation_m)


def test_equally_far_stations_weigh_the_same() -> None:
    found = _blend(_station("a", 41.1, [4.0], low=2.0), _station("b", 40.9, [8.0], low=6.0))
    assert found.series.values["tmin_c"] == pytest.approx([4.0], abs=1e-3)
    assert found.series.values["rain_mm"] == pytest.approx([6.0], abs=1e-2)
    assert found.spread["tmin_c"] == pytest.approx([2.0], abs=1e-3)
    assert [source.share for source in found.sources] == pytest.approx([0.5, 0.5], abs=1e-3)


def test_twice_as_far_weighs_a_quarter() -> None:
    near, far = _blend(_station("a", 41.1, [4.0]), _station("b", 40.8, [8.0])).sources
    assert far.distance_km == pytest.approx(2.0 * near.distance_km, rel=1e-6)
    assert near.share / far.share == pytest.approx(4.0, rel=1e-6)


def test_rain_falls_where_most_of_the_weight_had_rain() -> None:
    stations = [
        _station("a", 41.1, [0.0, 6.0]),
        _station("b", 40.9, [0.0, 0.0]),
        _station("c", 41.101, [9.0, 8.0]),
    ]
    dry, wet = _blend(*stations).series.values["rain_mm"]
    assert dry == 0.0, "a third of the weight is no rain"
    assert wet == pytest.approx(7.0, abs=0.05), "the mean of the wet stations, not of all"


def test_gaps_are_bridged_by_the_other_station() -> None:
    found = _blend(_station("a", 41.1, [1.0, math.nan]), _station("b", 40.9, [1.0, 3.0]))
    assert found.series.values["rain_mm"] == pytest.approx([1.0, 3.0])
    assert np.isnan(found.spread["rain_mm"][1])


def test_observed_days_beat_forecast_ones() -> None:
    ahead = _station("b", 40.9, [9.0, 9.0, 9.0], forecast=True)
    found = _blend(_station("a", 41.2, [1.0, 2.0]), ahead)
    assert found.series.values["rain_mm"] == pytest.approx([1.0, 2.0, 9.0])
    assert found.series.forecast.tolist() == [False, False, True]


def test_a_far_station_is_refused_in_words() -> None:
    far = _station("b", 43.7, [1.0])
    with pytest.raises(NoAnswer, match=r"nearest station, B, is 300 km from this place.*within 150 km"):
        _blend(far)
    assert len(_blend(far, _station("a", 41.1, [1.0])).sources) == 1
    with pytest.raises(NoAnswer, match="no weather is known"):
        _blend()


def test_a_station_without_position_serves_only_alone() -> None:
    lost = _station("lost", None, [5.0])
    assert _blend(lost).series.values["rain_mm"] == pytest.approx([5.0])
    assert [s.station.id for s in _blend(lost, _station("a", 41.1, [1.0])).sources] == ["a"]


def test_higher_is_colder_and_wetter() -> None:
    found = _blend(_station("a", 41.0, [10.0], low=8.0), elevation_m=600.0)
    assert found.series.values["tmin_c"][0] == pytest.approx(8.0 - 6.8 * 0.5)
    assert found.series.values["rain_mm"][0] == pytest.approx(10.0 * 1.125 / 0.875)
    unknown = _blend(_station("a", 41.0, [10.0], low=8.0, elevation=None), elevation_m=600.0)
    assert unknown.series.values["tmin_c"][0] == 8.0
    assert unknown.sources[0].climb_m is None


def test_dew_point_follows_vapour_pressure_up_the_hill() -> None:
    series = replace(_station("a", 41.0, [0.0]), values={"dewpoint_c": np.array([8.0])})
    there = at_elevation(series, 600.0).values["dewpoint_c"][0]
    assert there == pytest.approx(8.0 - 0.37 * 237.3 / 17.27 * 0.5)
    back = at_elevation(replace(series, station=replace(series.station, elevation_m=600.0)), 100.0)
    assert back.values["dewpoint_c"][0] > 8.0


def test_distance_beside_geographiclib() -> None:
    from geographiclib.geodesic import Geodesic

    for latitude, longitude in ((41.0, -74.5), (43.7, -74.0), (40.0, -80.0)):
        theirs = Geodesic.WGS84.Inverse(40.78, -73.97, latitude, longitude)["s12"] / 1000.0
        assert distance_km(40.78, -73.97, latitude, longitude) == pytest.approx(theirs, rel=0.005)


def test_air_beside_psychrolib() -> None:
    import psychrolib

    psychrolib.SetUnitSystem(psychrolib.SI)
    for celsius in (1.0, 10.0, 20.0, 35.0):
        theirs = psychrolib.GetSatVapPres(celsius) / 1000.0
        assert saturation_vapour_pressure_kpa(celsius) == pytest.approx(theirs, rel=0.003)
    for metres in (0.0, 300.0, 1800.0):
        theirs = psychrolib.GetStandardAtmPressure(metres) / 1000.0
        assert air_pressure_kpa(metres) == pytest.approx(theirs, rel=0.012), "293 K at sea level, not 288"


def test_wood_store_is_the_printed_recursion(new_york: WeatherSeries) -> None:
    rain, noon = new_york.values["rain_mm"], new_york.values["tmax_c"]
    wood = wood_balance(rain, noon, first_day=new_york.first_day, latitude_deg=40.8)
    factors = (-1.6, -1.6, -1.6, 0.9, 3.8, 5.8, 6.4, 5.0, 2.4, 0.4, -1.6, -1.6)
    code, codes = 0.0, []
    for number, (wet, warm) in enumerate(zip(rain.tolist(), noon.tolist(), strict=True)):
        if wet > 2.8:
            store = 800.0 * math.exp(-code / 400.0) + 3.937 * (0.83 * wet - 1.27)
            code = max(400.0 * math.log(800.0 / store), 0.0)
        month = (new_york.first_day + timedelta(days=number)).month
        code += 0.5 * max(0.36 * (max(warm, -2.8) + 2.8) + factors[month - 1], 0.0)
        codes.append(code)
    assert drought_code(wood.store_mm) == pytest.approx(codes, abs=1e-6)
    assert (wood.store_mm <= FULL_STORE).all()


def test_windows_beside_pandas(new_york: WeatherSeries) -> None:
    import pandas as pd

    rain = new_york.values["rain_mm"]
    rolling = pd.Series(rain).rolling(21).sum().shift(10).to_numpy()
    assert sum_before(rain, 10, 30) == pytest.approx(rolling, nan_ok=True, abs=1e-9)
    mean = pd.Series(rain).rolling(10).mean().to_numpy()
    assert mean_before(rain, 0, 9) == pytest.approx(mean, nan_ok=True, abs=1e-9)
    eto = hargreaves_mm(new_york.values["tmin_c"], new_york.values["tmax_c"], 30.0)
    balance = pd.Series(rain - eto).rolling(30).sum().to_numpy()
    assert water_balance_mm(rain, eto, 30) == pytest.approx(balance, nan_ok=True, abs=1e-9)


def test_past_years_carry_the_record_on(new_york: WeatherSeries) -> None:
    cut = _until(new_york, date(2015, 10, 4))
    runs = continuations(cut, 30)
    assert [run.year for run in runs] == [2012, 2013, 2014]
    run = runs[1]
    assert run.series.last_day == date(2015, 11, 3)
    at = new_york.index(date(2013, 10, 5))
    assert run.series.values["rain_mm"][-30:].tolist() == new_york.values["rain_mm"][at : at + 30].tolist()
    assert run.series.forecast[-30:].all()
    assert not run.series.forecast[:-30].any()
    with pytest.raises(NoAnswer, match="at least 3 years"):
        continuations(_until(new_york, date(2014, 10, 4)), 30)


def test_fan_opens_where_the_weather_ends(new_york: WeatherSeries) -> None:
    cut = _until(new_york, date(2015, 10, 4))
    fan = ground_fan(cut, date(2015, 10, 1), 30, latitude_deg=40.78, elevation_m=40.0)
    assert (fan.known_days, fan.years) == (4, (2012, 2013, 2014))
    wetness = fan.quantiles["root_wetness"]
    assert wetness.shape == (5, 30)
    width = wetness[-1] - wetness[0]
    assert width[:4].max() < 1e-9
    assert width[10:].max() > 0.02
    assert (np.diff(wetness, axis=0) >= -1e-12).all()
    truth = ground_state(new_york, latitude_deg=40.78, elevation_m=40.0).root_wetness[
        new_york.index(date(2015, 10, 1)) :
    ]
    assert wetness[2][:4] == pytest.approx(truth[:4], abs=1e-3)


def test_weather_that_ended_last_week_still_answers(new_york: WeatherSeries) -> None:
    cut = _until(new_york, date(2015, 10, 4))
    fan = ground_fan(cut, date(2015, 10, 12), 10, latitude_deg=40.78, elevation_m=40.0)
    assert fan.known_days == 0
    assert fan.quantiles["soil_temp_10cm_c"].shape == (5, 10)
    with pytest.raises(NoAnswer, match="ends on 2015-10-04, 88 days before"):
        ground_fan(cut, date(2016, 1, 1), 10, latitude_deg=40.78, elevation_m=40.0)


def test_a_fan_within_the_record_needs_no_past_years(new_york: WeatherSeries) -> None:
    short = _until(new_york, date(2012, 10, 30))
    fan = ground_fan(short, date(2012, 10, 20), 10, latitude_deg=40.78, elevation_m=40.0)
    assert (fan.known_days, fan.years) == (10, ())


def _until(series: WeatherSeries, last: date) -> WeatherSeries:
    days = series.index(last) + 1
    values = {name: column[:days] for name, column in series.values.items()}
    return replace(series, values=values, forecast=series.forecast[:days])


def test_summer_anomaly(new_york: WeatherSeries) -> None:
    import pandas as pd

    days = pd.date_range(new_york.first_day, periods=new_york.days)
    mean = pd.Series(0.5 * (new_york.values["tmin_c"] + new_york.values["tmax_c"]), days)
    summers = mean[mean.index.month.isin([7, 8])].groupby(lambda day: day.year).mean()
    expected = summers[2014] - summers.drop(2014).mean()
    assert summer_anomaly_c(new_york, 2014) == pytest.approx(expected)
    with pytest.raises(NoAnswer, match="no summer of 2016"):
        summer_anomaly_c(new_york, 2016)


def test_filled_rain_widens_the_bounds(new_york: WeatherSeries) -> None:
    values = dict(new_york.values)
    values["rain_mm"] = values["rain_mm"].copy()
    gap = slice(new_york.index(date(2014, 8, 20)), new_york.index(date(2014, 9, 20)))
    truth = ground_state(new_york, latitude_deg=40.78, elevation_m=40.0)
    values["rain_mm"][gap] = np.nan
    state = ground_state(replace(new_york, values=values), latitude_deg=40.78, elevation_m=40.0)
    width = state.root_wetness_high - state.root_wetness_low
    assert width[gap.start - 1] < 1e-9
    assert width[gap.stop - 1] > 0.1
    assert width[new_york.index(date(2015, 4, 1))] < 0.01
    assert (state.root_wetness >= state.root_wetness_low - 1e-9).all()
    assert (state.root_wetness <= state.root_wetness_high + 1e-9).all()
    within = (truth.root_wetness >= state.root_wetness_low - 1e-9) & (
        truth.root_wetness <= state.root_wetness_high + 1e-9
    )
    assert within.mean() > 0.95


def test_wood_wets_and_dries_more_slowly_than_litter(new_york: WeatherSeries) -> None:
    state = ground_state(new_york, latitude_deg=40.78, elevation_m=40.0)
    assert np.abs(np.diff(state.wood_wetness)).mean() < 0.3 * np.abs(np.diff(state.litter_wetness)).mean()


def test_chance_of_frost_when_none_has_come_yet(new_york: WeatherSeries) -> None:
    chance = frost_chance(station_first_frosts(new_york))
    today, soon = date(2015, 11, 10), date(2015, 11, 17)
    assert chance.by_if_none_before(soon, today) > chance.by(soon) - chance.by(today)
    assert chance.by_if_none_before(today, today) == pytest.approx(0.0)
    assert chance.by_if_none_before(date(2016, 2, 1), date(2016, 1, 31)) == 1.0


@pytest.fixture(scope="module")
def milwaukee() -> Reading[tuple[WeatherSeries, ...]]:
    if not MILWAUKEE.exists():
        pytest.skip("the long Milwaukee series is not beside the project (shared/data/phenology)")
    return read_weather(MILWAUKEE, TableOptions(units="us"))


@pytest.mark.outside
def test_ninety_years_of_a_lake_city(milwaukee: Reading[tuple[WeatherSeries, ...]]) -> None:
    assert ["go backward" in p.what for p in milwaukee.problems] == [True], "one row is out of order"
    (series,) = milwaukee.records
    assert series.days > 32_000
    frosts = station_first_frosts(series)
    chance = frost_chance(frosts)
    assert chance.years >= 80
    assert chance.frosted == chance.years
    early, late = chance.day_at(0.1, 2026), chance.day_at(0.9, 2026)
    assert early is not None
    assert late is not None
    assert date(2026, 9, 15) < early < late < date(2026, 11, 30)
    known = [f.day for f in frosts if f.valid and f.day is not None]
    early_ones = sum((day.month, day.day) <= (early.month, early.day) for day in known) / len(known)
    assert early_ones == pytest.approx(0.1, abs=0.07)


@pytest.mark.outside
def test_the_fan_holds_what_came(milwaukee: Reading[tuple[WeatherSeries, ...]]) -> None:
    """Nine tenths of what came in past autumns lies within the fan drawn from the years before it."""
    (series,) = milwaukee.records
    truth = ground_state(series, latitude_deg=43.0, elevation_m=200.0)
    names = ("litter_wetness", "root_wetness", "soil_temp_10cm_c", "wood_wetness")
    held = []
    for year in range(1980, 2025, 4):
        first = date(year, 9, 21)
        fan = ground_fan(
            _until(series, first - timedelta(days=1)),
            first,
            20,
            latitude_deg=43.0,
            elevation_m=200.0,
            names=names,
        )
        for name in names:
            came = getattr(truth, name)[series.index(first) :][[4, 9, 19]]
            low, high = fan.quantiles[name][0][[4, 9, 19]], fan.quantiles[name][-1][[4, 9, 19]]
            held += ((low - 1e-9 <= came) & (came <= high + 1e-9)).tolist()
    assert 0.80 <= np.mean(held) <= 0.97
