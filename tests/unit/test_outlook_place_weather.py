"""The weather of places: stations blended, gaps and age told, far stations refused."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import numpy.typing as npt
import pytest

from underoak.desk.around_week import around_week
from underoak.desk.doubtful_rain import without_doubtful_rain
from underoak.desk.place_weather import nearest_series, place_climates
from underoak.ledger.connection import Ledger
from underoak.ledger.database import open_ledger, writing
from underoak.ledger.places import store_places, store_spots
from underoak.ledger.weather import store_series
from underoak.model.ground import Permission, Place, Spot
from underoak.model.household import Whereabouts
from underoak.model.weather import Station, WeatherSeries
from underoak.outlook.drivers import GroundFact
from underoak.settings import Home

TODAY = date(2025, 9, 26)
FIRST = date(2019, 1, 1)


def series(
    name: str,
    *,
    north_km: float = 0.0,
    elevation_m: float | None = 200.0,
    last: date = TODAY,
    forecast_days: int = 0,
    rain: npt.NDArray[np.float64] | None = None,
    colder_c: float = 0.0,
) -> WeatherSeries:
    days = (last - FIRST).days + 1 + forecast_days
    of_year = np.array([(FIRST + timedelta(days=n)).timetuple().tm_yday for n in range(days)], dtype=float)
    tmax = 16.0 - 14.0 * np.cos(2.0 * np.pi * (of_year - 20.0) / 365.0) - colder_c
    showers = np.where(np.arange(days) % 4 == 0, 12.0, 0.0)
    values = {"rain_mm": showers if rain is None else rain, "tmax_c": tmax, "tmin_c": tmax - 9.0}
    ahead = np.arange(days) >= days - forecast_days
    station = Station(name.casefold(), name, 41.5 + north_km / 111.2, -74.5, elevation_m)
    return WeatherSeries(station, FIRST, values, ahead, {n: np.zeros(days, dtype=bool) for n in values})


def square(place_id: str, name: str, lat: float) -> Place:
    ring = ((-74.505, lat), (-74.495, lat), (-74.495, lat + 0.01), (-74.505, lat + 0.01), (-74.505, lat))
    return Place(place_id, name, ((ring,),), Permission("allowed"))


HIGH, LOW = square("high", "High Oaks", 41.5), square("low", "Low Wood", 41.9)


@pytest.fixture
def ledger(home: Home) -> Iterator[Ledger]:
    connection = open_ledger(home.ledger)
    with writing(connection):
        store_places(connection, [HIGH, LOW])
    yield connection
    connection.close()


@pytest.fixture
def where(home: Home) -> Whereabouts:
    return home.settings.where


def store(connection: Ledger, *some: WeatherSeries) -> None:
    with writing(connection):
        for one in some:
            store_series(connection, one)


def test_stations_are_blended_and_told_with_their_weights(ledger: Ledger, where: Whereabouts) -> None:
    store(ledger, series("Near", north_km=10.0), series("Far", north_km=-20.0, colder_c=2.0))
    climates, note = place_climates(ledger, where, [HIGH], today=TODAY)
    assert [s.name for s in note.stations] == ["Near", "Far"]
    assert sum(s.share for s in note.stations) == pytest.approx(1.0)
    assert note.stations[0].share == pytest.approx(0.8, abs=0.02), "inverse square of 10 and 20 km"
    words = " ".join(note.notes)
    assert "blended from Near (10 km, 80 %), Far (20 km, 20 %)" in words
    assert "differ by 0.0 mm of rain and 0.8 °C at night a day" in words, "2 sqrt(0.8 x 0.2)"
    assert climates["high"].seasons


def test_the_page_shows_the_blend_for_home_and_names_its_stations(
    ledger: Ledger, home: Home, where: Whereabouts
) -> None:
    """A station at home's own height on each side: the strip lies between them, by inverse squares."""
    north = 111.2 * (where.latitude_deg - 41.5)
    near, far = (
        series(name, north_km=north + km, elevation_m=where.elevation_m, colder_c=colder)
        for name, km, colder in (("Near", 10.0, 0.0), ("Far", -20.0, 5.0))
    )
    store(ledger, near, far)
    around = around_week(home, today=TODAY)
    today = next(day for day in around.weather if day.day == TODAY)
    assert today.tmin_c == pytest.approx(near.values["tmin_c"][-1] - 5.0 * around.stations[1].share)
    assert [s.name for s in around.stations] == ["Near", "Far"]
    assert around.weather_of.startswith("Near (")
    assert "%), Far (" in around.weather_of


def test_each_place_leans_on_its_own_stations(ledger: Ledger, where: Whereabouts) -> None:
    store(ledger, series("South", north_km=0.0), series("North", north_km=45.0, colder_c=4.0))
    climates, _ = place_climates(ledger, where, [HIGH, LOW], today=TODAY)
    soil = {
        place: next(fact.value for fact in here.facts if fact.name == "soil_temp_10cm_c")
        for place, here in climates.items()
    }
    assert soil["high"] - soil["low"] == pytest.approx(4.0, abs=0.7)


def test_a_station_that_stopped_leaves_the_field_to_the_others(ledger: Ledger, where: Whereabouts) -> None:
    store(ledger, series("Stopped", last=TODAY - timedelta(days=20)), series("Running", north_km=30.0))
    _, note = place_climates(ledger, where, [HIGH], today=TODAY)
    assert note.observed_to == TODAY
    assert "days ago" not in " ".join(note.notes)


