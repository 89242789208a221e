"""The kinds of file that can be loaded: how each is read and where its records go."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from underoak.errors import BadData, UserMistake
from underoak.intake.reading import Reading
from underoak.ledger.connection import Ledger
from underoak.ledger.ground_records import store_ground
from underoak.model.ground import LonLat, Place, Spot
from underoak.model.problem import Problem

if TYPE_CHECKING:
    from underoak.model.pack import Noted
    from underoak.model.weather import WeatherSeries


#: A file of more trails is a city's: its network is made when a walk is planned.
MOST_TRAILS_REPORTED = 3000


@dataclass(frozen=True, slots=True)
class Options:
    """What a person says about a file that the file does not say itself.

    ``columns`` are HEADER=MEANING texts; ``origin`` (lon, lat) and ``scale_m`` place a local map of trees;
    ``epsg`` names the coordinate system of an elevation grid.
    """

    columns: tuple[str, ...] = ()
    units: str = "metric"
    date_order: str = ""
    station: str | None = None
    origin: LonLat | None = None
    scale_m: float | None = None
    epsg: int | None = None

    def mark(self) -> str:
        """A mark of what was said; empty where nothing was. A file that is explained otherwise is another."""
        return "" if self == Options() else f" {self}"

    def column_map(self) -> dict[str, str]:
        """Header -> meaning; UserMistake for a text without an equals sign."""
        found = {}
        for text in self.columns:
            header, mark, meaning = text.rpartition("=")
            if not mark:
                raise UserMistake(f"{text!r} names no column", expected="HEADER=MEANING, such as Low=tmin_c")
            found[header] = meaning
        return found


@dataclass(frozen=True, slots=True)
class Context:
    """What a reader may know beside the file: home, today, and what stands in the ledger already."""

    home: LonLat
    today: date
    timezone: str = "America/New_York"
    places: tuple[Place, ...] = ()
    spots: tuple[Spot, ...] = ()
    pack_entries: tuple[Noted, ...] = ()
    options: Options = field(default_factory=Options)


@dataclass(frozen=True, slots=True)
class Kind:
    """How files of one kind are read and stored. ``store`` hands back how many rows are new or changed.

    ``repeats`` is true where the same file may do more the next time, because it only completes records.
    ``after`` is what the next file of the same load may know of the one before it.
    """

    read: Callable[[Path, Context], Reading[Any]]
    store: Callable[[Ledger, Sequence[Any]], int]
    repeats: bool = False
    after: Callable[[Context, Sequence[Any]], Context] = lambda context, _: context


def _weather(path: Path, context: Context) -> Reading[Any]:
    from underoak.intake.weather import read_weather
    from underoak.intake.weather_stations import station_from_text
    from underoak.intake.weather_table import TableOptions

    told = context.options.station
    options = TableOptions(
        columns=context.options.column_map(),
        units=context.options.units,
        date_order=context.options.date_order,
        station=station_from_text(told) if told else None,
    )
    reading = read_weather(path, options)
    return replace(reading, understood=(*reading.understood, *_frost_lines(reading.records)))


def _frost_lines(stations: Sequence[WeatherSeries]) -> list[str]:
    """First frosts of each station: the first thing to compare with what a household remembers."""
    from underoak.weather.frost import station_first_frosts

    lines = []
    for series in stations:
        if "tmin_c" not in series.values:
            continue
        days = [str(frost.day) for frost in station_first_frosts(series) if frost.valid and frost.day]
        if days:
            shown = days if len(days) <= 6 else ["…", *days[-6:]]
            lines.append(f"first autumn frost at {series.station.name}: {', '.join(shown)}")
    return lines


def _stations(path: Path, context: Context) -> Reading[Any]:  # noqa: ARG001 - all readers are called alike
    from underoak.intake.weather_stations import read_stations

    return read_stations(path)


def _places(path: Path, context: Context) -> Reading[Any]:
    from underoak.intake.parks import read_parks

    return read_parks(path, home=context.home, places=context.places)


def _trails(path: Path, context: Context) -> Reading[Any]:
    reading = _trail_reader(path, context)
    return replace(reading, understood=(*reading.understood, *_network_lines(reading.records)))


def _trail_reader(path: Path, context: Context) -> Reading[Any]:
    suffix = path.suffix.lower()
    if suffix in (".geojson", ".json"):
        from underoak.intake.trails_geojson import read_geojson_trails

        return read_geojson_trails(path, home=context.home)
    if suffix == ".gpx":
        from underoak.intake.trails_gpx import read_gpx_trails

        return read_gpx_trails(path, home=context.home)
    if suffix in (".osm", ".pbf", ".xml"):
        from underoak.intake.trails_osm import read_osm

        return read_osm(path, home=context.home)
    raise _wrong_ending(path, "GeoJSON (.geojson), GPX (.gpx) or an OpenStreetMap extract (.osm, .pbf)")


def _network_lines(records: Sequence[Any]) -> Sequence[str]:
    """What the trails of a file make together: length, dead ends, parts that do not meet."""
    from underoak.model.ground import Trail
    from underoak.woods.network_report import report
    from underoak.woods.trails import build_network

    trails = [record for record in records if isinstance(record, Trail)]
    if not 0 < len(trails) <= MOST_TRAILS_REPORTED:
        return ()
    return report(build_network(trails)).sentences()


def _trees(path: Path, context: Context) -> Reading[Any]:
    from underoak.intake.forest_raster import RASTERS, read_forest_raster

    if path.suffix.lower() in RASTERS:
        told = context.options
        return read_forest_raster(path, classes=told.column_map(), epsg=told.epsg, home=context.home)
    if path.suffix.lower() == ".gpx":
        from underoak.intake.host_notes import read_host_notes

        return read_host_notes(path, home=context.home)
    return _tree_table(path, context)


def _tree_table(path: Path, context: Context) -> Reading[Any]:
    from underoak.desk.tell_ground import ages_of
    from underoak.intake.trees import LocalGrid, read_trees
    from underoak.model.ground import Tree

    options = context.options
    grid = LocalGrid(options.origin, options.scale_m or 1.0) if options.origin else None
    reading = read_trees(
        path,
        columns={meaning: header for header, meaning in options.column_map().items()} or None,
        diameter_unit="in" if options.units == "us" else None,
        grid=grid,
        home=None if grid else context.home,
    )
    ages = ages_of(record for record in reading.records if isinstance(record, Tree))
    return replace(reading, understood=(*reading.understood, *ages))


def _terrain(path: Path, context: Context) -> Reading[Any]:
    from underoak.intake.terrain import read_terrain

    return read_terrain(path, epsg=context.options.epsg, home=context.home)


def _visits(path: Path, context: Context) -> Reading[Any]:
    from underoak.intake.visits import read_visits

    return read_visits(
        path,
        places=context.places,
        spots=context.spots,
        taxon_id_of=_taxon_id_of,
        today=context.today,
    )


def _waypoints(path: Path, context: Context) -> Reading[Any]:
    from underoak.intake.waypoints_gpx import read_gpx_waypoints

    return read_gpx_waypoints(
        path,
        places=context.places,
        spots=context.spots,
        taxon_id_of=_taxon_id_of,
        today=context.today,
        timezone=context.timezone,
        home=context.home,
    )


def _reports(path: Path, context: Context) -> Reading[Any]:
    if path.suffix.lower() == ".zip":
        from underoak.intake.darwin_core import read_darwin_core as read_reports
    else:
        from underoak.intake.reports import read_reports

    return read_reports(path, taxon_id_of=_taxon_id_of, today=context.today, home=context.home)


def _pack(path: Path, context: Context) -> Reading[Any]:
    from underoak.intake.pack import read_pack

    return read_pack(
        path,
        places=context.places,
        spots=context.spots,
        known=context.pack_entries,
        taxon_id_of=_taxon_id_of,
        today=context.today,
    )


def _taxon_id_of(name: str) -> str | None:
    """Id of the taxon that a name means, None when the book knows none or several."""
    from underoak.book.load import load_book

    try:
        return load_book().find(name).id
    except UserMistake:
        return None


def _wrong_ending(path: Path, expected: str) -> BadData:
    return BadData([Problem(f"the ending {path.suffix or 'of the name'} is not known", path.name, expected)])


def _store_ground(connection: Ledger, records: Sequence[Any]) -> int:
    return sum(store_ground(connection, records).values())


def _store_weather(connection: Ledger, records: Sequence[Any]) -> int:
    from underoak.ledger.weather import store_series

    return sum(store_series(connection, series) for series in records)


def _store_stations(connection: Ledger, records: Sequence[Any]) -> int:
    from underoak.ledger.weather import place_stations

    return place_stations(connection, records)


def _store_visits(connection: Ledger, records: Sequence[Any]) -> int:
    from underoak.ledger.visits import store_visits
    from underoak.model.visits import Visit

    ground = [record for record in records if not isinstance(record, Visit)]
    return _store_ground(connection, ground) + store_visits(
        connection, [record for record in records if isinstance(record, Visit)]
    )


def _store_reports(connection: Ledger, records: Sequence[Any]) -> int:
    from underoak.ledger.reports import store_reports

    return store_reports(connection, records)


def _after_pack(context: Context, records: Sequence[Any]) -> Context:
    return replace(context, pack_entries=(*context.pack_entries, *records))


def _store_pack(connection: Ledger, records: Sequence[Any]) -> int:
    from underoak.desk.take_in_pack import take_in

    return take_in(connection, records)


KINDS: dict[str, Kind] = {
    "weather": Kind(_weather, _store_weather),
    "stations": Kind(_stations, _store_stations, repeats=True),
    "places": Kind(_places, _store_ground),
    "trails": Kind(_trails, _store_ground),
    "trees": Kind(_trees, _store_ground),
    "terrain": Kind(_terrain, _store_ground),
    "visits": Kind(_visits, _store_visits),
    "waypoints": Kind(_waypoints, _store_visits),
    "reports": Kind(_reports, _store_reports),
    "pack": Kind(_pack, _store_pack, after=_after_pack),
}
