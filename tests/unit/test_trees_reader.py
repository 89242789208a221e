"""Tree inventories of many shapes."""

from __future__ import annotations

import json
from collections import Counter
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.outside_data import spatstat
from underoak.errors import BadData
from underoak.intake.reading import Reading
from underoak.intake.tree_names import condition_of
from underoak.intake.trees import LocalGrid, read_trees
from underoak.model.ground import Tree
from underoak.woods.geodesy import distance_m


def trees_of(reading: Reading[Any]) -> list[Tree]:
    """The records, which are all trees here."""
    assert all(isinstance(record, Tree) for record in reading.records)
    return list(reading.records)


def written(folder: Path, text: str, name: str = "trees.csv") -> Path:
    path = folder / name
    path.write_text(text)
    return path


@pytest.mark.parametrize(
    ("header", "value", "cm"),
    [
        ("dbh_in", "20", 50.8),
        ("DBH (in)", "20", 50.8),
        ("Diameter (cm)", "50,5", 50.5),
        ("diameter_cm", "50.5", 50.5),
        ("girth_cm", "314.159265", 100.0),
        ("Circumference (in)", "100", 100 * 2.54 / np.pi),
        ("dbh_mm", "505", 50.5),
        ("dbh_in", "0", None),
        ("dbh_in", "", None),
    ],
)
def test_the_header_says_the_unit(tmp_path: Path, header: str, value: str, cm: float | None) -> None:
    text = f'Latitude,Longitude,Species,"{header}"\n41.5,-74.5,Quercus alba,"{value}"\n'
    reading = read_trees(written(tmp_path, text))
    (tree,) = trees_of(reading)
    assert tree.diameter_cm == (None if cm is None else pytest.approx(cm, rel=1e-6))
    assert tree.host_group == "white_oak"
    assert not reading.problems


def test_a_column_map_a_semicolon_and_the_condition(tmp_path: Path) -> None:
    rows = ["41.5;-74.5;red oak;10;Stump", "41.5;-74.4;red oak;10;Alive", "41.5;-74.3;?;;Dead"]
    text = "\n".join(["N;E;Baum;tree_dbh;status", *rows])
    reading = read_trees(
        written(tmp_path, text),
        columns={"latitude": "N", "longitude": "E", "species": "Baum"},
        diameter_unit="in",
    )
    assert [t.condition for t in trees_of(reading)] == ["stump", "living", "dead"]
    assert [t.diameter_cm for t in trees_of(reading)] == [25.4, 25.4, None]
    assert any("not recognised" in line for line in reading.understood)


@pytest.mark.parametrize(
    ("text", "condition"),
    [
        ("Dead/dying", "dead"),
        ("standing_dead", "dead"),
        ("Removed (2019)", "stump"),
        ("Good; some dead branches", "living"),
        ("Fair, deadwood in the crown", "living"),
        ("", "unknown"),
    ],
)
def test_what_inventories_say_of_a_trees_condition(text: str, condition: str) -> None:
    assert condition_of(text) == condition


def test_places_without_a_tree_and_conditions_in_the_species(tmp_path: Path) -> None:
    names = ["Vacant site, large", "Planting Site", "Stump", "dead red oak", "live oak", "Quercus alba"]
    text = "lat,lon,species\n" + "".join(f'41.5,-74.{k},"{name}"\n' for k, name in enumerate(names, start=1))
    reading = read_trees(written(tmp_path, text))
    assert [(t.host_group, t.condition) for t in trees_of(reading)] == [
        ("unknown", "stump"),
        ("red_oak", "dead"),
        ("white_oak", "unknown"),
        ("white_oak", "unknown"),
    ]
    assert "2 places where no tree stands left aside" in reading.understood


def test_the_column_map_can_carry_the_unit(tmp_path: Path) -> None:
    path = written(tmp_path, "lat,lon,species,tree_dbh\n41.5,-74.5,oak,10\n")
    for field, cm in (("diameter_in", 25.4), ("girth_cm", 10 / np.pi), ("Diameter (mm)", 1.0)):
        (tree,) = trees_of(read_trees(path, columns={field: "tree_dbh"}))
        assert tree.diameter_cm == pytest.approx(cm)
    with pytest.raises(BadData, match="no tree has a 'height'"):
        read_trees(path, columns={"height": "tree_dbh", "diameter_in": "tree_dbh"})
    with pytest.raises(BadData, match="--column tree_dbh=diameter_in"):
        read_trees(path)


