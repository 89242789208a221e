"""Whatever bytes a file holds, a reader answers with records and problems, or with BadData."""

from __future__ import annotations

import json
import tempfile
import warnings
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import rasterio
from hypothesis import given, settings
from hypothesis import strategies as st
from rasterio.transform import from_origin

from underoak.errors import BadData
from underoak.intake.forest_raster import read_forest_raster
from underoak.intake.host_notes import read_host_notes
from underoak.intake.parks import read_parks
from underoak.intake.reading import Reading
from underoak.intake.reports import read_reports
from underoak.intake.terrain import read_terrain
from underoak.intake.trails_geojson import read_geojson_trails
from underoak.intake.trails_gpx import read_gpx_trails
from underoak.intake.trails_osm import read_osm
from underoak.intake.trees import read_trees
from underoak.intake.visits import read_visits, template_visits
from underoak.intake.waypoints_gpx import read_gpx_waypoints
from underoak.model.problem import Problem

TODAY = date(2024, 11, 1)
RING = [[-74.51, 41.50], [-74.50, 41.50], [-74.50, 41.51], [-74.51, 41.50]]
GEOJSON = json.dumps(
    {
        "type": "FeatureCollection",
        "features": [
            {
                "type": "Feature",
                "geometry": {"type": "Polygon", "coordinates": [RING]},
                "properties": {
                    "name": "Wood",
                    "host": "oak",
                    "stems_per_ha": 3,
                    "permission": {
                        "status": "allowed",
                        "who": "x",
                        "source": "y",
                        "season": ["09-01", "11-30"],
                    },
                },
            },
            {
                "type": "Feature",
                "geometry": {"type": "LineString", "coordinates": RING[:3]},
                "properties": {"name": "Ridge", "oneway": True, "dbh_cm": 3},
            },
            {
                "type": "Feature",
                "geometry": {"type": "Point", "coordinates": [-74.505, 41.505]},
                "properties": {"kind": "spot", "name": "Oak", "dbh_in": 20, "species": "red oak"},
            },
        ],
    }
)
GPX = """<gpx><wpt lat="41.5" lon="-74.5"><time>2024-10-06T01:30:00Z</time><name>Oak</name></wpt><trk><trkseg>
<trkpt lat="41.5" lon="-74.5"><ele>3</ele></trkpt><trkpt lat="41.51" lon="-74.5"/></trkseg></trk></gpx>"""
OSM = """<osm><node id="1" lat="41.5" lon="-74.5"/><node id="2" lat="41.51" lon="-74.5"/>
<way id="3"><nd ref="1"/><nd ref="2"/><tag k="highway" v="path"/></way></osm>"""
ASC = "ncols 3\nnrows 2\nxllcorner -74.5\nyllcorner 41.5\ncellsize 0.01\nNODATA_value -9999\n1 2 3\n4 5 6\n"
TREES = "lat,lon,species,dbh_in,status\n41.5,-74.5,Quercus alba,20,alive\n41.6,-74.5,elm,,dead\n"
VISITS = template_visits() + "2024-10-05,Wood,Oak,look,hen,prime,1,20,90,A + B,note,41.5,-74.5,oak\n"
REPORTS = (
    "scientificName\teventDate\tdecimalLatitude\tdecimalLongitude\nGrifola\t2014-10-01/03\t41.5\t-74.5\n"
)


def _tiff() -> bytes:
    with tempfile.TemporaryDirectory() as folder, warnings.catch_warnings():
        warnings.simplefilter("ignore")  # the affine library inside rasterio
        path = Path(folder) / "a.tif"
        heights = np.arange(64, dtype="int16").reshape(8, 8)
        kind = {"driver": "GTiff", "width": 8, "height": 8, "count": 1, "dtype": "int16", "crs": "EPSG:4326"}
        place = from_origin(-74.5, 41.5, 0.01, 0.01)
        with rasterio.open(path, "w", **kind, transform=place, compress="deflate") as file:
            file.write(heights, 1)
        return path.read_bytes()


def _visits(path: Path) -> Reading[Any]:
    return read_visits(path, places=[], spots=[], taxon_id_of=lambda _: "x", today=TODAY)


def _waypoints(path: Path) -> Reading[Any]:
    return read_gpx_waypoints(
        path, places=[], spots=[], taxon_id_of=lambda _: None, today=TODAY, timezone="America/New_York"
    )


def _reports(path: Path) -> Reading[Any]:
    return read_reports(path, taxon_id_of=lambda _: None, today=TODAY)


def _forest(path: Path) -> Reading[Any]:
    return read_forest_raster(path, classes={"1": "oak few", "3": "white oak 40 + beech many"})


READERS: list[tuple[str, str, Callable[[Path], Reading[Any]], bytes]] = [
    ("parks", "a.geojson", read_parks, GEOJSON.encode()),
    ("trails", "a.geojson", read_geojson_trails, GEOJSON.encode()),
    ("trees", "a.geojson", read_trees, GEOJSON.encode()),
    ("tree table", "a.csv", read_trees, TREES.encode()),
    ("gpx", "a.gpx", read_gpx_trails, GPX.encode()),
    ("waypoints", "a.gpx", _waypoints, GPX.encode()),
    ("osm", "a.osm", read_osm, OSM.encode()),
    ("pbf", "a.osm.pbf", read_osm, b"\0\0\0\x0d\x0a\x09OSMHeader\x18\x7c"),
    ("ascii grid", "a.asc", read_terrain, ASC.encode()),
    ("geotiff", "a.tif", read_terrain, _tiff()),
    ("host notes", "a.gpx", read_host_notes, GPX.encode()),
    ("forest grid", "a.asc", _forest, ASC.encode()),
    ("forest geotiff", "a.tif", _forest, _tiff()),
    ("visits", "a.csv", _visits, VISITS.encode()),
    ("reports", "a.txt", _reports, REPORTS.encode()),
]


def _problems(read: Callable[[Path], Reading[Any]], path: Path) -> tuple[Problem, ...]:
    try:
        return read(path).problems
    except BadData as error:
        return error.problems


def spoilt(whole: bytes) -> st.SearchStrategy[bytes]:
    """The whole file with a few bytes changed, cut out or put in, or cut short."""
    change = st.tuples(st.integers(0, len(whole)), st.integers(0, 4), st.binary(max_size=4))

    def apply(changes: list[tuple[int, int, bytes]]) -> bytes:
        data = whole
        for at, out, put in changes:
            data = data[:at] + put + data[at + out :]
        return data

    few = st.lists(change, min_size=1, max_size=4).map(apply)
    return st.one_of(few, st.integers(0, len(whole)).map(lambda n: whole[:n]), st.binary(max_size=200))


@pytest.mark.parametrize(("name", "file", "read", "whole"), READERS, ids=[reader[0] for reader in READERS])
def test_a_spoilt_file_gives_records_or_bad_data(
    tmp_path: Path, name: str, file: str, read: Callable[[Path], Reading[Any]], whole: bytes
) -> None:
    path = tmp_path / file

    @settings(max_examples=25, deadline=None)
    @given(spoilt(whole))
    def check(data: bytes) -> None:
        path.write_bytes(data)
        assert all(problem.what and file in problem.where for problem in _problems(read, path))

    check()
