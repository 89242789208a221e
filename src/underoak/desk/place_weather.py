"""The weather of every place: blended from the stations around it, and carried on by past years."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

from underoak.desk.doubtful_rain import without_doubtful_rain
from underoak.desk.weather_note import STILL, WeatherNote, note_of
from underoak.errors import NoAnswer
from underoak.ledger.connection import Ledger

if TYPE_CHECKING:
    from underoak.model.ground import Place, Terrain
    from underoak.model.household import Whereabouts
    from underoak.model.weather import Station, WeatherSeries
    from underoak.outlook.drivers import Climate
    from underoak.weather.blend import Blend
    from underoak.weather.ground_state import GroundState

#: Days from today that past years carry the weather on to.
DAYS_CARRIED = 14
#: As many of the last past years; more cost time and tell little.
MOST_PAST_YEARS = 6
#: Weather that ended longer ago is not carried on.
MOST_BRIDGED_DAYS = 60


@dataclass(frozen=True, slots=True)
class Stand:
    """Where a place lies, for its weather."""

    name: str
    latitude_deg: float
    longitude_deg: float
    elevation_m: float


def place_climates(
    connection: Ledger, where: Whereabouts, known: Sequence[Place], *, today: date
) -> tuple[dict[str, Climate], WeatherNote]:
    """Climate by place id, and the note that says what it stands on.

    Besides the ``known`` places it gives those that have a spot: what is seen there tells of the season
    everywhere. Each place has its own blend of the stations near it, brought to its elevation (from the
    terrain, else the home's); the nearest station alone serves where the blend has gaps that nothing
    fills. Never raises for missing weather: the season and memory still answer.
    """
    from underoak.outlook.drivers import climate_without_station

    stands = _stands(connection, where, known)
    home = Stand("home", where.latitude_deg, where.longitude_deg, where.elevation_m)
    stations, words = _stations(connection, [home, *stands.values()])
    stations, doubted = without_doubtful_rain(stations)
    climates = {
        place_id: climate_without_station(latitude_deg=stand.latitude_deg, elevation_m=stand.elevation_m)
        for place_id, stand in stands.items()
    }
    if not stations:
        return climates, WeatherNote().telling(f"{words} {STILL}")
    served, trouble = {}, []
    for place_id, stand in stands.items():
        try:
            served[place_id] = _climate(stations, stand, today)
        except NoAnswer as error:
            trouble.append(str(error))
    climates |= served
    if stands and not served:
        return climates, WeatherNote().telling(f"{trouble[0]}. {STILL}")
    at_home = _blended(stations, home)
    around = at_home or next(blend for s in stands.values() if (blend := _blended(stations, s)))
    note = note_of(around, list(served.values()), doubted, today)
    if at_home is None:
        note = replace(note, distance_km=None)
    return climates, note.telling(*(f"{words}. {STILL}" for words in dict.fromkeys(trouble)))


def nearest_series(connection: Ledger, where: Whereabouts, *, today: date) -> WeatherSeries | None:
    """Weather as measured at the station nearest to the home that has any by today; None without one."""
    home = Stand("home", where.latitude_deg, where.longitude_deg, where.elevation_m)
    stations, _ = _stations(connection, [home])
    return next((s for s in stations if s.first_day <= today and not s.forecast.all()), None)


def weather_at_home(connection: Ledger, where: Whereabouts) -> Blend | None:
    """The stations around the home blended for it; None without one near enough."""
    home = Stand("home", where.latitude_deg, where.longitude_deg, where.elevation_m)
    stations, _ = _stations(connection, [home])
    stations, _ = without_doubtful_rain(stations)
    return _blended(stations, home) if stations else None


def _stations(connection: Ledger, stands: Sequence[Stand]) -> tuple[list[WeatherSeries], str]:
    """Series of all stations that serve a stand, nearest to the first stand first; else why there is none."""
    from underoak.ledger.weather import load_series, stations
    from underoak.weather.blend import FARTHEST_KM, MOST_STATIONS

    known = stations(connection)
    if not known:
        return [], "No weather is loaded."
    placed = [station for station in known if station.latitude_deg is not None]
    if not placed:
        return [load_series(connection, s.id) for s in sorted(known, key=lambda s: s.id)[:MOST_STATIONS]], ""
    near: set[str] = set()
    for stand in stands:
        order = sorted((_distance_km(station, stand), station.id) for station in placed)
        near |= {station_id for km, station_id in order[:MOST_STATIONS] if km <= FARTHEST_KM}
    placed.sort(key=lambda station: (_distance_km(station, stands[0]), station.id))
    if not near:
        far = _distance_km(placed[0], stands[0])
        return [], f"The nearest station, {placed[0].name}, is {far:.0f} km away: too far to use."
    return [load_series(connection, station.id) for station in placed if station.id in near], ""


def _distance_km(station: Station, stand: Stand) -> float:
    from underoak.weather.blend import distance_km

    if station.latitude_deg is None or station.longitude_deg is None:
        return math.inf
    return distance_km(stand.latitude_deg, stand.longitude_deg, station.latitude_deg, station.longitude_deg)


def _blended(stations: Sequence[WeatherSeries], stand: Stand) -> Blend | None:
    from underoak.weather.blend import blend

    try:
        return blend(
            stations,
            latitude_deg=stand.latitude_deg,
            longitude_deg=stand.longitude_deg,
            elevation_m=stand.elevation_m,
            name=stand.name,
        )
    except NoAnswer:
        return None


def _climate(stations: Sequence[WeatherSeries], stand: Stand, today: date) -> Climate:
    """Climate of one place; raises NoAnswer where neither the blend nor the nearest station will do."""
    from underoak.outlook.drivers import climate
    from underoak.weather.lapse import at_elevation

    mixed = _blended(stations, stand)
    if mixed is None:
        raise NoAnswer(f"No station is near enough to {stand.name}")
    near = next(s for s in stations if s.station.id == mixed.sources[0].station.id)
    try:
        series, ground = mixed.series, _ground(mixed.series, stand)
    except NoAnswer:
        series = at_elevation(near, stand.elevation_m)
        ground = _ground(series, stand)
    return climate(
        ground,
        latitude_deg=stand.latitude_deg,
        elevation_m=stand.elevation_m,
        today=today,
        carried_on=_carried_on(series, stand, today),
    )


def _ground(series: WeatherSeries, stand: Stand) -> GroundState:
    from underoak.weather.ground_state import ground_state

    return ground_state(series, latitude_deg=stand.latitude_deg, elevation_m=stand.elevation_m)


def _carried_on(series: WeatherSeries, stand: Stand, today: date) -> dict[int, GroundState]:
    """The ground as it goes on after the last known day if a past year's days follow, by that year."""
    from underoak.weather.climate import continuations

    days = (today + timedelta(days=DAYS_CARRIED) - series.last_day).days
    if days <= 0 or days > MOST_BRIDGED_DAYS + DAYS_CARRIED:
        return {}
    try:
        runs = continuations(series, days)
    except NoAnswer:
        return {}
    return {run.year: _ground(run.series, stand) for run in runs[-MOST_PAST_YEARS:]}


def _stands(connection: Ledger, where: Whereabouts, known: Sequence[Place]) -> Mapping[str, Stand]:
    """Where the known places lie, then those that have a spot."""
    from underoak.ledger.ground import terrains
    from underoak.ledger.places import places, spots

    with_spots = {spot.place_id for spot in spots(connection)}
    grids = terrains(connection)
    every = {place.id: place for place in known}
    every |= {p.id: p for p in places(connection) if p.id in with_spots and p.id not in every}
    return {place.id: _stand(place, grids, where) for place in every.values()}


def _stand(place: Place, grids: Sequence[Terrain], where: Whereabouts) -> Stand:
    """The middle of a place, elevation from the terrain where it is known."""
    import numpy as np

    from underoak.woods.terrain import elevation_at, terrain_for

    points = [point for rings in place.polygons for point in rings[0]]
    if not points:
        return Stand(place.name, where.latitude_deg, where.longitude_deg, where.elevation_m)
    lon, lat = np.asarray(points, dtype=np.float64).T
    grid = terrain_for(grids, points)
    elevation_m = where.elevation_m if grid is None else float(np.nanmean(elevation_at(grid, lon, lat)))
    return Stand(place.name, float(lat.mean()), float(lon.mean()), elevation_m)
