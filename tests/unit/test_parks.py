"""Park outlines and their permission record."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from underoak.errors import BadData
from underoak.intake.parks import read_parks
from underoak.model.ground import CarPark, Place, Spot

SQUARE = [[[-74.51, 41.50], [-74.50, 41.50], [-74.50, 41.51], [-74.51, 41.51], [-74.51, 41.50]]]
ALLOWED = {
    "status": "allowed",
    "who": "park office",
    "limit_kg_person_day": 2.5,
    "season": ["09-01", "11-30"],
    "source": "sign at the gate",
    "checked_on": "2024-08-30",
    "expires_on": "2025-08-30",
}


def feature(geometry: str, coordinates: Any, **properties: Any) -> dict[str, Any]:
    return {
        "type": "Feature",
        "geometry": {"type": geometry, "coordinates": coordinates},
        "properties": properties,
    }


def written(folder: Path, *features: Any, **members: Any) -> Path:
    path = folder / "parks.geojson"
    path.write_text(json.dumps({"type": "FeatureCollection", "features": list(features), **members}))
    return path


def test_a_park_with_its_permission_car_park_and_spot(tmp_path: Path) -> None:
    path = written(
        tmp_path,
        feature("Polygon", SQUARE, name="Invented Wood", permission=ALLOWED),
        feature("Point", [-74.5055, 41.5001], kind="car_park", name="North lot"),
        feature("Point", [-74.505, 41.505], kind="spot", name="old oak", host="red oak", diameter_cm=90),
        feature("LineString", [[-74.5, 41.5], [-74.51, 41.51]], name="a path"),
    )
    reading = read_parks(path)
    place, car_park, spot = reading.records
    assert isinstance(place, Place)
    assert isinstance(car_park, CarPark)
    assert isinstance(spot, Spot)
    assert place.id == "place-invented-wood"
    assert place.permission.limit_kg_person_day == 2.5
    assert place.permission.season == ((9, 1), (11, 30))
    assert place.permission.expires_on == date(2025, 8, 30)
    assert (spot.place_id, spot.host_group, spot.diameter_cm) == (place.id, "red_oak", 90.0)
    assert not reading.problems
    assert any(line.startswith("1 feature left aside") for line in reading.understood)
    assert read_parks(path).records == reading.records


def test_every_point_of_an_unknown_kind_is_told_at_once_with_what_to_do(tmp_path: Path) -> None:
    path = written(
        tmp_path,
        feature("Polygon", SQUARE, name="Invented Wood", permission=ALLOWED),
        feature("Point", [-74.505, 41.505], kind="Spots", name="old oak"),
        feature("Point", [-74.505, 41.506], kind="bench", name="seat"),
        feature("LineString", [[-74.5, 41.5], [-74.51, 41.51]], kind="spot", name="row of oaks"),
        feature("Point", [-74.505, 41.507], name="nothing said"),
    )
    reading = read_parks(path)
    assert len(reading.records) == 1
    words = [problem.sentence() for problem in reading.problems]
    assert len(words) == 3
    assert "old oak is of the unknown kind 'Spots'" in words[0]
    assert 'write "spot"' in words[0]
    assert "parks.geojson, feature 2" in words[0]
    assert '"kind": "spot" or "car_park"' in words[1]
    assert "row of oaks is said to be a spot and is a LineString" in words[2]
    assert any(line.startswith("1 feature left aside") for line in reading.understood)


def test_without_a_permission_record_the_status_is_unknown(tmp_path: Path) -> None:
    reading = read_parks(written(tmp_path, feature("Polygon", SQUARE, name="Invented Wood")))
    place = reading.records[0]
    assert isinstance(place, Place)
    assert place.permission.status == "unknown"
    assert "ask" in place.permission.note
    assert any("permission unknown" in line for line in reading.understood)


def test_a_permission_flattened_to_text_is_understood(tmp_path: Path) -> None:
    path = written(tmp_path, feature("Polygon", SQUARE, name="Wood", permission=json.dumps(ALLOWED)))
    place = read_parks(path).records[0]
    assert isinstance(place, Place)
    assert place.permission.status == "allowed"


@pytest.mark.parametrize(
    ("feature_", "said"),
    [
        (feature("Polygon", SQUARE), "has no name"),
        (feature("Polygon", SQUARE, name="W", permission={"status": "maybe"}), "permission, status"),
        (feature("Polygon", SQUARE, name="W", permission={"status": "allowed"}), "not by whom"),
        (
            feature("Polygon", SQUARE, name="W", permission=ALLOWED | {"season": ["02-30", "11-01"]}),
            "never comes",
        ),
        (feature("Polygon", SQUARE, name="W", permission=ALLOWED | {"limit": 3}), "permission, limit"),
        (feature("Polygon", [SQUARE[0][:-1]], name="W"), "not closed"),
        (feature("Polygon", [SQUARE[0][:2]], name="W"), "2 positions"),
        (feature("Polygon", [[[y, x] for x, y in SQUARE[0]]], name="W"), "swapped"),
        (
            feature(
                "Polygon", [[[500000, 4600000], [500100, 4600000], [500000, 4600100], [500000, 4600000]]]
            ),
            "metres",
        ),
        (feature("Polygon", [[[0, 0], [1, 1], [1, 0], [0, 1], [0, 0]]], name="bow"), "crosses itself"),
        (feature("Polygon", "nowhere", name="W"), "no list"),
        (feature("Point", [-74.5], kind="car_park"), "no position"),
        (feature("Point", [-74.505, 41.505], kind="spot", name="x", place="Elsewhere"), "no place called"),
        (feature("Blob", [], name="W"), "'Blob'"),
        ({"type": "Blob"}, "no Feature"),
    ],
)
def test_each_fault_is_named_with_its_feature(tmp_path: Path, feature_: dict[str, Any], said: str) -> None:
    reading = read_parks(written(tmp_path, feature_), home=(-74.5, 41.5))
    assert not reading.records
    assert [said in problem.sentence() and "feature 1" in problem.where for problem in reading.problems] == [
        True
    ]


def test_swapped_coordinates_are_told_by_the_distance_from_home(tmp_path: Path) -> None:
    swapped = [[[y, x] for x, y in [(11.5, 49.9), (11.6, 49.9), (11.6, 50.0), (11.5, 49.9)]]]
    path = written(tmp_path, feature("Polygon", swapped, name="W"))
    assert not read_parks(path).problems  # both readings are possible: nothing is claimed without a home
    (problem,) = read_parks(path, home=(11.5, 49.9)).problems
    assert "swapped" in problem.what


def test_all_problems_at_once_and_the_good_part_beside_them(tmp_path: Path) -> None:
    path = written(
        tmp_path,
        feature("Polygon", SQUARE, name="Good"),
        feature("Polygon", SQUARE),
        feature("Polygon", [SQUARE[0][:-1]], name="Open"),
    )
    reading = read_parks(path)
    assert len(reading.records) == 1
    assert [p.where.split(", ")[1] for p in reading.problems] == ["feature 3", "feature 2"]


def test_two_parks_of_one_name_are_told(tmp_path: Path) -> None:
    away = [[[x + 1, y] for x, y in SQUARE[0]]]
    path = written(tmp_path, feature("Polygon", SQUARE, name="Wood"), feature("Polygon", away, name="wood"))
    (problem,) = read_parks(path).problems
    assert "2 parks are called" in problem.what
    own = written(
        tmp_path, feature("Polygon", SQUARE, name="Wood"), feature("Polygon", away, name="Wood", id="w2")
    )
    assert not read_parks(own).problems


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "empty"),
        (b"   \n", "empty"),
        (b"\x89PNG\0\0\0\x01", "binary"),
        (b'{"type": "FeatureCollection", "features": [', "no JSON"),
        (b'{"type": "FeatureCollection", "features": []}', "no feature"),
        (b"[" * 100_000, "nested too deeply"),
        (b'{"type": "Point", "coordinates": [NaN, 1]}', "NaN"),
        (b"[1, 2]", "no GeoJSON"),
        (b"x" * 10_000_000, "no JSON"),
        (
            b'{"type": "FeatureCollection", "crs": {"properties": {"name": "EPSG:3857"}}, "features": [1]}',
            "WGS 84",
        ),
    ],
)
def test_files_that_are_no_geojson(tmp_path: Path, content: bytes, said: str) -> None:
    path = tmp_path / "bad.geojson"
    path.write_bytes(content)
    with pytest.raises(BadData) as error:
        read_parks(path)
    assert said in str(error.value)
    assert "bad.geojson" in str(error.value)


def test_a_missing_file(tmp_path: Path) -> None:
    with pytest.raises(BadData, match="no such file"):
        read_parks(tmp_path / "none.geojson")
