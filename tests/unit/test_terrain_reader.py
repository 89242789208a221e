"""Elevation grids against rasterio and pyproj, and every way such a file can be broken."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
import rasterio
from matplotlib.cbook import get_sample_data
from pyproj import Transformer
from rasterio.transform import from_origin

from tests.outside_data import beside
from underoak.errors import BadData
from underoak.intake.terrain import read_terrain
from underoak.woods.terrain import elevation_at

# The affine library that rasterio uses warns about its own multiplication sign.
pytestmark = pytest.mark.filterwarnings("ignore::PendingDeprecationWarning")

WEST, NORTH, STEP = -84.41375, 36.73291667, 1.0 / 1200.0


@pytest.fixture(scope="module")
def fault() -> Any:
    """The Jacksboro fault in Tennessee, 344 x 403 cells, as matplotlib carries it (US public domain data)."""
    sample: Any = get_sample_data("jacksboro_fault_dem.npz")
    with sample:
        return sample["elevation"]


def geotiff(path: Path, heights: Any, crs: str = "EPSG:4326", place: Any = None, **options: Any) -> Path:
    transform = place or from_origin(WEST, NORTH, STEP, STEP)
    rows, columns = heights.shape
    kind = {"driver": "GTiff", "width": columns, "height": rows, "count": 1, "dtype": heights.dtype}
    with rasterio.open(path, "w", **kind, crs=crs, transform=transform, **options) as file:
        file.write(heights, 1)
    return path


@pytest.mark.parametrize(
    ("dtype", "options"),
    [
        ("int16", {"compress": "deflate"}),
        ("int16", {"compress": "lzw", "predictor": 2}),
        ("int16", {"ENDIANNESS": "BIG"}),
        ("uint16", {}),
        ("int32", {}),
        ("float32", {"compress": "lzw", "predictor": 3, "tiled": True, "blockxsize": 128, "blockysize": 128}),
        ("float32", {"BIGTIFF": "YES"}),
    ],
)
def test_geotiffs_of_many_kinds_give_what_rasterio_wrote(
    tmp_path: Path, fault: Any, dtype: str, options: dict[str, Any]
) -> None:
    path = geotiff(tmp_path / "dem.tif", fault.astype(dtype), **options)
    (terrain,) = read_terrain(path).records
    np.testing.assert_array_equal(terrain.elevation_m, fault)
    with rasterio.open(path) as file:
        assert terrain.west_deg == pytest.approx(file.bounds.left, abs=1e-12)
        assert terrain.north_deg == pytest.approx(file.bounds.top, abs=1e-12)
        assert (terrain.step_lon_deg, terrain.step_lat_deg) == pytest.approx(file.res)
    assert read_terrain(path).records[0].id == terrain.id


def test_points_instead_of_areas_and_unknown_cells(tmp_path: Path, fault: Any) -> None:
    holed = fault.astype("float32")
    holed[10, 20] = -9999.0
    path = tmp_path / "dem.tif"
    geotiff(path, holed, nodata=-9999.0)
    with rasterio.open(path, "r+") as file:
        file.update_tags(AREA_OR_POINT="Point")
    (terrain,) = read_terrain(path).records
    with rasterio.open(path) as file:  # rasterio, too, gives the outer edge for points
        assert terrain.west_deg == pytest.approx(file.bounds.left, abs=1e-12)
        assert terrain.north_deg == pytest.approx(file.bounds.top, abs=1e-12)
    assert np.isnan(terrain.elevation_m[10, 20])
    assert np.isnan(terrain.elevation_m).sum() == 1


def test_a_projected_grid_is_resampled(tmp_path: Path) -> None:
    """A tilted plane in UTM 16N stays the same plane when read in degrees."""
    easting = 700_000.0 + 30.0 * (np.arange(200) + 0.5)
    northing = 4_050_000.0 - 30.0 * (np.arange(150) + 0.5)
    x, y = np.meshgrid(easting, northing)
    plane = (300.0 + (x - 700_000.0) * 0.02 + (4_050_000.0 - y) * 0.01).astype("float32")
    place = from_origin(700_000.0, 4_050_000.0, 30.0, 30.0)
    reading = read_terrain(geotiff(tmp_path / "utm.tif", plane, "EPSG:32616", place))
    (terrain,) = reading.records
    assert "resampled from EPSG:32616" in reading.understood[1]
    to_degrees = Transformer.from_crs(32616, 4326, always_xy=True)
    lon, lat = to_degrees.transform(x[20:-20, 20:-20], y[20:-20, 20:-20])
    np.testing.assert_allclose(elevation_at(terrain, lon, lat), plane[20:-20, 20:-20], atol=0.05)


def test_an_ascii_grid_by_corner_by_centre_and_over_broken_lines(tmp_path: Path) -> None:
    head = "ncols 3\nnrows 2\n{}\ncellsize 0.01\nNODATA_value -9999\n"
    corner, centre = "xllcorner -74.5\nyllcorner 41.5", "xllcenter -74.495\nyllcenter 41.505"
    for name, where in (("corner", corner), ("centre", centre)):
        path = tmp_path / f"{name}.asc"
        path.write_text(head.format(where) + "1 2 3 4\n-9999 6\n")
        (terrain,) = read_terrain(path).records
        assert terrain.west_deg == pytest.approx(-74.5)
        assert terrain.north_deg == pytest.approx(41.52)
        np.testing.assert_array_equal(terrain.elevation_m, [[1, 2, 3], [4, np.nan, 6]])


def test_an_ascii_grid_takes_its_system_from_the_prj_or_the_option(tmp_path: Path) -> None:
    from pyproj import CRS

    path = tmp_path / "utm.asc"
    rows = "\n".join(" ".join("250" for _ in range(40)) for _ in range(30))
    path.write_text(f"ncols 40\nnrows 30\nxllcorner 700000\nyllcorner 4050000\ncellsize 30\n{rows}\n")
    with pytest.raises(BadData, match="coordinate system"):
        read_terrain(path)
    by_option = read_terrain(path, epsg=32616).records[0]
    path.with_suffix(".prj").write_text(CRS.from_epsg(32616).to_wkt("WKT1_ESRI"))
    by_prj = read_terrain(path).records[0]
    np.testing.assert_array_equal(by_option.elevation_m, by_prj.elevation_m)
    assert by_option.west_deg == pytest.approx(-84.77, abs=0.02)


def test_a_truncated_geotiff_is_refused(tmp_path: Path, fault: Any) -> None:
    whole = geotiff(tmp_path / "dem.tif", fault.astype("float32")).read_bytes()
    broken = tmp_path / "cut.tif"
    for share in (0.999, 0.9, 0.5, 0.1, 0.001):
        broken.write_bytes(whole[: int(len(whole) * share)])
        with pytest.raises(BadData) as error:
            read_terrain(broken)
        assert "cut.tif" in str(error.value)


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("a.tif", b"", "empty"),
        ("a.tif", b"II*\0", "cut off"),
        ("a.tif", b"II*\0\x08\0\0\0\xff\xff" + b"\0" * 40, "a.tif"),
        ("a.tif", b"not a tiff", "no TIFF"),
        ("a.asc", b"", "empty"),
        ("a.asc", b"ncols 3\nnrows\n", "no header line"),
        ("a.asc", b"hello\n", "lacks ncols"),
        ("a.asc", b"ncols 3\nnrows 2\nxllcorner 0\nyllcorner 0\ncellsize 0.01\n1 2 3\n", "cut off"),
        ("a.asc", b"ncols 3\nnrows 2\nxllcorner 0\nyllcorner 0\ncellsize 0.01\n1 2 3\n4 5 x\n", "no number"),
        ("a.asc", b"ncols 2\nnrows 2\nxllcorner 0\nyllcorner 0\ncellsize 0\n1 2\n3 4\n", "cell size"),
        (
            "a.asc",
            b"ncols 2\nnrows 2\nxllcorner 0\nyllcorner 0\ncellsize 0.01\n1 2\n3 99999\n",
            "heights run",
        ),
        ("a.asc", b"ncols 999999\nnrows 999999\nxllcorner 0\nyllcorner 0\ncellsize 0.01\n1\n", "at most"),
        ("a.asc", b"9" * 10_000_000, "characters"),
        (
            "a.asc",
            b"ncols 2\nnrows 2\nxllcorner 0\nyllcorner 0\ncellsize 0.01\n-9999 -9999 -9999 -9999\n",
            "no cell",
        ),
    ],
)
def test_files_that_are_no_grid(tmp_path: Path, name: str, content: bytes, said: str) -> None:
    path = tmp_path / name
    path.write_bytes(content)
    with pytest.raises(BadData) as error:
        read_terrain(path)
    assert said in str(error.value)


def test_a_tiff_without_a_place_and_one_with_three_bands(tmp_path: Path) -> None:
    from PIL import Image

    path = tmp_path / "photo.tif"
    Image.new("L", (20, 20)).save(path)
    with pytest.raises(BadData, match="where it lies"):
        read_terrain(path)
    Image.new("RGB", (20, 20)).save(path)
    with pytest.raises(BadData, match="3 bands"):
        read_terrain(path)


@pytest.mark.outside
def test_a_real_ascii_grid_equals_what_rasterio_reads() -> None:
    path = beside("bayreuth_woods", "bayreuth_woods_srtm3.asc")
    (terrain,) = read_terrain(path).records
    with rasterio.open(path) as file:
        np.testing.assert_array_equal(terrain.elevation_m, file.read(1))
        assert terrain.west_deg == pytest.approx(file.bounds.left, abs=1e-9)
        assert terrain.north_deg == pytest.approx(file.bounds.top, abs=1e-9)
