"""Where stations stand, as the archive lists them and as people say it."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import numpy as np
import pytest

from underoak.errors import BadData, UserMistake
from underoak.intake.weather_stations import read_stations, station_from_text
from underoak.ledger.connection import Ledger
from underoak.ledger.database import open_ledger, writing
from underoak.ledger.weather import place_stations, stations, store_series
from underoak.model.weather import Station, WeatherSeries

LIST = (
    "USW00094728  40.7789  -73.9692   42.7 NY NEW YORK CNTRL PK TWR          GSN     72506\n"
    "USW00014839  42.9550  -87.9044  204.5 WI MILWAUKEE MITCHELL AP              HCN 72640\n"
    "US1NYAB0001  42.6670  -74.0509 -999.9 NY COEYMANS 1.1 W                              \n"
)


def test_the_archive_list(tmp_path: Path) -> None:
    path = tmp_path / "stations.txt"
    path.write_text(LIST, "utf-8")
    park, _, unknown = read_stations(path).records
    assert park == Station("usw00094728", "NEW YORK CNTRL PK TWR", 40.7789, -73.9692, 42.7)
    assert unknown.elevation_m is None
    path.write_text(LIST + "this is no station\n", "utf-8")
    reading = read_stations(path)
    assert len(reading.records) == 3
    assert "stations.txt, line 4" in reading.problems[0].where


def test_a_small_table(tmp_path: Path) -> None:
    path = tmp_path / "stations.csv"
    path.write_text("station,name,lat,lon,elev\na1,Mill,41.4,-74.1,90\na2,Hill,-174.1,41.4,\n", "utf-8")
    reading = read_stations(path)
    assert reading.records == (Station("a1", "Mill", 41.4, -74.1, 90.0),)
    assert (
        "line 3: the latitude of a2 is -174.1: latitude and longitude may be swapped"
        in reading.problems[0].sentence()
    )
    path.write_text("name,lat\nMill,41.4\n", "utf-8")
    with pytest.raises(BadData, match="no column holds the station"):
        read_stations(path)


def test_a_station_in_one_line() -> None:
    assert station_from_text("Oak Hill") == Station("oak-hill", "Oak Hill")
    assert station_from_text("Oak Hill, 41.5, -74.2, 300") == Station(
        "oak-hill", "Oak Hill", 41.5, -74.2, 300.0
    )
    assert station_from_text("Oak Hill, 41.5, -74.2").elevation_m is None
    for wrong in ("", "Oak Hill, 41.5", "Oak Hill, north, west", "Oak Hill, 141.5, -74.2"):
        with pytest.raises(UserMistake, match="tells no station"):
            station_from_text(wrong)


def test_only_known_stations_are_placed(tmp_path: Path) -> None:
    connection: Ledger = open_ledger(tmp_path / "ledger.sqlite3", create=True)
    series = WeatherSeries(
        Station("usw00094728", "USW00094728"),
        date(2015, 1, 1),
        {"rain_mm": np.ones(2)},
        np.zeros(2, dtype=bool),
        {},
    )
    path = tmp_path / "stations.txt"
    path.write_text(LIST, "utf-8")
    with writing(connection):
        store_series(connection, series)
        assert place_stations(connection, read_stations(path).records) == 1
        store_series(connection, series)
    assert stations(connection) == (Station("usw00094728", "NEW YORK CNTRL PK TWR", 40.7789, -73.9692, 42.7),)
    connection.close()
