"""Slope, aspect and elevation from grids."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from matplotlib.cbook import get_sample_data

from underoak.model.ground import Terrain
from underoak.woods.terrain import cell_size_m, elevation_at, horn_gradient, slope_and_aspect, terrain_for

STEP = 1.0 / 1200.0


@pytest.fixture(scope="module")
def fault() -> Terrain:
    """The Jacksboro fault, 344 x 403 cells; its stored north and south are swapped."""
    sample: Any = get_sample_data("jacksboro_fault_dem.npz")
    with sample:
        return Terrain("t", "fault", -84.41375, 36.73291667, STEP, STEP, sample["elevation"].astype(float))


def test_slope_equals_the_reference_library(fault: Terrain) -> None:
    """xarray-spatial's slope (Horn) with cells of 74.3 x 92.5 m, to 1e-3 degree."""
    xarray = pytest.importorskip("xarray")
    xrspatial = pytest.importorskip("xrspatial")
    z = fault.elevation_m
    rows, columns = z.shape
    grid = xarray.DataArray(
        z, dims=["y", "x"], coords={"y": np.arange(rows)[::-1] * 92.5, "x": np.arange(columns) * 74.3}
    )
    reference = np.asarray(xrspatial.slope(grid))
    ours = np.degrees(np.arctan(np.hypot(*horn_gradient(z, 74.3, 92.5))))
    np.testing.assert_array_equal(np.isnan(ours), np.isnan(reference))
    assert np.nanmax(np.abs(ours - reference)) < 1e-3
    assert np.nanmax(ours) > 30.0


def test_slope_of_a_grid_uses_the_cells_of_its_latitude(fault: Terrain) -> None:
    dx, dy = cell_size_m(fault)
    assert float(dx[0, 0]) == pytest.approx(74.4, abs=0.2)
    assert float(dy[0, 0]) == pytest.approx(92.5, abs=0.2)
    slope, aspect = slope_and_aspect(fault)
    row = 170
    east, north = horn_gradient(fault.elevation_m, float(dx[row, 0]), float(dy[row, 0]))
    np.testing.assert_allclose(slope[row], np.degrees(np.arctan(np.hypot(east, north)))[row], atol=1e-9)
    assert np.nanmin(aspect) >= 0.0
    assert np.nanmax(aspect) < 360.0


@pytest.mark.parametrize(
    ("towards", "aspect"), [("north", 0.0), ("east", 90.0), ("south", 180.0), ("west", 270.0)]
)
def test_aspect_is_where_water_runs(towards: str, aspect: float) -> None:
    y, x = np.mgrid[0:5, 0:5].astype(float)
    falls = {"north": y, "south": -y, "east": -x, "west": x}[towards]
    terrain = Terrain("t", "t", -74.5, 41.5, STEP, STEP, 100.0 + falls * 10.0)
    assert slope_and_aspect(terrain)[1][2, 2] == pytest.approx(aspect)


def test_a_level_grid_has_no_aspect() -> None:
    slope, aspect = slope_and_aspect(Terrain("t", "t", -74.5, 41.5, STEP, STEP, np.full((4, 4), 7.0)))
    assert slope[1, 1] == 0.0
    assert np.isnan(aspect[1, 1])
    assert np.isnan(slope[0]).all()


def test_elevation_between_centres_at_the_rim_and_outside() -> None:
    terrain = Terrain("t", "t", 10.0, 50.0, 1.0, 1.0, np.array([[0.0, 10.0], [20.0, np.nan]]))
    assert float(elevation_at(terrain, 10.5, 49.5)) == 0.0
    assert float(elevation_at(terrain, 11.0, 49.5)) == 5.0
    assert float(elevation_at(terrain, 10.5, 49.0)) == 10.0
    assert float(elevation_at(terrain, 10.1, 49.9)) == 0.0
    assert np.isnan(elevation_at(terrain, [11.0, 9.9, 10.5], [49.0, 49.5, 47.9])).all()
    assert elevation_at(terrain, np.zeros((2, 3)), 49.0).shape == (2, 3)


def test_elevation_follows_a_plane_exactly() -> None:
    y, x = np.mgrid[0:20, 0:30].astype(float)
    terrain = Terrain("t", "t", -74.5, 41.5, STEP, STEP, 200.0 + 3.0 * x - 2.0 * y)
    rng = np.random.default_rng(5)
    lon, lat = (
        rng.uniform(-74.5 + STEP, -74.5 + 28 * STEP, 50),
        rng.uniform(41.5 - 18 * STEP, 41.5 - STEP, 50),
    )
    expected = 200.0 + 3.0 * ((lon + 74.5) / STEP - 0.5) - 2.0 * ((41.5 - lat) / STEP - 0.5)
    np.testing.assert_allclose(elevation_at(terrain, lon, lat), expected, atol=1e-6)


def test_the_grid_that_knows_most_is_chosen() -> None:
    coarse = Terrain("a", "a", 0.0, 10.0, 1.0, 1.0, np.zeros((10, 10)))
    fine = Terrain("b", "b", 0.0, 10.0, 0.1, 0.1, np.zeros((20, 20)))
    assert terrain_for([coarse, fine], [(1.0, 9.0), (1.5, 8.5)]) is fine
    assert terrain_for([coarse, fine], [(1.0, 9.0), (5.0, 5.0)]) is coarse
    assert terrain_for([coarse, fine], [(50.0, 50.0)]) is None
    assert terrain_for([], [(1.0, 1.0)]) is None
