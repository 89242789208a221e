"""Write the invented valley as the files a household would really have."""

from __future__ import annotations

import csv
import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

import numpy as np

from underoak.world.season import InventedSpot, Seen, flushes, known_spots, notes
from underoak.world.trails import car_park_point, park_outline, park_paths
from underoak.world.trees import InventedTree, park_trees
from underoak.world.valley import (
    HOME_ELEVATION_M,
    HOME_LATITUDE_DEG,
    HOME_LONGITUDE_DEG,
    PARKS,
    east_north_m,
    elevation_m,
    longitude_latitude,
)
from underoak.world.weather import Day, daily_weather

FIRST_WEATHER_DAY = date(2019, 1, 1)
FIRST_SEASON = 2022
STATION_ID = "ZZ000INVENT"
_SCIENTIFIC = {
    "grifola_frondosa": "Grifola frondosa",
    "laetiporus_sulphureus": "Laetiporus sulphureus",
    "armillaria_mellea_group": "Armillaria mellea",
    "pleurotus_ostreatus_group": "Pleurotus ostreatus",
    "hericium_group": "Hericium americanum",
    "lycoperdon_perlatum": "Lycoperdon perlatum",
}


@dataclass(frozen=True, slots=True)
class WorldFile:
    """One written file and the kind that ``underoak load`` takes it as."""

    kind: str
    path: Path


def write_world(folder: Path, *, seed: int, today: date) -> tuple[WorldFile, ...]:
    """Write all files of the invented valley up to ``today`` into ``folder``, in loading order.

    The same seed and day give the same bytes. Weather ends on the day before ``today`` and a forecast
    of eleven days follows; notes of visits end the weekend before.
    """
    folder.mkdir(parents=True, exist_ok=True)
    trees: dict[str, list[InventedTree]] = {}
    for park in PARKS:
        first = 1 + sum(len(group) for group in trees.values())
        trees[park.name] = park_trees(park, seed, first)
    weather = daily_weather(FIRST_WEATHER_DAY, today + timedelta(days=10), seed)
    past = [day for day in weather if day.day < today]
    coming = [day for day in weather if day.day >= today]
    seasons = range(FIRST_SEASON, today.year + 1)
    spots = [
        spot
        for park in PARKS
        for spot in known_spots(park, trees[park.name], 14 if park.permission["status"] == "allowed" else 5)
    ]
    lines = notes(spots, flushes(spots, seasons, seed), seasons, today - timedelta(days=2), seed)
    return (
        WorldFile("weather", _text(folder / "weather-archive.csv", _archive_lines(past))),
        WorldFile("weather", _json(folder / "forecast.json", _forecast(coming, today))),
        WorldFile("places", _json(folder / "parks.geojson", _parks(spots))),
        WorldFile("trails", _json(folder / "trails.geojson", _trails(seed))),
        WorldFile("terrain", _text(folder / "terrain.asc", _terrain_lines())),
        WorldFile("trees", _table(folder / "trees.csv", _tree_rows(trees))),
        WorldFile("visits", _table(folder / "visits.csv", visit_rows(lines))),
        WorldFile("reports", _table(folder / "reports.csv", _report_rows(seasons, today, seed))),
    )


def _archive_lines(days: Sequence[Day]) -> Iterable[str]:
    """The by-station CSV of the public daily archive: tenths of mm, degrees and m/s, flags empty."""
    for day in days:
        stamp = day.day.strftime("%Y%m%d")
        for element, value in (
            ("PRCP", day.rain_mm),
            ("TMAX", day.tmax_c),
            ("TMIN", day.tmin_c),
            ("AWND", day.wind_m_s),
        ):
            yield f"{STATION_ID},{stamp},{element},{round(value * 10)},,,Z,"


def _forecast(days: Sequence[Day], today: date) -> object:
    return {
        "form": "underoak-forecast-1",
        "issued": today.isoformat(),
        "station": {
            "id": STATION_ID,
            "name": "Invented Valley",
            "latitude_deg": HOME_LATITUDE_DEG,
            "longitude_deg": HOME_LONGITUDE_DEG,
            "elevation_m": HOME_ELEVATION_M,
        },
        "days": [
            {
                "day": day.day.isoformat(),
                "rain_mm": day.rain_mm,
                "tmin_c": day.tmin_c,
                "tmax_c": day.tmax_c,
                "wind_m_s": day.wind_m_s,
            }
            for day in days
        ],
    }


def _collection(features: Iterable[tuple[dict[str, object], str, object]]) -> object:
    return {
        "type": "FeatureCollection",
        "features": [
            {
                "type": "Feature",
                "properties": properties,
                "geometry": {"type": kind, "coordinates": coordinates},
            }
            for properties, kind, coordinates in features
        ],
    }


