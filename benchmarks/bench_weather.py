"""Weather side by side with general-purpose libraries: one line a ratio."""

from __future__ import annotations

import csv
import tempfile
import time
import warnings
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path

import numpy as np

from underoak.intake.weather import read_weather
from underoak.ledger.database import open_ledger, writing
from underoak.ledger.weather import store_series
from underoak.weather.daylight import days_of_year, extraterrestrial_radiation_mj_m2
from underoak.weather.evapotranspiration import penman_monteith_mm
from underoak.weather.grid import grid_water
from underoak.weather.soil_water import root_zone_balance
from underoak.weather.vapour import saturation_vapour_pressure_kpa

YEARS, LATITUDE, ELEVATION = 30, 40.78, 40.0
DAYS = 10_957
FIRST_DAY = date(1990, 1, 1)
STATIONS = 1600
GRID_DAYS = 365
WATER = {"available_mm": 100.0, "readily_mm": 50.0}
ROWS = 1_000_000


def main() -> None:
    """Print the ratios."""
    warnings.simplefilter("ignore")
    _water()
    _loading()


def _best(
    work: Callable[[], object], times: int = 5, clock: Callable[[], float] = time.process_time
) -> float:
    """Least seconds of several runs; processor time, so that a busy machine does not judge."""
    seconds = []
    for _ in range(times):
        start = clock()
        work()
        seconds.append(clock() - start)
    return min(seconds)


def _weather(days: int, stations: int) -> dict[str, np.ndarray]:
    """Invented weather of a temperate place, double precision."""
    rng = np.random.default_rng(7)
    doy = days_of_year(FIRST_DAY, days)
    shape = (days, stations)
    tmin = 4.0 - 12.0 * np.cos(2.0 * np.pi * doy / 365.0)[:, None] + rng.normal(0.0, 3.0, shape)
    ra = extraterrestrial_radiation_mj_m2(LATITUDE, doy)[:, None]
    return {
        "tmin_c": tmin,
        "tmax_c": tmin + rng.uniform(4.0, 14.0, shape),
        "ea_kpa": saturation_vapour_pressure_kpa(tmin - 1.0),
        "wind_m_s": rng.uniform(0.5, 5.0, shape),
        "rs_mj_m2": ra * rng.uniform(0.2, 0.75, shape),
        "ra_mj_m2": ra,
        "rain_mm": rng.gamma(0.3, 10.0, shape),
    }


def _water() -> None:
    one = {name: np.ascontiguousarray(column[:, 0]) for name, column in _weather(DAYS, 1).items()}
    theirs = {"refet": _refet(one), "pyet": _pyet(one)}
    seconds = {name: _best(work) for name, work in theirs.items()}
    rain = one.pop("rain_mm")

    def et() -> np.ndarray:
        return penman_monteith_mm(**one, elevation_m=ELEVATION)

    apart = {name: np.abs(np.asarray(work()) - et()).max() for name, work in theirs.items()}
    print(f"most mm a day apart over {YEARS} years: " + ", ".join(f"{n} {v:.1e}" for n, v in apart.items()))
    for name, theirs_s in seconds.items():
        print(f"{name} / ours, evapotranspiration of one station: {theirs_s / _best(et):.1f}")
        both = _best(lambda: root_zone_balance(rain, et(), **WATER))
        print(f"{name} / ours with water balance, one station: {theirs_s / both:.2f}")
    _many(seconds)


def _many(seconds: dict[str, float]) -> None:
    wide = _weather(GRID_DAYS, STATIONS)
    single = {name: column.astype(np.float32) for name, column in wide.items()}

    def run(weather: dict[str, np.ndarray]) -> list[np.ndarray]:
        return [eto for _, eto, _ in grid_water(weather, elevation_m=ELEVATION, **WATER)]

    apart = np.abs(np.concatenate(run(single)) - np.concatenate(run(wide))).max()
    print(f"most mm a day single precision is from double: {apart:.1e}")
    for precision, weather in (("single", single), ("double", wide)):
        ours = _best(lambda weather=weather: run(weather), 6) / STATIONS * DAYS / GRID_DAYS  # type: ignore[misc]
        for name, theirs in seconds.items():
            print(
                f"{name} / ours with water balance, a station of {STATIONS}, {precision}: {theirs / ours:.1f}"
            )


def _refet(x: dict[str, np.ndarray]) -> Callable[[], np.ndarray]:
    import refet

    doy = days_of_year(FIRST_DAY, DAYS)

    def work() -> np.ndarray:
        eto = refet.Daily(
            tmin=x["tmin_c"],
            tmax=x["tmax_c"],
            ea=x["ea_kpa"],
            rs=x["rs_mj_m2"],
            uz=x["wind_m_s"],
            zw=2.0,
            elev=ELEVATION,
            lat=LATITUDE,
            doy=doy,
            method="asce",
        ).eto()
        return np.asarray(np.maximum(eto, 0.0))

    return work


def _pyet(x: dict[str, np.ndarray]) -> Callable[[], np.ndarray]:
    import pandas as pd
    import pyet

    days = pd.date_range(FIRST_DAY, periods=DAYS)
    c = {name: pd.Series(column, days) for name, column in x.items()}
    tmean = 0.5 * (c["tmin_c"] + c["tmax_c"])

    def work() -> np.ndarray:
        eto: np.ndarray = pyet.pm_fao56(
            tmean,
            c["wind_m_s"],
            rs=c["rs_mj_m2"],
            elevation=ELEVATION,
            lat=np.radians(LATITUDE),
            tmin=c["tmin_c"],
            tmax=c["tmax_c"],
            ea=c["ea_kpa"],
        ).to_numpy()
        return eto

    return work


def _loading() -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "weather.csv"
        path.write_text(_table(), "utf-8")

        def bare() -> None:
            with path.open(newline="", encoding="utf-8") as stream:
                for _ in csv.reader(stream):
                    pass

        def load() -> None:
            ledger = Path(folder) / "ledger.sqlite3"
            connection = open_ledger(ledger, create=True)
            with writing(connection):
                reading = read_weather(path)
                assert not reading.problems
                for series in reading.records:
                    store_series(connection, series)
            connection.close()
            for file in Path(folder).glob("ledger*"):
                file.unlink()

        ratio = _best(load, 3, time.perf_counter) / _best(bare, 5, time.perf_counter)
        print(f"loading {ROWS} weather rows / the csv module merely reading them: {ratio:.1f}")


def _table() -> str:
    """A million rows: a hundred invented stations, 10,000 days each, one value in fifty missing."""
    rng = np.random.default_rng(3)
    days = [(date(1990, 1, 1) + timedelta(days=i)).isoformat() for i in range(10_000)]
    lines = ["station,date,rain_mm,tmin_c,tmax_c,wind_m_s"]
    for number in range(ROWS // 10_000):
        rain = np.round(rng.gamma(0.3, 10.0, 10_000), 1)
        tmin = np.round(np.clip(rng.normal(5.0, 9.0, 10_000), -35.0, 28.0), 1)
        tmax = np.round(tmin + rng.uniform(0.5, 14.0, 10_000), 1)
        wind = np.round(rng.uniform(0.5, 8.0, 10_000), 1).astype(object)
        wind[rng.random(10_000) < 0.02] = ""
        lines += [
            f"S{number:03d},{a},{b},{c},{d},{e}"
            for a, b, c, d, e in zip(
                days, rain.tolist(), tmin.tolist(), tmax.tolist(), wind.tolist(), strict=True
            )
        ]
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    main()
