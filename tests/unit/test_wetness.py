"""Water on simple shapes whose drainage can be worked out by hand, and on a real grid."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from matplotlib.cbook import get_sample_data

from underoak.model.ground import Terrain
from underoak.woods.terrain import cell_size_m
from underoak.woods.wetness import distance_to_water_m, upslope_area_m2, wetness_index

STEP = 0.0003


def grid(heights: Any) -> Terrain:
    return Terrain("t", "t", -74.5, 41.5, STEP, STEP, np.asarray(heights, dtype=float))


def test_a_tilted_plane_drains_straight_down() -> None:
    terrain = grid(np.tile(100.0 - 2.0 * np.arange(8)[:, None], (1, 6)))  # falls towards south
    dx, dy = (float(size.mean()) for size in cell_size_m(terrain))
    area = upslope_area_m2(terrain)
    np.testing.assert_allclose(area[:, 3] / (dx * dy), np.arange(1, 9), rtol=1e-4)
    index = wetness_index(terrain)
    expected = np.log(5 * dx * dy / ((dx + dy) / 2) / (2.0 / dy))
    assert index[4, 3] == pytest.approx(expected, rel=1e-3)
    assert np.all(np.diff(index[:-1, 3]) > 0)


def test_water_does_not_run_along_the_rim_of_the_grid() -> None:
    """A plane that falls to the west and half as steeply to the south: no more than a strip gathers."""
    terrain = grid(100.0 + 3.0 * np.arange(30)[None, :] - 1.5 * np.arange(30)[:, None])
    cells = upslope_area_m2(terrain) / upslope_area_m2(terrain).min()
    assert cells.max() < 31.0


def test_a_valley_gathers_both_sides_and_a_hollow_is_filled() -> None:
    side = np.abs(np.arange(11) - 5)[None, :] * 5.0
    down = -np.arange(20)[:, None] * 1.0
    heights = 100.0 + side + down
    heights[10, 5] -= 50.0  # a pit in the valley floor holds nothing back
    area = upslope_area_m2(grid(heights))
    cell = area.min()
    assert area[-1, 5] > 0.8 * 200 * cell
    assert area[:, 5].argmax() == 19


def test_all_land_leaves_the_grid_once() -> None:
    rng = np.random.default_rng(2)
    terrain = grid(rng.normal(100, 5, (15, 17)))
    dx, dy = cell_size_m(terrain)
    area = upslope_area_m2(terrain)
    assert area.min() == pytest.approx(float((dx * dy).min()), rel=1e-6)
    assert area.max() <= float((dx * dy).sum() * 17) + 1.0


def test_unknown_cells_stay_unknown() -> None:
    heights = np.full((6, 6), 10.0)
    heights[2, 2] = np.nan
    index = wetness_index(grid(heights))
    assert np.isnan(index[2, 2])
    assert np.isfinite(index).sum() == 35


def test_distance_to_water() -> None:
    side = np.abs(np.arange(41) - 20)[None, :] * 5.0
    terrain = grid(100.0 + side - np.arange(60)[:, None] * 1.0)
    dx = float(cell_size_m(terrain)[0].mean())
    away = distance_to_water_m(terrain, channel_m2=100 * dx * dx)
    assert away[50, 20] == 0.0
    assert away[50, 10] == pytest.approx(10 * dx, rel=0.01)
    assert np.isinf(distance_to_water_m(terrain, channel_m2=1e12)).all()


def test_a_real_valley_is_wetter_than_its_ridges() -> None:
    """The Jacksboro fault: the wettest tenth of the cells lies lower than its surroundings."""
    sample: Any = get_sample_data("jacksboro_fault_dem.npz")
    with sample:
        z = sample["elevation"][100:220, 100:240].astype(float)
    index = wetness_index(Terrain("t", "t", -84.3, 36.65, 1 / 1200, 1 / 1200, z))
    around = np.array(
        [[z[max(r - 5, 0) : r + 6, max(c - 5, 0) : c + 6].mean() for c in range(140)] for r in range(120)]
    )
    above = z - around
    wet, dry = index > np.nanquantile(index, 0.9), index < np.nanquantile(index, 0.1)
    assert above[wet].mean() < -5.0 < 0.0 < above[dry].mean()
