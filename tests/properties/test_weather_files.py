"""Whatever a file holds, reading it ends in a reading or in words, never in a crash."""

from __future__ import annotations

import tempfile
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from underoak.errors import UnderoakError
from underoak.intake.weather import read_weather
from underoak.intake.weather_table import TableOptions
from underoak.model.weather import DAILY_QUANTITIES

GOOD = (
    b"date,rain_mm,tmin_c,tmax_c\n2015-10-01,1.5,3,9\n2015-10-02,,4,8\n2015-10-03,0,5,7\n",
    b"USW00094728,20151101,PRCP,25,,,W,2400\nUSW00094728,20151101,TMAX,175,,,W,\n",
    b"USW00094728201511TMIN" + b"   12  W" * 30 + b"-9999   \n",
    b'{"form":"underoak-forecast-1","issued":"2015-11-01","station":{"id":"a"},'
    b'"days":[{"day":"2015-11-02","rain_mm":3}]}',
    b"time,temp_c,rain_mm\n2015-10-01T00:00,4,1\n2015-10-01T01:00,5,0\n",
)


def _understood_or_told(data: bytes, options: TableOptions) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "weather.csv"
        path.write_bytes(data)
        try:
            reading = read_weather(path, options)
        except UnderoakError:
            return
    for series in reading.records:
        for name, values in series.values.items():
            unit, low, high = DAILY_QUANTITIES[name]
            known = values[np.isfinite(values)]
            assert ((known >= low) & (known <= high)).all(), f"{name} in {unit}"
        if {"tmin_c", "tmax_c"} <= set(series.values):
            assert not (series.values["tmin_c"] > series.values["tmax_c"]).any()
    assert all(problem.what and "weather.csv" in problem.where for problem in reading.problems)


@settings(max_examples=80, deadline=None)
@given(
    data=st.sampled_from(GOOD),
    cuts=st.lists(st.tuples(st.integers(0, 300), st.binary(max_size=6)), max_size=4),
    units=st.sampled_from(["metric", "us"]),
)
def test_damaged_files(data: bytes, cuts: list[tuple[int, bytes]], units: str) -> None:
    for at, piece in cuts:
        data = data[: at % len(data)] + piece + data[at % len(data) + len(piece) :]
    _understood_or_told(data, TableOptions(units=units))


@settings(max_examples=60, deadline=None)
@given(
    data=st.one_of(st.binary(max_size=200), st.text(max_size=200).map(lambda t: t.encode("utf-8", "replace")))
)
def test_any_bytes(data: bytes) -> None:
    _understood_or_told(data, TableOptions())


@settings(max_examples=40, deadline=None)
@given(
    first=st.dates(date(1900, 1, 1), date(2090, 1, 1)),
    rain=st.lists(st.one_of(st.none(), st.floats(0.0, 300.0)), min_size=1, max_size=40),
)
def test_what_is_written_is_read(first: date, rain: list[float | None]) -> None:
    rows = [
        f"{first + timedelta(days=i)},{'' if mm is None else repr(mm)},{i % 7}" for i, mm in enumerate(rain)
    ]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "weather.csv"
        path.write_text("date,rain_mm,tmin_c\n" + "\n".join(rows), "utf-8")
        (series,) = read_weather(path).records
    assert series.first_day == first
    expected = [np.nan if mm is None else mm for mm in rain]
    got = series.values.get("rain_mm", np.full(len(rain), np.nan))
    assert got == pytest.approx(expected, nan_ok=True)
