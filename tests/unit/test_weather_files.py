"""Weather files as people have them: what is understood, and what is refused in which words."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from underoak.errors import BadData, UserMistake
from underoak.intake.reading import Reading
from underoak.intake.weather import read_weather
from underoak.intake.weather_table import TableOptions
from underoak.model.weather import Station, WeatherSeries

NEW_YORK = Path(__file__).parents[1] / "data" / "new_york_2012_2015.csv"
HEADER = "date,rain_mm,tmin_c,tmax_c\n"


def _write(folder: Path, text: str, name: str = "weather.csv") -> Path:
    path = folder / name
    path.write_text(text, "utf-8")
    return path


def _read(folder: Path, text: str, **options: object) -> Reading[tuple[WeatherSeries, ...]]:
    return read_weather(_write(folder, text), TableOptions(**options))  # type: ignore[arg-type]


def _sentences(reading: Reading[tuple[WeatherSeries, ...]]) -> str:
    return "\n".join(p.sentence() for p in reading.problems)


def _autumn(days: int, row: str = "{day},{rain},{low},{high}") -> str:
    calendar = np.datetime64("2015-08-01") + np.arange(days)
    return "\n".join(
        row.format(day=day, rain=(i % 3) * 4.2, low=round(12 - i * 0.05, 1), high=round(22 - i * 0.05, 1))
        for i, day in enumerate(calendar.tolist())
    )


def test_a_real_table_is_understood_by_its_words() -> None:
    reading = read_weather(NEW_YORK)
    (series,) = reading.records
    assert not reading.problems
    assert (series.first_day, series.last_day) == (date(2012, 1, 1), date(2015, 12, 31))
    assert series.values["rain_mm"].max() == pytest.approx(118.9)
    assert series.values["tmin_c"].min() == pytest.approx(-16.0)
    assert "precipitation = rain_mm (mm, assumed)" in reading.understood[0]


def test_units_in_headers_are_converted(tmp_path: Path) -> None:
    text = "Date;Precip (in);Temp Min (°F);Temp Max (°F);Wind (mph)\n2015-10-01;1.0;32;212;10\n"
    reading = _read(tmp_path, text.replace("212", "68"), wind_height_m=2.0)
    (series,) = reading.records
    assert series.values["rain_mm"][0] == pytest.approx(25.4)
    assert series.values["tmin_c"][0] == pytest.approx(0.0, abs=1e-9)
    assert series.values["tmax_c"][0] == pytest.approx(20.0)
    assert series.values["wind_m_s"][0] == pytest.approx(4.4704)


def test_a_map_names_columns_that_words_do_not(tmp_path: Path) -> None:
    text = "when,wet,cold,warm\n2015-10-01,0.5,40,60\n"
    columns = {"when": "day", "wet": "rain_in", "cold": "tmin_f", "warm": "tmax_f"}
    (series,) = _read(tmp_path, text, columns=columns).records
    assert series.values["rain_mm"][0] == pytest.approx(12.7)
    with pytest.raises(UserMistake, match="no column 'Wet'"):
        _read(tmp_path, text, columns={"Wet": "rain_in"})
    with pytest.raises(UserMistake, match="is no weather quantity"):
        _read(tmp_path, text, columns={"wet": "humidity"})


def test_gaps_missing_marks_and_traces(tmp_path: Path) -> None:
    text = HEADER + "2015-10-01,T,5,10\n2015-10-02,-9999,NA,11\n2015-10-05,3,,12\n"
    reading = _read(tmp_path, text)
    (series,) = reading.records
    assert not reading.problems
    assert series.days == 5
    assert series.values["rain_mm"][[0, 4]].tolist() == [0.0, 3.0]
    assert np.isnan(series.values["rain_mm"][1:4]).all()
    assert "3 gaps in rain_mm" in reading.understood[1]


def test_several_stations_in_one_table(tmp_path: Path) -> None:
    text = (
        "station,name,latitude,longitude,elevation,date,rain_mm\n"
        'A1,"Oak Hill, upper",41.5,-74.2,300,2015-10-01,1\nB2,Mill,41.4,-74.1,,2015-10-01,2\n'
        'A1,"Oak Hill, upper",41.5,-74.2,300,2015-10-02,3\n'
    )
    first, second = _read(tmp_path, text).records
    assert first.station == Station("a1", "Oak Hill, upper", 41.5, -74.2, 300.0)
    assert first.values["rain_mm"].tolist() == [1.0, 3.0]
    assert second.station.elevation_m is None


def test_days_in_other_orders(tmp_path: Path) -> None:
    rows = "{},1,2,3\n"
    (american,) = _read(tmp_path, HEADER + rows.format("9/30/2015") + rows.format("10/1/2015")).records
    (european,) = _read(tmp_path, HEADER + rows.format("30.09.2015") + rows.format("01.10.2015")).records
    assert american.first_day == european.first_day == date(2015, 9, 30)
    assert american.days == european.days == 2
    with pytest.raises(BadData, match="day first or month first"):
        _read(tmp_path, HEADER + rows.format("01/02/2015"))
    (told,) = _read(tmp_path, HEADER + rows.format("01/02/2015"), date_order="dmy").records
    assert told.first_day == date(2015, 2, 1)
    with pytest.raises(BadData, match="swapped"):
        _read(tmp_path, HEADER + rows.format("9/30/2015"), date_order="dmy")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (HEADER + "2015-13-10,1,2,3\n", ["line 2", "2015-13-10", "day and month are swapped"]),
        (HEADER + "2015-10-02,1,2,3\n2015-10-01,1,2,3\n", ["line 3", "go backward", "ascending"]),
        (HEADER + "2015-10-01,1,2,3\n2015-10-01,1,2,3\n", ["line 3", "second time", "every day once"]),
        (HEADER + "2015-10-01,1,9,3\n", ["line 2", "lowest temperature 9.0 is above the highest 3.0"]),
        (HEADER + "2015-10-01,-3,2,3\n", ["line 2", "rain_mm", "-3 mm is negative"]),
        (HEADER + "2015-10-01,1,2\n", ["line 2", "3 cells", "4, as the header"]),
        (HEADER + "2015-10-01,wet,2,3\n", ["line 2", "rain_mm", "'wet' cannot be read"]),
        (HEADER + "3015-10-01,1,2,3\n", ["line 2", "3015-10-01", "check the year"]),
    ],
)
def test_faults_name_line_and_field(tmp_path: Path, text: str, words: list[str]) -> None:
    if "3 cells" in words:
        with pytest.raises(BadData) as caught:
            _read(tmp_path, text)
        found = "\n".join(p.sentence() for p in caught.value.problems)
    else:
        found = _sentences(_read(tmp_path, text))
    for word in ["weather.csv", *words]:
        assert word in found


def test_an_open_quote_spoils_only_its_line(tmp_path: Path) -> None:
    reading = _read(tmp_path, HEADER + '2015-10-01,"1,2,3\n2015-10-02,1,2,3\n')
    assert "line 2: the row has 2 cells" in _sentences(reading)
    assert reading.records[0].first_day == date(2015, 10, 2)


def test_rain_that_is_always_zero_is_refused(tmp_path: Path) -> None:
    reading = _read(tmp_path, HEADER + _autumn(250).replace(",4.2,", ",0.0,").replace(",8.4,", ",0.0,"))
    assert "rain is zero on all 250 days" in _sentences(reading)
    assert "rain_mm" not in reading.records[0].values


def test_all_faults_at_once_and_the_good_part_kept(tmp_path: Path) -> None:
    text = (
        HEADER + "2015-10-01,-1,2,3\n2015-10-02,1,8,3\n2015-10-02,1,2,3\n2015-10-03,x,2,3\n2015-10-04,1,2,3\n"
    )
    reading = _read(tmp_path, text)
    assert len(reading.problems) == 4
    (series,) = reading.records
    assert series.days == 4
    assert series.values["rain_mm"][3] == 1.0
    assert np.isnan(series.values["tmin_c"][1])


@pytest.mark.parametrize(
    ("unit", "row", "cause"),
    [
        ("Fahrenheit", "{day},1,{f_low},{f_high}", "likely cause is degrees Fahrenheit"),
        ("kelvin", "{day},1,{k_low},{k_high}", "likely cause is kelvin"),
        ("tenths", "{day},1,{t_low},{t_high}", "likely cause is tenths of a degree"),
    ],
)
def test_a_wrong_unit_of_temperature_is_refused(tmp_path: Path, unit: str, row: str, cause: str) -> None:
    (series,) = read_weather(NEW_YORK).records
    low, high = series.values["tmin_c"][:400], series.values["tmax_c"][:400]
    calendar = (np.datetime64("2012-01-01") + np.arange(400)).tolist()
    rows = [
        row.format(
            day=day,
            f_low=a * 1.8 + 32,
            f_high=b * 1.8 + 32,
            k_low=a + 273.15,
            k_high=b + 273.15,
            t_low=a * 10,
            t_high=b * 10,
        )
        for day, a, b in zip(calendar, low.tolist(), high.tolist(), strict=True)
    ]
    found = _sentences(_read(tmp_path, "date,rain_mm,tmin,tmax\n" + "\n".join(rows)))
    assert cause in found
    assert "say the unit" in found


def test_inches_read_as_millimetres_are_refused(tmp_path: Path) -> None:
    (series,) = read_weather(NEW_YORK).records
    calendar = (np.datetime64("2012-01-01") + np.arange(400)).tolist()
    rows = [
        f"{day},{mm / 25.4:.2f}" for day, mm in zip(calendar, series.values["rain_mm"].tolist(), strict=False)
    ]
    assert "likely cause is inches" in _sentences(_read(tmp_path, "date,rain\n" + "\n".join(rows)))
    assert not _read(tmp_path, "date,rain\n" + "\n".join(rows), units="us").problems
    assert not _read(tmp_path, "date,rain_mm\n" + "\n".join(rows)).problems, "the header states the unit"


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "the file is empty"),
        (b"  \n \n", "the file is empty"),
        (b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", "binary file"),
        (b"date,rain_mm\n" + b"1" * 10_000_000, "one line has 10000000 characters"),
        (b"date,rain_mm\n", "no row"),
        (b"colour,taste\nred,sweet\n", "no column holds the day"),
        (b'{"type": "FeatureCollection"}', "form"),
        (b'{"form": ', "not JSON"),
    ],
)
def test_files_that_are_no_weather(tmp_path: Path, data: bytes, words: str) -> None:
    path = tmp_path / "weather.csv"
    path.write_bytes(data)
    with pytest.raises(BadData) as caught:
        read_weather(path)
    assert any(words in p.sentence() for p in caught.value.problems)
    assert all("weather.csv" in p.where for p in caught.value.problems)


def test_a_missing_file(tmp_path: Path) -> None:
    with pytest.raises(BadData, match="no such file"):
        read_weather(tmp_path / "nothing.csv")


def test_forecast_is_marked(tmp_path: Path) -> None:
    document = {
        "form": "underoak-forecast-1",
        "issued": "2015-11-01",
        "station": {"id": "oak-hill"},
        "days": [
            {"day": "2015-11-01", "rain_mm": 4.0, "tmin_c": 3, "tmax_c": 9.5},
            {"day": "2015-11-02", "rain_mm": 0.0, "tmin_c": 1.0},
        ],
    }
    (series,) = read_weather(_write(tmp_path, json.dumps(document), "f.json")).records
    assert series.forecast.all()
    assert np.isnan(series.values["tmax_c"][1])
    document["days"][1]["day"] = "2016-11-02"  # type: ignore[index]
    assert "366 lies" not in (
        found := _sentences(read_weather(_write(tmp_path, json.dumps(document), "f.json")))
    )
    assert "f.json, day 2" in found
    document["days"][0]["snow"] = 3  # type: ignore[index]
    with pytest.raises(BadData, match=r"days\.0\.snow"):
        read_weather(_write(tmp_path, json.dumps(document), "f.json"))


def test_hours_become_days(tmp_path: Path) -> None:
    rows = [
        f"2015-10-0{day}T{hour:02d}:00,{10 + hour % 12},{0.5},{5},{2.0}"
        for day in (1, 2)
        for hour in range(24)
    ]
    text = "time,temperature_c,rain_mm,dewpoint_c,wind_m_s\n" + "\n".join(rows[:40])
    (series,) = _read(tmp_path, text, wind_height_m=2.0).records
    assert series.values["rain_mm"][0] == pytest.approx(12.0)
    assert (series.values["tmin_c"][0], series.values["tmax_c"][0]) == (10.0, 21.0)
    assert series.values["wind_m_s"][0] == pytest.approx(2.0)
    assert np.isnan(series.values["rain_mm"][1:]).all(), "sixteen hours are no day"


def test_hourly_power_is_averaged_and_wild_hours_named(tmp_path: Path) -> None:
    rows = [f"2015,10,1,{hour},{100.0},{1048 if hour == 7 else 3}" for hour in range(24)]
    reading = _read(
        tmp_path, "year,month,day,hour,radiation_w_m2,wind_m_s\n" + "\n".join(rows), wind_height_m=2.0
    )
    (series,) = reading.records
    assert series.values["radiation_mj_m2"][0] == pytest.approx(8.64)
    assert series.values["wind_m_s"][0] == pytest.approx(3.0)
    assert "line 9" in _sentences(reading)
    assert "1048" in _sentences(reading)


def test_repeated_hours_are_named(tmp_path: Path) -> None:
    rows = [f"2015-10-01 {hour:02d}:00,1.0" for hour in [*range(24), 3]]
    reading = _read(tmp_path, "time,rain_mm\n" + "\n".join(rows))
    assert "hour 3 stands here again" in _sentences(reading)
    assert reading.records[0].values["rain_mm"][0] == pytest.approx(24.0)


def _fixed(element: str, values: list[int], flags: dict[int, str]) -> str:
    cells = "".join(f"{v:5d} {flags.get(i, ' ')}W" for i, v in enumerate(values))
    return f"USW00094728201511{element}{cells}" + "-9999   " * (31 - len(values))


def test_fixed_width_archive(tmp_path: Path) -> None:
    text = "\n".join(
        [
            _fixed("TMAX", [100 + i for i in range(30)], {4: "I"}),
            _fixed("TMIN", [-9999 if i == 2 else i for i in range(30)], {}),
            _fixed("PRCP", [25] * 30, {}),
            _fixed("SNOW", [0] * 30, {}),
        ]
    )
    reading = read_weather(
        _write(tmp_path, text + "\n", "x.dly"), TableOptions(station=Station("?", "Park", 40.8, -74.0))
    )
    (series,) = reading.records
    assert series.station == Station("usw00094728", "Park", 40.8, -74.0)
    assert series.values["tmax_c"][0] == pytest.approx(10.0)
    assert np.isnan(series.values["tmax_c"][4]), "failed its quality check"
    assert np.isnan(series.values["tmin_c"][2]), "was missing"
    assert series.values["rain_mm"].sum() == pytest.approx(75.0)
    assert any("1 values failed" in line for line in reading.understood)
    broken = read_weather(_write(tmp_path, text[:-40], "x.dly"))
    assert "x.dly, line 4" in _sentences(broken)


def test_by_station_archive(tmp_path: Path) -> None:
    text = (
        "USW00094728,20151101,PRCP,25,,,W,2400\nUSW00094728,20151101,TMAX,175,,,W,\n"
        "USW00094728,20151101,TMIN,80,,I,W,\nUSW00094728,20151103,TMIN,-12,,,W,\n"
    )
    (series,) = read_weather(_write(tmp_path, text, "x.csv")).records
    assert series.days == 3
    assert series.values["rain_mm"][0] == pytest.approx(2.5)
    assert series.values["tmin_c"][2] == pytest.approx(-1.2)
    assert np.isnan(series.values["tmin_c"][0])
    again = read_weather(_write(tmp_path, text + "USW00094728,20151103,TMIN,-12,,,W,\n", "x.csv"))
    assert "x.csv, line 5" in _sentences(again)
    crossed = read_weather(_write(tmp_path, text + "USW00094728,20151103,TMAX,-50,,,W,\n", "x.csv"))
    assert "USW00094728, 2015-11-03: the lowest temperature -1.2" in _sentences(crossed)
