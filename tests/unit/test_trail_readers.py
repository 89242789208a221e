"""Trails from GPX, GeoJSON and OpenStreetMap extracts."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import gpxpy
import pytest

from tests.outside_data import beside
from underoak.errors import BadData
from underoak.intake.trails_geojson import read_geojson_trails
from underoak.intake.trails_gpx import read_gpx_trails, step_m
from underoak.intake.trails_osm import read_osm
from underoak.model.ground import CarPark, Trail, Tree

HIKE = Path(__file__).parents[1] / "data" / "korita-zbevnica.gpx"


def gpx(*points: tuple[float, float], extra: str = "", head: str = "") -> str:
    inner = "".join(f'<trkpt lat="{lat}" lon="{lon}">{extra}</trkpt>' for lon, lat in points)
    return f'{head}<gpx version="1.1"><trk><name>t</name><trkseg>{inner}</trkseg></trk></gpx>'


def test_a_real_hike_is_as_long_as_the_reference_library_says() -> None:
    reading = read_gpx_trails(HIKE)
    assert not reading.problems
    reference = gpxpy.parse(HIKE.read_text("utf-8"))
    assert sum(len(t.points) for t in reading.records) == reference.get_points_no() == 871
    metres = sum(step_m(a, b) for t in reading.records for a, b in zip(t.points, t.points[1:], strict=False))
    assert metres == pytest.approx(reference.length_2d(), rel=2e-3)
    first = reference.tracks[1].segments[0].points[0]
    assert reading.records[0].elevations_m[0] == first.elevation
    assert read_gpx_trails(HIKE).records == reading.records


def test_odd_times_and_impossible_heights_do_no_harm(tmp_path: Path) -> None:
    path = tmp_path / "odd.gpx"
    line = [(-74.5 + k / 10_000, 41.5) for k in range(5)]
    path.write_text(gpx(*line, extra="<ele>-32768</ele><time>1901-13-99T99:99</time>"))
    (trail,) = read_gpx_trails(path).records
    assert len(trail.points) == 5
    assert trail.elevations_m == ()


def test_a_jump_is_named_and_never_becomes_trail(tmp_path: Path) -> None:
    path = tmp_path / "jump.gpx"
    west = [(-74.5 + k / 10_000, 41.5) for k in range(20)]
    east = [(-74.4 + k / 10_000, 41.5) for k in range(20)]
    path.write_text(gpx(*west, *east))
    reading = read_gpx_trails(path)
    assert [len(t.points) for t in reading.records] == [20, 20]
    (problem,) = reading.problems
    assert "a jump of" in problem.what
    assert "between points 20 and 21" in problem.what


def test_many_jumps_in_a_short_track_do_not_hide_each_other(tmp_path: Path) -> None:
    """One step of a few metres and three of 30 km: the usual step is no measure."""
    path = tmp_path / "jumpy.gpx"
    path.write_text(
        gpx((-74.55, 41.64), (-74.5501, 41.6401), (-74.2, 41.8), (-74.55, 41.6402), (-74.2, 41.8))
    )
    reading = read_gpx_trails(path)
    assert len(reading.problems) == 3
    assert all("at most 2000 m" in problem.sentence() for problem in reading.problems)
    (trail,) = reading.records
    assert len(trail.points) == 2


def test_a_track_of_nothing_but_jumps_says_so(tmp_path: Path) -> None:
    path = tmp_path / "jumps.gpx"
    points = [(-74.5 + (k // 2) / 10, 41.5 + (k % 2) / 10_000) for k in range(60)]
    path.write_text(gpx(*points))
    reading = read_gpx_trails(path)
    assert len(reading.problems) == 11
    assert "more jumps" in reading.problems[-1].what
    assert all(
        step_m(a, b) < 300 for t in reading.records for a, b in zip(t.points, t.points[1:], strict=False)
    )


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (gpx(), "no track, route or waypoint"),
        ("<gpx></gpx>", "no track, route or waypoint"),
        ("<kml></kml>", "<kml>"),
        ("<gpx><trk>", "no whole XML"),
        ("hello", "no whole XML"),
        ("<gpx><wpt lat='1' lon='2'/></gpx>", "no track or route"),
        (
            gpx((0.0, 0.0), head='<!DOCTYPE gpx [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]>'),
            "document type or entities",
        ),
        (gpx((0.0, 0.0), head='<!DOCTYPE gpx SYSTEM "file:///etc/passwd">'), "document type or entities"),
        ("", "empty"),
        ("<gpx>\0\0</gpx>", "binary"),
        ("x" * 10_000_000, "no whole XML"),
    ],
)
def test_files_that_are_no_gpx(tmp_path: Path, text: str, said: str) -> None:
    path = tmp_path / "bad.gpx"
    path.write_text(text)
    if text == gpx():  # an empty segment holds nothing, but the file is whole
        assert read_gpx_trails(path).records == ()
        return
    with pytest.raises(BadData) as error:
        read_gpx_trails(path)
    assert said in str(error.value)


@pytest.mark.parametrize(
    ("point", "said"),
    [
        ('lat="41.5" lon="-74.5"', "1 point"),
        ('lat="north" lon="-74.5"', "no pair of numbers"),
        ('lat="-174.5" lon="41.5"', "swapped"),
        ('lat="nan" lon="41.5"', "no number"),
    ],
)
def test_a_trail_of_one_point_and_wrong_positions(tmp_path: Path, point: str, said: str) -> None:
    path = tmp_path / "one.gpx"
    path.write_text(f"<gpx><trk><trkseg><trkpt {point}/></trkseg></trk></gpx>")
    reading = read_gpx_trails(path)
    assert reading.records == ()
    assert said in reading.problems[0].sentence()
    assert "track 1, segment 1" in reading.problems[0].where


def line(coordinates: Any, geometry: str = "LineString", **properties: Any) -> dict[str, Any]:
    return {
        "type": "Feature",
        "geometry": {"type": geometry, "coordinates": coordinates},
        "properties": properties,
    }


def collection(folder: Path, *features: Any) -> Path:
    path = folder / "trails.geojson"
    path.write_text(json.dumps({"type": "FeatureCollection", "features": features}))
    return path


def test_geojson_trails_keep_direction_closure_surface_and_heights(tmp_path: Path) -> None:
    path = collection(
        tmp_path,
        line([[-74.5, 41.5, 200], [-74.49, 41.5, 210]], name="Ridge", surface="dirt", oneway=True),
        line(
            [[[-74.5, 41.5], [-74.5, 41.51]], [[-74.5, 41.52], [-74.5, 41.53]]],
            "MultiLineString",
            closed=True,
        ),
        line([-74.5, 41.5], "Point", kind="car_park", name="Lot"),
        line([[-74.5, 41.5], [-74.51, 41.5]], highway="path", access="private"),
        line([[-74.5, 41.5], [-74.52, 41.5]], highway="path", access="private", foot="yes"),
        line([[-74.5, 41.5], [-74.53, 41.5]], highway="motorway"),
    )
    reading = read_geojson_trails(path)
    trails = [r for r in reading.records if isinstance(r, Trail)]
    assert [(t.oneway, t.closed) for t in trails] == [
        (True, False),
        (False, True),
        (False, True),
        (False, True),
        (False, False),
    ]
    assert trails[0].elevations_m == (200.0, 210.0)
    assert sum(isinstance(r, CarPark) for r in reading.records) == 1
    assert "1 other feature left aside" in reading.understood[0]


def test_a_geojson_trail_of_one_point_is_refused(tmp_path: Path) -> None:
    reading = read_geojson_trails(
        collection(
            tmp_path,
            line([[-74.5, 41.5]]),
            line([[-74.5, 41.5], [-74.5, 41.5]]),
            line([[0, 0], [0, 0.1]], oneway="left"),
        )
    )
    assert [p.where.split(", ")[1] for p in reading.problems] == ["feature 1", "feature 2", "feature 3"]


OSM = """<osm version="0.6">
<node id="1" lat="41.500" lon="-74.500"/><node id="2" lat="41.501" lon="-74.500"/>
<node id="3" lat="41.502" lon="-74.500"/>
<node id="4" lat="41.503" lon="-74.500"><tag k="natural" v="tree"/><tag k="species" v="Quercus alba"/>
  <tag k="circumference" v="2.5"/></node>