def _parks(spots: Sequence[InventedSpot]) -> object:
    features: list[tuple[dict[str, object], str, object]] = []
    for park in PARKS:
        properties: dict[str, object] = {"name": park.name, "permission": park.permission}
        features.append((properties, "Polygon", [park_outline(park)]))
        where = longitude_latitude(*car_park_point(park))
        features.append(({"name": park.car_park, "kind": "car_park"}, "Point", list(where)))
    for spot in spots:
        features.append(
            (
                {
                    "name": spot.name,
                    "kind": "spot",
                    "place": spot.park.name,
                    "host": spot.tree.species,
                    "diameter_cm": round(spot.tree.diameter_in * 2.54, 1),
                },
                "Point",
                list(longitude_latitude(spot.tree.east_m, spot.tree.north_m)),
            )
        )
    return _collection(features)


def _trails(seed: int) -> object:
    return _collection(
        (
            {"name": path.name, "surface": path.surface},
            "LineString",
            [list(longitude_latitude(*point)) for point in path.points],
        )
        for park in PARKS
        for path in park_paths(park, seed)
    )


def _terrain_lines() -> Iterable[str]:
    """ESRI ASCII grid in degrees, about 60 m a cell."""
    step = 0.0006
    west, south, columns, rows = -74.645, 41.578, 190, 190
    yield from (f"ncols {columns}", f"nrows {rows}", f"xllcorner {west}", f"yllcorner {south}")
    yield from (f"cellsize {step}", "NODATA_value -9999")
    longitudes = west + step * (np.arange(columns) + 0.5)
    for row in range(rows):
        latitude = south + step * (rows - row - 0.5)
        east, north = zip(*(east_north_m(float(lon), latitude) for lon in longitudes), strict=True)
        heights = elevation_m(np.array(east), np.array(north))
        yield " ".join(f"{height:.1f}" for height in heights)


def _tree_rows(trees: dict[str, list[InventedTree]]) -> list[dict[str, object]]:
    rows: list[dict[str, object]] = []
    for group in trees.values():
        for tree in group:
            longitude, latitude = longitude_latitude(tree.east_m, tree.north_m)
            rows.append(
                {
                    "tree_id": tree.number,
                    "latitude": latitude,
                    "longitude": longitude,
                    "species": tree.species,
                    "dbh_in": tree.diameter_in,
                    "condition": tree.condition,
                }
            )
    return rows


def visit_rows(lines: Iterable[Seen]) -> list[dict[str, object]]:
    """The household's notes as rows of the table that ``underoak template visits`` writes."""
    return [
        {
            "date": line.outing.day.isoformat(),
            "place": line.spot.park.name,
            "spot": line.spot.name,
            "searched": line.thoroughness,
            "taxon": line.taxon_id or "",
            "stage": line.stage or "",
            "fresh_g": line.fresh_g or "",
            "minutes": line.outing.minutes,
            "people": " + ".join(line.outing.people),
        }
        for line in lines
    ]


def _report_rows(seasons: range, today: date, seed: int) -> list[dict[str, object]]:
    """Other people's dated records of the region (invented), as Darwin Core columns."""
    rng = np.random.default_rng([seed, 17])
    medians = {"grifola_frondosa": 270, "armillaria_mellea_group": 274, "laetiporus_sulphureus": 240}
    rows: list[dict[str, object]] = []
    for year in seasons:
        shift = rng.normal(0.0, 5.0)
        for taxon, median in medians.items():
            for _ in range(int(rng.integers(6, 14))):
                day = date(year, 1, 1) + timedelta(days=round(median + shift + rng.normal(0.0, 9.0)))
                if day < today:
                    rows.append(
                        {
                            "occurrenceID": f"invented-{len(rows) + 1}",
                            "basisOfRecord": "HumanObservation",
                            "eventDate": day.isoformat(),
                            "scientificName": _SCIENTIFIC[taxon],
                            "decimalLatitude": round(HOME_LATITUDE_DEG + rng.normal(0.0, 0.25), 3),
                            "decimalLongitude": round(HOME_LONGITUDE_DEG + rng.normal(0.0, 0.3), 3),
                            "coordinateUncertaintyInMeters": 1000,
                            "occurrenceStatus": "present",
                        }
                    )
    return rows


def _text(path: Path, lines: Iterable[str]) -> Path:
    path.write_text("".join(f"{line}\n" for line in lines), "utf-8")
    return path


def _json(path: Path, document: object) -> Path:
    path.write_text(json.dumps(document, indent=1) + "\n", "utf-8")
    return path


def _table(path: Path, rows: Sequence[dict[str, object]]) -> Path:
    with path.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.DictWriter(stream, fieldnames=list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)
    return path