def test_stems_on_one_point_stay_apart_and_ids_do_not_change(tmp_path: Path) -> None:
    path = written(tmp_path, "lat,lon,species\n41.5,-74.5,oak\n41.5,-74.5,oak\n41.5,-74.5,elm\n")
    first, second = read_trees(path).records, read_trees(path).records
    assert len({t.id for t in first}) == 3
    assert first == second


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("41.5,-74.5,oak,-3", "line 2, dbh_cm: diameter -3 is negative"),
        ("41.5,-74.5,oak,wide", "'wide' is no number"),
        ("41.5,-74.5,oak,5000", "thicker than any tree"),
        ("41.5,,oak,3", "no pair of numbers"),
        ("-74.5,41.5,oak,3", "swapped"),
        ("nan,41.5,oak,3", "no pair of numbers"),
        ("41.5,-74.5,oak", "3 cells"),
    ],
)
def test_each_bad_row_is_named(tmp_path: Path, row: str, said: str) -> None:
    text = f"lat,lon,species,dbh_cm\n{row}\n41.5,-74.5,oak,30\n"
    reading = read_trees(written(tmp_path, text), home=(-74.5, 41.5))
    assert len(reading.records) == 1
    assert [said in p.sentence() and "line 2" in p.where for p in reading.problems] == [True]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "empty"),
        ("lat,lon,species\n", "no row"),
        ("lat,lat,species\n1,2,oak\n", "twice"),
        ("a,b,c\n1,2,3\n", "no column 'latitude'"),
        ("lat,lon,species,dbh\n41,-74,oak,3\n", "unit of 'dbh' is not known"),
        ("oak\n", "no header"),
        ("lat,lon,species\n" + "x" * 10_000_000, "characters"),
        ("lat\0,lon", "binary"),
    ],
)
def test_files_that_are_no_tree_table(tmp_path: Path, text: str, said: str) -> None:
    with pytest.raises(BadData) as error:
        read_trees(written(tmp_path, text))
    assert said in str(error.value)


def test_a_quote_that_never_ends(tmp_path: Path) -> None:
    reading = read_trees(written(tmp_path, 'lat,lon,species\n41.5,-74.5,oak\n41.5,-74.5,"oak\n'))
    assert "breaks off" in reading.problems[-1].what


def test_geojson_points(tmp_path: Path) -> None:
    features = [
        {
            "type": "Feature",
            "geometry": {"type": "Point", "coordinates": [-74.5, 41.5]},
            "properties": {"spc_common": "pin oak", "DBH (in)": dbh},
        }
        for dbh in (12, -1)
    ]
    path = written(tmp_path, json.dumps({"type": "FeatureCollection", "features": features}), "t.geojson")
    reading = read_trees(path)
    assert [t.diameter_cm for t in trees_of(reading)] == [pytest.approx(30.48)]
    assert "feature 2" in reading.problems[0].where
    assert "negative" in reading.problems[0].what


@pytest.mark.outside
def test_the_mapped_oaks_of_lansing_woods(tmp_path: Path) -> None:
    """Counts of Gerrard 1969 as the package carries them; the square's side is 924 ft."""
    wood = spatstat("lansing")
    rows = zip(wood["x"], wood["y"], wood["marks"], strict=True)
    text = "x,y,marks\n" + "".join(f"{float(x)!r},{float(y)!r},{mark}\n" for x, y, mark in rows)
    side_m = 924 * 0.3048
    # The origin is invented: where the square lies was not read.
    reading = read_trees(written(tmp_path, text), grid=LocalGrid((-84.5, 42.7), side_m))
    trees = trees_of(reading)
    groups = Counter(tree.host_group for tree in trees)
    assert groups == {"hickory": 703, "maple": 514, "white_oak": 448, "red_oak": 346 + 135, "unknown": 105}
    a, b = trees[0], trees[2000]
    gap = distance_m(a.longitude_deg, a.latitude_deg, b.longitude_deg, b.latitude_deg)
    plane = side_m * np.hypot(wood["x"][0] - wood["x"][2000], wood["y"][0] - wood["y"][2000])
    assert gap == pytest.approx(plane, rel=1e-4)
