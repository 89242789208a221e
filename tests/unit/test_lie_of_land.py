"""How the land lies where a tree stands, on shapes worked out by hand, and what is told of it."""

from __future__ import annotations

from contextlib import closing

import numpy as np
import pytest

from underoak.desk.tell_ground import age_words, ages_of
from underoak.desk.tell_spot import tell_tree
from underoak.ledger.database import open_ledger, writing
from underoak.ledger.ground import store_terrains, store_trees
from underoak.model.ground import Terrain, Tree
from underoak.settings import Home
from underoak.woods.geodesy import metres_per_degree
from underoak.woods.lie_of_land import lie_of_land
from underoak.woods.terrain import slope_and_aspect

STEP = 0.0003
EAST_M, NORTH_M = (float(size) * STEP for size in metres_per_degree(41.5))


def plane(east: float, north: float, cells: int = 40, step: float = STEP) -> Terrain:
    """A plane that rises so many metres for each metre east and north, around -74.5, 41.5."""
    at = np.arange(cells) * step / STEP
    heights = 200.0 + east * EAST_M * at[None, :] - north * NORTH_M * at[:, None]
    half = cells * step / 2.0
    return Terrain("t", "t", -74.5 - half, 41.5 + half, step, step, heights)


def test_a_plane_has_one_slope_and_faces_downhill() -> None:
    """10 % up to the east, 5 % up to the north: arctan 0.1118 = 6.38 degrees, down towards 243.4 degrees."""
    land = lie_of_land(plane(0.10, 0.05), -74.5, 41.5)
    assert land is not None
    assert land.slope_deg == pytest.approx(6.38, abs=0.01)
    assert land.aspect_deg == pytest.approx(243.43, abs=0.1)
    assert land.words.startswith("a slope of 6° that faces south-west; by its shape moister than")
    assert "channel" not in land.words  # 1.4 km2 of plane gathers no water in one cell


def test_one_cell_of_the_map_by_hand() -> None:
    """Horn 1981: east (c+2f+i-a-2d-g)/8dx, north (a+2b+c-g-2h-i)/8dy, cells a to i from the north-west."""
    heights = np.array([[428.0, 439, 456], [434, 446, 460], [440, 450, 461]])
    step = 1 / 1200
    slope, aspect = slope_and_aspect(Terrain("t", "t", 11.53, 50.0, step, step, heights))
    dx, dy = 59.76, 92.68  # geographiclib: 1/1200 degree at 49.99875 N
    east = ((456 + 920 + 461) - (428 + 868 + 440)) / (8 * dx)
    north = ((428 + 878 + 456) - (440 + 900 + 461)) / (8 * dy)
    assert slope[1, 1] == pytest.approx(np.degrees(np.arctan(np.hypot(east, north))), abs=0.01)
    assert aspect[1, 1] == pytest.approx(np.degrees(np.arctan2(-east, -north)) % 360.0, abs=0.1)


def test_a_valley_floor_is_moist_and_near_water_and_its_rim_is_not() -> None:
    side = np.abs(np.arange(81) - 40)[None, :] * 3.0
    heights = 300.0 + side - np.arange(81)[:, None] * 1.0
    half = 81 * STEP / 2.0
    valley = Terrain("t", "t", -74.5 - half, 41.5 + half, STEP, STEP, heights)
    floor, rim = lie_of_land(valley, -74.5, 41.495), lie_of_land(valley, -74.5 + 35 * STEP, 41.495)
    assert floor is not None
    assert rim is not None
    assert floor.wetter_than > 0.95
    assert floor.water_m == 0.0
    assert "a channel may run here (springs and ditches are not known)" in floor.words
    assert rim.wetter_than < 0.7
    assert rim.water_m == pytest.approx(35 * EAST_M, rel=0.02)
    assert "about 880 m to where" in rim.words


def test_a_fine_grid_is_averaged_and_nothing_is_said_of_unknown_land() -> None:
    fine = lie_of_land(plane(0.10, 0.05, cells=200, step=STEP / 10.0), -74.5, 41.5)
    assert fine is not None
    assert fine.slope_deg == pytest.approx(6.38, abs=0.02)
    assert 15.0 < fine.cell_m < 30.0
    assert lie_of_land(plane(0.1, 0.0), -74.4, 41.5) is None
    assert lie_of_land(plane(0.1, 0.0), -74.5, 41.4) is None
    holed = plane(0.1, 0.0)
    holed.elevation_m[20, 20] = np.nan
    assert lie_of_land(holed, -74.5 + STEP / 2, 41.5 - STEP / 2) is None
    level = lie_of_land(plane(0.0, 0.0), -74.5, 41.5)
    assert level is not None
    assert level.words.startswith("level ground; ")


def test_a_rough_age_is_told_with_its_weakness() -> None:
    """White oak, 22 in: 110 years by the teaching sheets (tree_age_sheets, second-hand)."""
    assert age_words("white_oak", 55.9) == (
        "about 110 years by its trunk (rough: 73 to 147, older in dense woods)"
    )
    assert age_words("white_oak", None) == age_words("oak", 50.0) == age_words("unknown", 50.0) == ""
    trees = [Tree(str(cm), -74.5, 41.5, "white oak", "white_oak", cm) for cm in (50.8, 101.6)]
    (line,) = ages_of(trees)
    assert line.startswith("rough ages by the trunks, in years: white_oak 100 to 200 (a rule of thumb")
    assert ages_of([Tree("a", -74.5, 41.5, "oak", "oak", 50.0)]) == []


def test_the_story_of_a_stump_tells_what_the_tree_was_and_how_the_land_lies(home: Home) -> None:
    with closing(open_ledger(home.ledger)) as connection, writing(connection):
        store_terrains(connection, [plane(0.10, 0.05)])
        store_trees(connection, [Tree("s", -74.5, 41.5, "white oak", "white_oak", 55.9, "stump")])
    age, land = tell_tree(home, "s").ground
    assert age == "The tree was about 110 years by its trunk (rough: 73 to 147, older in dense woods)."
    assert land.startswith("The land: a slope of 6° that faces south-west; by its shape moister than ")
