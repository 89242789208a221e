"""Forest-type rasters: classes become areas with hosts."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest
import rasterio
from pyproj import Transformer
from rasterio.features import shapes
from rasterio.transform import from_origin
from shapely.geometry import shape

from underoak.desk.load_data import Loaded, read_files, store_files
from underoak.desk.load_kinds import Options
from underoak.errors import BadData
from underoak.intake.forest_raster import read_forest_raster
from underoak.intake.tree_features import area_m2
from underoak.settings import Home

GRID = """ncols 4
nrows 3
xllcorner -74.5
yllcorner 41.5
cellsize 0.0005
NODATA_value 0
1 1 2 2
1 0 1 2
1 1 1 3
"""


def ascii_map(folder: Path) -> Path:
    path = folder / "types.asc"
    path.write_text(GRID)
    return path


def test_cells_of_a_class_become_one_area_with_its_hole(tmp_path: Path) -> None:
    reading = read_forest_raster(
        ascii_map(tmp_path), classes={"1": "white oak 40 + red oak Many", "3": "beech few"}
    )
    white, red, beech = reading.records
    assert (white.host_group, white.stems_ha) == ("white_oak", 40.0)
    assert (red.host_group, red.stems_ha) == ("red_oak", 60.0)
    assert (beech.host_group, beech.stems_ha) == ("beech", 5.0)
    assert white.polygons == red.polygons
    ((outer, hole),) = white.polygons
    assert len(hole) == 5  # the unknown cell in the middle
    assert (-74.5, 41.5) in outer
    assert (-74.4985, 41.5) in outer
    cell_m2 = area_m2(beech.polygons)
    assert area_m2(white.polygons) == pytest.approx(7 * cell_m2, rel=1e-6)
    assert "classes left aside: 2" in reading.understood


@pytest.mark.filterwarnings("ignore::PendingDeprecationWarning")  # of a library that rasterio calls
def test_a_projected_map_has_the_outlines_of_the_reference_library(tmp_path: Path) -> None:
    """rasterio's `shapes` on 10 m cells in UTM zone 18: areas of every class to a thousandth."""
    rng = np.random.default_rng(4)
    cells = rng.choice([0, 41, 42], (40, 50), p=[0.3, 0.5, 0.2]).astype(np.uint8)
    place = from_origin(541_000.0, 4_595_000.0, 10.0, 10.0)
    path = tmp_path / "forest.tif"
    with rasterio.open(
        path, "w", driver="GTiff", height=40, width=50, count=1, dtype="uint8", crs="EPSG:32618",
        transform=place, nodata=0,
    ) as file:  # fmt: skip
        file.write(cells, 1)
    back = Transformer.from_crs(4326, 32618, always_xy=True)
    for patch in read_forest_raster(path, classes={"41": "oak some", "42": "beech 100"}).records:
        code = 41 if patch.host_group == "oak" else 42
        theirs = _area(cells == code)
        ours = 0.0
        for rings in patch.polygons:
            outer, *holes = ([back.transform(*point) for point in ring] for ring in rings)
            ours += shape({"type": "Polygon", "coordinates": [outer, *holes]}).area
        assert ours == pytest.approx(theirs, rel=1e-3)
        assert ours == pytest.approx(100.0 * np.count_nonzero(cells == code), rel=1e-3)


def _area(mask: npt.NDArray[np.bool_]) -> float:
    """Area of the outlines that rasterio draws, in cells of 10 m."""
    return sum(100.0 * shape(one).area for one, value in shapes(mask.astype(np.uint8)) if value == 1)


def test_every_fault_of_the_explanation_is_told_at_once(tmp_path: Path) -> None:
    path = ascii_map(tmp_path)
    with pytest.raises(BadData, match="nobody said what stands in its classes 1, 2, 3"):
        read_forest_raster(path, classes={})
    with pytest.raises(BadData) as error:
        read_forest_raster(
            path, classes={"1": "fairy wood 40", "9": "oak few", "two": "oak few", "3": "oak 9999"}
        )
    told = " ".join(problem.sentence() for problem in error.value.problems)
    assert "'fairy wood 40' names no host" in told
    assert "class 9: the file has no such class; expected one of 1, 2, 3" in told
    assert "class 'two' is no number" in told
    assert "9999 stems of oak on a hectare" in told
    with pytest.raises(BadData, match="far from home"):
        read_forest_raster(path, classes={"1": "oak few"}, home=(41.5, -74.5))


def test_a_file_that_is_explained_otherwise_is_taken_in_again(home: Home, tmp_path: Path) -> None:
    """The same file with another meaning corrects; with the same meaning it changes nothing."""
    from datetime import date

    stored: list[Loaded] = []
    for meaning in ("1=oak few", "1=oak few", "1=white oak 30"):
        read = read_files(
            home, "trees", [ascii_map(tmp_path)], options=Options(columns=(meaning,)), today=date(2026, 10, 1)
        )
        stored += store_files(home, "trees", read, accept_good=False, today=date(2026, 10, 1))
    assert [(one.known_before, one.stored) for one in stored] == [(False, 1), (True, 0), (False, 1)]
