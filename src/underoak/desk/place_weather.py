"""The weather of every place: from which station, how old, and what can still be said without it."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from underoak.errors import NoAnswer

if TYPE_CHECKING:
    from underoak.model.ground import Place, Terrain
    from underoak.model.household import Whereabouts
    from underoak.model.weather import Station, WeatherSeries
    from underoak.outlook.drivers import Climate, GroundFact

#: A station further away than this says nothing about the home's woods.
FARTHEST_KM = 150.0
#: Further than this the page says so.
FAR_KM = 40.0
#: Weather older than this no longer says what state the ground is in.
STALE_DAYS = 3
#: A record without rain over as many days is taken for a column that was not filled.
DRY_RECORD_DAYS = 60


@dataclass(frozen=True, slots=True)
class WeatherNote:
    """What weather an answer stands on, in figures and in words.

    ``station`` is empty without usable weather; ``ground`` is the state of the ground on the last
    observed day. ``notes`` say what is missing and what can still be said.
    """

    station: str = ""
    distance_km: float | None = None
    observed_to: date | None = None
    forecast_to: date | None = None
    ground: tuple[GroundFact, ...] = ()
    notes: tuple[str, ...] = ()


def place_climates(
    connection: sqlite3.Connection, where: Whereabouts, known: Sequence[Place], *, today: date
) -> tuple[dict[str, Climate], WeatherNote]:
    """Climate by place id, and the note that says what it stands on.

    The station nearest to the home serves all places; each has its own latitude and elevation (from the
    terrain, else the home's). Never raises for missing weather: the season and memory still answer.
    """
    from underoak.ledger.ground import terrains
    from underoak.outlook.drivers import climate, climate_without_station
    from underoak.weather.ground_state import ground_state

    series, note = _usable_series(connection, where, today)
    grids = terrains(connection)
    climates: dict[str, Climate] = {}
    for place in known:
        latitude_deg, elevation_m = _stand(place, grids, where)
        climates[place.id] = climate_without_station(latitude_deg=latitude_deg, elevation_m=elevation_m)
        if series is None:
            continue
        try:
            ground = ground_state(series, latitude_deg=latitude_deg, elevation_m=elevation_m)
        except NoAnswer as error:
            return _without(known, grids, where), _told(WeatherNote(), f"{error}. {_STILL}")
        climates[place.id] = climate(ground, latitude_deg=latitude_deg, elevation_m=elevation_m, today=today)
    return climates, _with_ground(note, climates)


_STILL = "Season, hosts and your own visits still answer; frost is taken as usual for the place."


def _without(known: Sequence[Place], grids: Sequence[Terrain], where: Whereabouts) -> dict[str, Climate]:
    from underoak.outlook.drivers import climate_without_station

    stands = {place.id: _stand(place, grids, where) for place in known}
    return {
        place_id: climate_without_station(latitude_deg=latitude, elevation_m=elevation)
        for place_id, (latitude, elevation) in stands.items()
    }


def nearest_series(
    connection: sqlite3.Connection, where: Whereabouts, *, today: date
) -> WeatherSeries | None:
    """Weather of the station that serves the home, None where there is none near enough."""
    return _usable_series(connection, where, today)[0]


def _usable_series(
    connection: sqlite3.Connection, where: Whereabouts, today: date
) -> tuple[WeatherSeries | None, WeatherNote]:
    from underoak.ledger.weather import load_series, stations

    known = stations(connection)
    if not known:
        return None, _told(WeatherNote(), f"No weather is loaded. {_STILL}")
    distances = {station.id: _distance_km(station, where) for station in known}
    station = min(known, key=lambda s: (distances[s.id] is None, distances[s.id] or 0.0, s.id))
    distance = distances[station.id]
    note = WeatherNote(station=station.name, distance_km=distance)
    if distance is not None and distance > FARTHEST_KM:
        far = f"The nearest station, {station.name}, is {distance:.0f} km away: too far to use. {_STILL}"
        return None, _told(WeatherNote(), far)
    if distance is None:
        note = _told(note, f"Nobody noted where the station {station.name} stands; it is taken for yours.")
    elif distance > FAR_KM:
        note = _told(note, f"The station {station.name} is {distance:.0f} km away: showers may differ.")
    return _aged(load_series(connection, station.id), note, today)


def _aged(series: WeatherSeries, note: WeatherNote, today: date) -> tuple[WeatherSeries | None, WeatherNote]:
    from dataclasses import replace

    observed = [n for n in range(series.days) if not series.forecast[n]]
    if not observed:
        return None, _told(note, f"The station has forecasts only, no observed day. {_STILL}")
    last = series.first_day + timedelta(days=observed[-1])
    forecast_to = series.last_day if series.last_day > last else None
    note = replace(note, observed_to=last, forecast_to=forecast_to)
    if last > today:
        note = _told(note, f"The weather runs to {last}, after the day you stand on; later days count too.")
    age = (today - last).days
    if age > STALE_DAYS:
        note = _told(
            note,
            f"The weather ends on {last}, {age} days ago: frost and warmth since then are taken as usual "
            "for the date. Load newer days with 'underoak load weather FILE'.",
        )
    if forecast_to is None or forecast_to <= today:
        note = _told(note, "No forecast is loaded: the days ahead have the weather that is usual.")
    return series, _dry(series, observed, note)


def _dry(series: WeatherSeries, observed: Sequence[int], note: WeatherNote) -> WeatherNote:
    rain = series.values["rain_mm"][observed[-DRY_RECORD_DAYS:]]
    if len(rain) == DRY_RECORD_DAYS and not rain.any():
        return _told(
            note,
            f"Rain is zero on each of the last {DRY_RECORD_DAYS} days: look whether the rain column was "
            "read. The wetness of the ground is left out; chances do not lean on rain.",
        )
    return note


def _with_ground(note: WeatherNote, climates: Mapping[str, Climate]) -> WeatherNote:
    from dataclasses import replace

    facts = next((climate.facts for climate in climates.values()), ())
    dry = any("Rain is zero" in words for words in note.notes)
    return replace(note, ground=tuple(f for f in facts if not (dry and f.name.endswith("wetness"))))


def _told(note: WeatherNote, words: str) -> WeatherNote:
    from dataclasses import replace

    return replace(note, notes=(*note.notes, words))


def _distance_km(station: Station, where: Whereabouts) -> float | None:
    from underoak.woods.geodesy import distance_m

    if station.latitude_deg is None or station.longitude_deg is None:
        return None
    metres = distance_m(station.longitude_deg, station.latitude_deg, where.longitude_deg, where.latitude_deg)
    return float(metres) / 1000.0


def _stand(place: Place, grids: Sequence[Terrain], where: Whereabouts) -> tuple[float, float]:
    """Latitude and elevation of the middle of a place, elevation from the terrain where it is known."""
    import numpy as np

    from underoak.woods.terrain import elevation_at, terrain_for

    points = [point for rings in place.polygons for point in rings[0]]
    if not points:
        return where.latitude_deg, where.elevation_m
    grid = terrain_for(grids, points)
    latitude = sum(point[1] for point in points) / len(points)
    if grid is None:
        return latitude, where.elevation_m
    lon, lat = np.asarray(points, dtype=np.float64).T
    return latitude, float(np.nanmean(elevation_at(grid, lon, lat)))
