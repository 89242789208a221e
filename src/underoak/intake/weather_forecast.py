"""A weather forecast as a small JSON document of our own.

.. code-block:: json

    {"form": "underoak-forecast-1",
     "issued": "2026-10-02",
     "station": {"id": "usw00094728", "name": "Park", "latitude_deg": 40.8, "longitude_deg": -74.0,
                 "elevation_m": 40},
     "days": [{"day": "2026-10-03", "rain_mm": 4.5, "tmin_c": 8.0, "tmax_c": 15.5}]}

``station.id`` is that of the station whose days the forecast continues; name and position may be left
out for a station that is known. Of a day, ``rain_mm``, ``tmin_c``, ``tmax_c``, ``dewpoint_c``,
``wind_m_s`` (at 2 m) and ``radiation_mj_m2`` may each be left out.
"""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date
from typing import Literal

import numpy as np
from pydantic import Field

from underoak.errors import BadData
from underoak.intake.reading import Reading
from underoak.intake.weather_checks import DayTable, checked_series
from underoak.intake.weather_csv import spans
from underoak.intake.weather_table import station_id
from underoak.model.problem import Problem
from underoak.model.strict import Strict, validate_document
from underoak.model.weather import DAILY_QUANTITIES, Station, WeatherSeries

EXPECTED = "a forecast document with form, issued, station and days"
#: Further ahead than this nobody forecasts single days.
MOST_DAYS_AHEAD = 45


class ForecastStation(Strict):
    """The station that the forecast continues."""

    id: str = Field(min_length=1)
    name: str = ""
    latitude_deg: float | None = Field(default=None, ge=-90.0, le=90.0)
    longitude_deg: float | None = Field(default=None, ge=-180.0, le=180.0)
    elevation_m: float | None = None


class ForecastDay(Strict):
    """One day ahead, metric."""

    day: date
    rain_mm: float | None = None
    tmin_c: float | None = None
    tmax_c: float | None = None
    dewpoint_c: float | None = None
    wind_m_s: float | None = None
    radiation_mj_m2: float | None = None


class Forecast(Strict):
    """The whole document."""

    form: Literal["underoak-forecast-1"]
    issued: date
    station: ForecastStation
    days: tuple[ForecastDay, ...] = Field(min_length=1)


def read_forecast(text: str, *, file: str) -> Reading[tuple[WeatherSeries, ...]]:
    """One forecast series, every day marked as forecast.

    Raises BadData where the text is no JSON or not in the form above; all faults at once.
    """
    try:
        document = json.loads(text)
    except json.JSONDecodeError as error:
        where = f"{file}, line {error.lineno}"
        raise BadData([Problem(f"this is not JSON: {error.msg}", where, EXPECTED)]) from error
    except (ValueError, RecursionError) as error:
        what = "this JSON is nested too deeply or holds a number too long"
        raise BadData([Problem(what, file, EXPECTED)]) from error
    forecast, faults = validate_document(Forecast, document, file)
    if forecast is None:
        raise BadData(faults)
    problems = _late(forecast, file)
    told = forecast.station
    station = Station(
        station_id(told.id), told.name or told.id, told.latitude_deg, told.longitude_deg, told.elevation_m
    )
    positions = np.arange(1, len(forecast.days) + 1)
    values = {
        name: column
        for name in DAILY_QUANTITIES
        if np.isfinite(column := np.array([getattr(d, name) for d in forecast.days], dtype=float)).any()
    }
    if not values:
        raise BadData([Problem("no day says anything about the weather", file, EXPECTED)])
    table = DayTable(
        file=file,
        lines=positions,
        days=np.array([d.day for d in forecast.days], dtype="datetime64[D]"),
        station=np.zeros(len(positions), dtype=np.int64),
        stations=(station,),
        values=values,
        unit_of_place="day",
    )
    series, more = checked_series(table)
    marked = tuple(replace(s, forecast=np.ones(s.days, dtype=bool)) for s in series)
    issued = f"forecast issued {forecast.issued}"
    return Reading(marked, (*problems, *more), (issued, *spans(marked)))


def _late(forecast: Forecast, file: str) -> list[Problem]:
    """Days before the day of issue, or too far ahead."""
    problems = []
    for number, entry in enumerate(forecast.days, 1):
        ahead = (entry.day - forecast.issued).days
        if not 0 <= ahead <= MOST_DAYS_AHEAD:
            problems.append(
                Problem(
                    f"{entry.day} lies {ahead} days from the day of issue {forecast.issued}",
                    f"{file}, day {number}",
                    f"0 to {MOST_DAYS_AHEAD} days ahead",
                    "check year and month",
                )
            )
    return problems
