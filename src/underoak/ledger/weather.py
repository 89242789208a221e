"""Stations and their daily weather in the ledger."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date
from itertools import chain
from typing import TYPE_CHECKING

from underoak.errors import UserMistake
from underoak.ledger.connection import Ledger
from underoak.model.weather import DAILY_QUANTITIES, Station, WeatherSeries

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

NAMES = tuple(DAILY_QUANTITIES)
#: Days handed to SQLite in one statement; many rows a statement halve the time.
ROWS = 64
_STATION = (
    "INSERT INTO station (id, name, latitude_deg, longitude_deg, elevation_m) VALUES (?, ?, ?, ?, ?) "
    "ON CONFLICT (id) DO UPDATE SET "
    "name = CASE WHEN lower(excluded.name) = excluded.id THEN station.name ELSE excluded.name END, "
    "latitude_deg = coalesce(excluded.latitude_deg, station.latitude_deg), "
    "longitude_deg = coalesce(excluded.longitude_deg, station.longitude_deg), "
    "elevation_m = coalesce(excluded.elevation_m, station.elevation_m)"
)


def stations(connection: Ledger) -> tuple[Station, ...]:
    """All stations, by name."""
    rows = connection.execute(
        "SELECT id, name, latitude_deg, longitude_deg, elevation_m FROM station ORDER BY name, id"
    )
    return tuple(Station(*row) for row in rows)


def store_series(connection: Ledger, series: WeatherSeries) -> int:
    """Store a series inside the caller's transaction; the number of days written.

    A measured value replaces what stood there; a gap never erases a known value. Filled values are
    not stored: gaps stay gaps. Forecast days stand beside observed ones. A station's known name and
    position are kept where the new record has none.
    """
    connection.execute(_STATION, _station_row(series.station))
    return sum(_store_days(connection, series, forecast=forecast) for forecast in (False, True))


def place_stations(connection: Ledger, told: Iterable[Station]) -> int:
    """Give the ledger's stations their names and positions, inside the caller's transaction; how many.

    Stations that the ledger does not know are passed over: an archive's list names every station on earth.
    """
    known = {station.id for station in stations(connection)}
    rows = [_station_row(station) for station in told if station.id in known]
    connection.executemany(_STATION, rows)
    return len(rows)


def load_series(
    connection: Ledger, station_id: str, since: date | None = None, until: date | None = None
) -> WeatherSeries:
    """Daily weather of a station from its first to its last known day, NaN where nothing is known.

    Observed days win over forecast ones; days known only from a forecast are marked.
    ``since`` and ``until`` are inclusive.

    Raises UserMistake where there is no such station or it has no day in that time.
    """
    import numpy as np

    station = _station(connection, station_id)
    rows = connection.execute(
        f"SELECT day, forecast, {', '.join(NAMES)} FROM weather_day "  # noqa: S608
        "WHERE station_id = ? AND day BETWEEN ? AND ? ORDER BY day, forecast DESC",
        (station_id, (since or date.min).isoformat(), (until or date.max).isoformat()),
    ).fetchall()
    if not rows:
        raise UserMistake(
            f"{station.name} has no weather between {since or 'the beginning'} and {until or 'the end'}",
            remedy="load weather of that time",
        )
    day, forecast, *columns = zip(*map(tuple, rows), strict=True)
    calendar = np.array(day, dtype="datetime64[D]")
    place = (calendar - calendar[0]).astype(np.int64)
    length = int(place[-1]) + 1
    values = {name: _spread(place, column, length) for name, column in zip(NAMES, columns, strict=True)}
    values = {name: v for name, v in values.items() if np.isfinite(v).any()}
    marks = np.zeros(length, dtype=bool)
    marks[place] = np.array(forecast, dtype=bool)
    return WeatherSeries(station, date.fromisoformat(day[0]), values, marks, {})


def _spread(
    place: npt.NDArray[np.int64], column: tuple[float | None, ...], length: int
) -> npt.NDArray[np.float64]:
    """Values at their days; of two rows of a day the later, which is the observed one, wins."""
    import numpy as np

    values = np.full(length, np.nan)
    values[place] = np.array(column, dtype=float)
    return values


def _station(connection: Ledger, station_id: str) -> Station:
    row = connection.execute(
        "SELECT id, name, latitude_deg, longitude_deg, elevation_m FROM station WHERE id = ?", (station_id,)
    ).fetchone()
    if row is None:
        known = ", ".join(s.id for s in stations(connection)) or "none yet"
        raise UserMistake(f"there is no weather station {station_id!r}", expected=f"one of: {known}")
    return Station(*row)


def _station_row(station: Station) -> tuple[str | float | None, ...]:
    return (
        station.id,
        station.name,
        station.latitude_deg,
        station.longitude_deg,
        station.elevation_m,
    )


def _store_days(connection: Ledger, series: WeatherSeries, *, forecast: bool) -> int:
    """Write the observed or the forecast days that hold a measured value; their number."""
    import numpy as np

    measured = {name: _measured(series, name) for name in NAMES if name in series.values}
    known = np.logical_or.reduce([np.isfinite(v) for v in measured.values()])
    known = np.flatnonzero(known & (series.forecast == forecast))
    days = (np.datetime64(series.first_day, "D") + known).astype(str).tolist()
    columns = [days, *(_cells(values[known]) for values in measured.values())]
    cells = list(chain.from_iterable(zip(*columns, strict=True)))
    width, head = len(columns), (series.station.id, int(forecast))
    whole = len(known) - len(known) % ROWS
    for rows, first, last in ((ROWS, 0, whole), (1, whole, len(known))):
        step = rows * width
        connection.executemany(
            _statement(tuple(measured), rows),
            ((*head, *cells[at : at + step]) for at in range(first * width, last * width, step)),
        )
    return len(known)


def _statement(names: tuple[str, ...], rows: int) -> str:
    """Insert of many days; ?1 is the station, ?2 the forecast mark. A gap never erases a known value."""
    texts, number = [], 3
    for _ in range(rows):
        marks = [f"?{number + i}" for i in range(1 + len(names))]
        texts.append(f"(?1, {marks[0]}, ?2, {', '.join(marks[1:])})")
        number += len(marks)
    update = ", ".join(f"{n} = coalesce(excluded.{n}, weather_day.{n})" for n in names)
    return (
        f"INSERT INTO weather_day (station_id, day, forecast, {', '.join(names)}) "  # noqa: S608
        f"VALUES {', '.join(texts)} ON CONFLICT (station_id, day, forecast) DO UPDATE SET {update}"
    )


def _measured(series: WeatherSeries, name: str) -> npt.NDArray[np.float64]:
    """Values of a quantity, NaN where they were filled."""
    import numpy as np

    marks = series.filled.get(name)
    return series.values[name] if marks is None else np.where(marks, np.nan, series.values[name])


def _cells(values: npt.NDArray[np.float64]) -> list[float | None]:
    import numpy as np

    gaps = np.isnan(values)
    if not gaps.any():
        return list(values.tolist())
    cells = values.astype(object)
    cells[gaps] = None
    return list(cells.tolist())


def days_of(connection: Ledger) -> Iterator[tuple[Station, date, date, int]]:
    """Every station with its first and last day and the number of observed days."""
    for station in stations(connection):
        first, last, count = connection.execute(
            "SELECT min(day), max(day), sum(1 - forecast) FROM weather_day WHERE station_id = ?",
            (station.id,),
        ).fetchone()
        if first is not None:
            yield station, date.fromisoformat(first), date.fromisoformat(last), int(count)