<node id="5" lat="41.504" lon="-74.500"><tag k="amenity" v="parking"/><tag k="name" v="Lot"/></node>
<node id="6" lat="41.505" lon="-74.500"><tag k="amenity" v="parking"/><tag k="access" v="private"/></node>
<way id="10"><nd ref="1"/><nd ref="2"/><tag k="highway" v="path"/><tag k="name" v="Ridge"/></way>
<way id="11"><nd ref="2"/><nd ref="3"/><tag k="highway" v="track"/><tag k="access" v="private"/></way>
<way id="12"><nd ref="1"/><nd ref="3"/><tag k="highway" v="footway"/><tag k="oneway" v="-1"/></way>
<way id="13"><nd ref="1"/><nd ref="2"/><nd ref="99"/><nd ref="3"/><tag k="highway" v="path"/></way>
<way id="14"><nd ref="1"/><nd ref="2"/><tag k="highway" v="motorway"/></way>
<way id="15"><nd ref="1"/><nd ref="2"/><tag k="highway" v="residential"/><tag k="oneway" v="yes"/></way>
<way id="16"><nd ref="1"/><nd ref="2"/><nd ref="3"/><nd ref="1"/><tag k="amenity" v="parking"/></way>
</osm>"""


def check_osm(records: tuple[Trail | CarPark | Tree, ...]) -> None:
    trails = {r.id: r for r in records if isinstance(r, Trail)}
    assert sorted(trails) == ["osm-way-10", "osm-way-11", "osm-way-12", "osm-way-13", "osm-way-15"]
    assert trails["osm-way-11"].closed
    assert trails["osm-way-12"].oneway
    assert trails["osm-way-12"].points[0] == pytest.approx((-74.5, 41.502))
    assert trails["osm-way-13"].points == ((-74.5, 41.5), (-74.5, 41.501))
    assert not trails["osm-way-15"].oneway  # a rule for cars
    (tree,) = [r for r in records if isinstance(r, Tree)]
    assert tree.host_group == "white_oak"
    assert tree.diameter_cm == pytest.approx(250 / 3.14159265, rel=1e-6)
    assert sorted(r.id for r in records if isinstance(r, CarPark)) == ["osm-node-5", "osm-way-16"]


def test_an_xml_extract(tmp_path: Path) -> None:
    path = tmp_path / "wood.osm"
    path.write_text(OSM)
    reading = read_osm(path, home=(-74.5, 41.5))
    check_osm(reading.records)
    assert not reading.problems
    assert any("OpenStreetMap contributors" in words for words in reading.understood)
    assert "1 way cut where the extract ends" in reading.understood


def test_a_pbf_extract_says_the_same(tmp_path: Path) -> None:
    import osmium

    xml, pbf = tmp_path / "wood.osm", tmp_path / "wood.osm.pbf"
    xml.write_text(OSM)
    with osmium.SimpleWriter(str(pbf)) as writer:
        for thing in osmium.FileProcessor(str(xml)):
            writer.add(thing)
    check_osm(read_osm(pbf).records)


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("a.osm", b"", "empty"),
        ("a.osm.pbf", b"", "empty"),
        ("a.osm.pbf", b"\0\0\0\x0dOSMHeader broken", "cannot be read"),
        ("a.osm", b"<osm/>", "no way"),
        ("a.osm", b"<gpx/>", "<gpx>"),
        ("a.osm", b'<osm><node id="1" lat="x" lon="2"/></osm>', "no number"),
        ("a.osm", b'<!DOCTYPE x [<!ENTITY a "a">]><osm>&a;</osm>', "entities"),
    ],
)
def test_files_that_are_no_extract(tmp_path: Path, name: str, content: bytes, said: str) -> None:
    path = tmp_path / name
    path.write_bytes(content)
    with pytest.raises(BadData) as error:
        read_osm(path)
    assert said in str(error.value)


def test_a_truncated_pbf_is_refused(tmp_path: Path) -> None:
    import osmium

    xml, pbf = tmp_path / "wood.osm", tmp_path / "wood.osm.pbf"
    xml.write_text(OSM)
    with osmium.SimpleWriter(str(pbf)) as writer:
        for thing in osmium.FileProcessor(str(xml)):
            writer.add(thing)
    pbf.write_bytes(pbf.read_bytes()[:-40])
    with pytest.raises(BadData, match="cannot be read"):
        read_osm(pbf)


@pytest.mark.outside
def test_a_real_wood(tmp_path: Path) -> None:
    reading = read_geojson_trails(beside("bayreuth_woods", "bayreuth_woods.geojson"))
    assert sum(isinstance(r, Trail) for r in reading.records) == 515
    assert sum(isinstance(r, CarPark) for r in reading.records) == 13
    assert not reading.problems
