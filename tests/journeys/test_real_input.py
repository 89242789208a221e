"""Real files go through load, week and walk.

They come from different parts of the world, so the journey puts them together: New York's weather and
the oaks of Lansing Woods are set beside a hike that was walked elsewhere. Each keeps its own numbers.
"""

from __future__ import annotations

import csv
import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from tests.journeys.command import underoak
from tests.outside_data import spatstat
from underoak.desk.make_home import make_home
from underoak.model.household import Person, Settings, Whereabouts
from underoak.settings import Home

DATA = Path(__file__).parents[1] / "data"
#: The hike's first point (longitude, latitude).
START = (14.144491, 45.380600)
TODAY = ("--today", "2015-10-03")


@pytest.fixture
def beside_the_hike(tmp_path: Path) -> Home:
    settings = Settings(
        name="The Invented Family",
        where=Whereabouts(latitude_deg=START[1], longitude_deg=START[0], elevation_m=733.0),
        people=(Person(name="Ada"), Person(name="Ben")),
    )
    return make_home(tmp_path / "home", settings)


def load(home: Home, kind: str, path: Path, *options: object) -> str:
    answer = underoak("load", kind, path, *TODAY, *options, home=home.folder)
    assert answer.code == 0, answer.err
    return answer.out


def park(folder: Path) -> Path:
    """An invented park around the real hike, with an invented permission."""
    west, east, south, north = START[0] - 0.15, START[0] + 0.03, START[1] - 0.02, START[1] + 0.09
    ring = [[west, south], [east, south], [east, north], [west, north], [west, south]]
    permission = {
        "status": "allowed",
        "who": "invented ranger",
        "limit_kg_person_day": 3.0,
        "source": "invented letter",
        "checked_on": "2015-09-01",
        "expires_on": "2015-12-31",
    }
    features = [
        ({"name": "Invented Park", "permission": permission}, {"type": "Polygon", "coordinates": [ring]}),
        ({"name": "Trailhead", "kind": "car_park"}, {"type": "Point", "coordinates": list(START)}),
    ]
    path = folder / "park.geojson"
    document = {
        "type": "FeatureCollection",
        "features": [
            {"type": "Feature", "properties": properties, "geometry": geometry}
            for properties, geometry in features
        ],
    }
    path.write_text(json.dumps(document))
    return path


def test_new_york_weather_tells_its_first_frosts(beside_the_hike: Home) -> None:
    """Dates counted by hand from the same US Government record (see tests/data/PROVENANCE.md)."""
    out = load(beside_the_hike, "weather", DATA / "new_york_2012_2015.csv")
    assert "2012-11-06, 2013-11-12, 2014-11-15, 2015-11-24" in out


def test_a_real_elevation_grid_is_read(beside_the_hike: Home, tmp_path: Path) -> None:
    """Matplotlib's sample of the Jacksboro fault, written as a GeoTIFF at its own place."""
    from matplotlib import cbook

    sample: Any = cbook.get_sample_data("jacksboro_fault_dem.npz")
    with sample:
        heights, dx, dy = sample["elevation"], float(sample["dx"]), float(sample["dy"])
        west, north = float(sample["xmin"]), float(max(sample["ymin"], sample["ymax"]))
    path = tmp_path / "jacksboro.tif"
    keys = (1, 1, 0, 2, 1024, 0, 1, 2, 2048, 0, 1, 4326)
    Image.fromarray(heights.astype(np.int32)).save(
        path, tiffinfo={33550: (dx, dy, 0.0), 33922: (0.0, 0.0, 0.0, west, north, 0.0), 34735: keys}
    )
    settings = beside_the_hike.settings.model_copy(
        update={"where": Whereabouts(latitude_deg=36.6, longitude_deg=-84.2, elevation_m=400.0)}
    )
    home = make_home(tmp_path / "tennessee", settings)
    out = load(home, "terrain", path)
    assert f"{heights.min()} to {heights.max()} m high" in out


def test_lansing_oaks_and_a_real_hike_become_a_week_and_a_walk(beside_the_hike: Home, tmp_path: Path) -> None:
    """Gerrard's (1969) map of Lansing Woods: 929 oaks on a square of 924 ft, from spatstat.data."""
    stand = spatstat("lansing")
    table = tmp_path / "lansing.csv"
    with table.open("w", newline="") as stream:
        writer = csv.writer(stream)
        writer.writerow(["x", "y", "species"])
        writer.writerows(zip(stand["x"], stand["y"], stand["marks"], strict=True))
    home = beside_the_hike
    load(home, "weather", DATA / "new_york_2012_2015.csv")
    load(home, "places", park(tmp_path))
    load(home, "trails", DATA / "korita-zbevnica.gpx")
    out = load(home, "trees", table, "--origin", START[0] - 0.002, START[1] - 0.0005, "--scale", 281.6)
    assert "white_oak 448" in out
    assert "red_oak 481" in out  # 346 red and 135 black oaks
    week = underoak("week", *TODAY, "--json", home=home.folder)
    assert week.code == 0, week.err
    assert {row["place"] for row in week.json()["woods"]} == {"Invented Park"}
    walk = underoak("walk", *TODAY, "--hours", 3, "--seconds", 5, "--json", home=home.folder)
    assert walk.code == 0, walk.err
    plan = walk.json()
    assert 0.0 < plan["kg"] <= plan["bound_kg"] * (1 + 1e-9)
    assert 0.0 < plan["minutes"] <= 180.0
