"""Stations get their places from a list, also when the list came before their weather."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path

from tests.journeys.command import underoak
from underoak.ledger.database import open_ledger
from underoak.ledger.weather import stations
from underoak.settings import Home


def test_a_list_of_stations_may_come_before_or_after_the_weather(home: Home, tmp_path: Path) -> None:
    places = tmp_path / "stations.csv"
    places.write_text("station,name,latitude,longitude,elevation\nOAK1,Oak Hill,41.5,-74.2,300\n")
    weather = tmp_path / "weather.csv"
    weather.write_text("station,date,rain_mm,tmin_c,tmax_c\nOAK1,2024-09-01,1.0,10.0,20.0\n")
    for kind, file in (("stations", places), ("weather", weather), ("stations", places)):
        answer = underoak("load", kind, file, home=home.folder)
        assert answer.code == 0, answer.err
    with closing(open_ledger(home.ledger)) as connection:
        (station,) = stations(connection)
    assert (station.name, station.latitude_deg, station.elevation_m) == ("Oak Hill", 41.5, 300.0)
