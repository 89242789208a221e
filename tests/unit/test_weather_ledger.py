"""Weather in the ledger: what comes back is what was measured."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from underoak.errors import UserMistake
from underoak.ledger.connection import Ledger
from underoak.ledger.database import open_ledger, writing
from underoak.ledger.weather import days_of, load_series, stations, store_series
from underoak.model.weather import Station, WeatherSeries


@pytest.fixture
def ledger(tmp_path: Path) -> Iterator[Ledger]:
    connection = open_ledger(tmp_path / "ledger.sqlite3", create=True)
    yield connection
    connection.close()


def _series(first: date, rain: list[float], *, forecast: bool = False, **more: list[float]) -> WeatherSeries:
    values = {
        "rain_mm": np.array(rain, dtype=float),
        **{k: np.array(v, dtype=float) for k, v in more.items()},
    }
    return WeatherSeries(Station("oak", "Oak Hill"), first, values, np.full(len(rain), forecast), {})


def _store(ledger: Ledger, series: WeatherSeries) -> int:
    with writing(ledger):
        return store_series(ledger, series)


def test_what_comes_back_is_what_was_stored(ledger: Ledger) -> None:
    rain = np.random.default_rng(1).gamma(1.0, 5.0, 200).tolist()
    rain[17] = np.nan
    assert _store(ledger, _series(date(2015, 8, 1), rain)) == 199
    series = load_series(ledger, "oak")
    assert series.first_day == date(2015, 8, 1)
    assert np.array_equal(series.values["rain_mm"], rain, equal_nan=True)
    assert list(series.values) == ["rain_mm"]
    part = load_series(ledger, "oak", since=date(2015, 9, 1), until=date(2015, 9, 10))
    assert (part.first_day, part.last_day) == (date(2015, 9, 1), date(2015, 9, 10))


def test_a_later_file_adds_and_never_erases(ledger: Ledger) -> None:
    _store(ledger, _series(date(2015, 8, 1), [1.0, 2.0, 3.0]))
    _store(ledger, _series(date(2015, 8, 2), [np.nan, 5.0], tmin_c=[7.0, 8.0]))
    series = load_series(ledger, "oak")
    assert series.values["rain_mm"].tolist() == [1.0, 2.0, 5.0]
    assert series.values["tmin_c"].tolist()[1:] == [7.0, 8.0]


def test_observed_wins_over_forecast(ledger: Ledger) -> None:
    _store(ledger, _series(date(2015, 8, 3), [9.0, 9.0], forecast=True))
    _store(ledger, _series(date(2015, 8, 1), [1.0, 2.0, 3.0]))
    series = load_series(ledger, "oak")
    assert series.values["rain_mm"].tolist() == [1.0, 2.0, 3.0, 9.0]
    assert series.forecast.tolist() == [False, False, False, True]
    assert next(days_of(ledger))[1:] == (date(2015, 8, 1), date(2015, 8, 4), 3)


def test_filled_values_are_not_stored(ledger: Ledger) -> None:
    series = _series(date(2015, 8, 1), [1.0, 2.0, 3.0])
    _store(ledger, replace(series, filled={"rain_mm": np.array([False, True, False])}))
    assert np.isnan(load_series(ledger, "oak").values["rain_mm"][1])


def test_a_known_position_is_kept(ledger: Ledger) -> None:
    series = _series(date(2015, 8, 1), [1.0])
    _store(ledger, replace(series, station=Station("oak", "Oak Hill", 41.0, -74.0, 300.0)))
    _store(ledger, series)
    assert stations(ledger) == (Station("oak", "Oak Hill", 41.0, -74.0, 300.0),)


def test_nothing_is_stored_when_the_transaction_fails(ledger: Ledger) -> None:
    with pytest.raises(sqlite3.IntegrityError):
        _store(ledger, _series(date(2015, 8, 1), [1.0, -1.0]))
    assert stations(ledger) == ()


def test_unknown_station_and_empty_time(ledger: Ledger) -> None:
    with pytest.raises(UserMistake, match="no weather station"):
        load_series(ledger, "elm")
    _store(ledger, _series(date(2015, 8, 1), [1.0]))
    with pytest.raises(UserMistake, match="has no weather between"):
        load_series(ledger, "oak", since=date(2020, 1, 1))