def test_a_far_station_is_refused_in_words(ledger: Ledger, where: Whereabouts) -> None:
    store(ledger, series("Elsewhere", north_km=300.0))
    climates, note = place_climates(ledger, where, [HIGH], today=TODAY)
    assert note.station == ""
    assert "Elsewhere, is 300 km away: too far to use" in note.notes[0]
    assert "still answer" in note.notes[0]
    assert climates["high"].seasons == {}
    assert nearest_series(ledger, where, today=TODAY) is None


def test_a_near_station_without_temperature_is_helped_out(ledger: Ledger, where: Whereabouts) -> None:
    whole = series("Rain only")
    rain_only = replace(whole, values={"rain_mm": whole.values["rain_mm"]}, filled={})
    store(ledger, rain_only, series("Complete", north_km=30.0))
    climates, note = place_climates(ledger, where, [HIGH], today=TODAY)
    assert note.station == "Rain only"
    assert climates["high"].of(2025).known_to > 0


def test_without_any_temperature_the_trouble_is_told(ledger: Ledger, where: Whereabouts) -> None:
    whole = series("Rain only")
    store(ledger, replace(whole, values={"rain_mm": whole.values["rain_mm"]}, filled={}))
    climates, note = place_climates(ledger, where, [HIGH], today=TODAY)
    assert "tmin_c is missing" in note.notes[0]
    assert climates["high"].seasons == {}


def test_weather_that_ended_last_week_is_carried_on_by_past_years(ledger: Ledger, where: Whereabouts) -> None:
    store(ledger, series("Near", last=TODAY - timedelta(days=7)))
    climates, note = place_climates(ledger, where, [HIGH], today=TODAY)
    assert note.past_years == (2019, 2020, 2021, 2022, 2023, 2024)
    assert set(climates["high"].futures) == set(note.past_years)
    words = " ".join(note.notes)
    assert "7 days ago: the days since then go as they went in 6 past years (2019 to 2024)" in words
    assert "No forecast is loaded: the days ahead go as they went" in words


def test_weather_that_ended_last_year_is_not_carried_on(ledger: Ledger, where: Whereabouts) -> None:
    store(ledger, series("Near", last=TODAY - timedelta(days=200)))
    climates, note = place_climates(ledger, where, [HIGH], today=TODAY)
    assert climates["high"].futures == {}
    assert "200 days ago: frost and warmth since then are taken as usual" in " ".join(note.notes)


def test_gaps_in_the_rain_are_told_where_they_leave_the_ground_open(
    ledger: Ledger, where: Whereabouts
) -> None:
    whole = series("Near")
    rain = whole.values["rain_mm"].copy()
    rain[-20:] = np.nan
    store(ledger, series("Near", rain=rain))
    _, note = place_climates(ledger, where, [HIGH], today=TODAY)
    litter = fact(note.ground, "litter_wetness")
    assert litter.low < litter.value <= litter.high
    assert "Rain is missing on 20 of the last 60 days" in " ".join(note.notes)
    assert f"the litter from {100 * litter.low:.0f} to {100 * litter.high:.0f} % wet" in " ".join(note.notes)


def test_without_gaps_the_ground_is_certain_and_nothing_is_told(ledger: Ledger, where: Whereabouts) -> None:
    store(ledger, series("Near", forecast_days=7))
    _, note = place_climates(ledger, where, [HIGH], today=TODAY)
    litter = fact(note.ground, "litter_wetness")
    assert litter.high - litter.low < 1e-6
    assert note.notes == ()


def fact(facts: tuple[GroundFact, ...], name: str) -> GroundFact:
    return next(one for one in facts if one.name == name)


def test_rain_that_stopped_being_read_is_doubted_and_not_used(ledger: Ledger, where: Whereabouts) -> None:
    rain = series("Near").values["rain_mm"].copy()
    rain[-70:] = 0.0
    store(ledger, series("Near", rain=rain))
    _, note = place_climates(ledger, where, [HIGH], today=TODAY)
    assert "Rain is zero" in " ".join(note.notes)
    assert "chances do not lean on rain" in " ".join(note.notes)
    assert {one.name for one in note.ground} == {"soil_temp_10cm_c"}


def test_another_station_has_rain_where_the_nearest_reads_none() -> None:
    broken = series("Near", rain=np.zeros(series("Near").days))
    kept, doubted = without_doubtful_rain([broken, series("Other", north_km=20.0)])
    assert doubted == ["Near"]
    assert np.isnan(kept[0].values["rain_mm"]).all()
    assert np.isfinite(kept[1].values["rain_mm"]).all()


def test_a_summer_that_is_dry_every_year_is_believed() -> None:
    whole = series("Dry land")
    of_year = np.array([(FIRST + timedelta(days=n)).timetuple().tm_yday for n in range(whole.days)])
    rain = np.where((of_year > 150) & (of_year < 290), 0.0, whole.values["rain_mm"])
    kept, doubted = without_doubtful_rain([series("Dry land", rain=rain)])
    assert doubted == []
    assert kept[0].values["rain_mm"] == pytest.approx(rain)


def test_places_with_a_spot_come_along(ledger: Ledger, where: Whereabouts) -> None:
    with writing(ledger):
        store_spots(ledger, [Spot("far", "low", "far oak", -74.5, 41.9, "white_oak", 60.0)])
    climates, _ = place_climates(ledger, where, [HIGH], today=TODAY)
    assert set(climates) == {"high", "low"}
