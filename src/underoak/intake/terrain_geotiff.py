"""GeoTIFF elevation grids, read with Pillow and the few GeoKeys that say where the grid lies.

Source: OGC GeoTIFF 1.1 (tags 33550, 33922, 34264, 34735, 34737; keys 1024, 1025, 2048, 3072, 4099), from
memory; the no-data tag 42113 is a convention of common raster tools. Checked against rasterio.
"""

from __future__ import annotations

import warnings
from collections.abc import Mapping
from io import BytesIO
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from underoak.errors import BadData
from underoak.intake.raw_grid import MOST_CELLS, RawGrid, bad, too_many_cells
from underoak.intake.reading import read_bytes

_EXPECTED = "a GeoTIFF with one band of heights"
_PIXEL_SCALE, _TIE_POINT, _TRANSFORM, _KEYS, _NO_DATA = 33550, 33922, 34264, 34735, 42113
_RASTER_TYPE, _GEOGRAPHIC, _PROJECTED, _VERTICAL_UNIT = 1025, 2048, 3072, 4099
_POINT = 2  # RasterPixelIsPoint: the tie point is the centre of a cell
_USER_DEFINED = 32767
_METRES = {9001: 1.0, 9002: 0.3048, 9003: 1200.0 / 3937.0}
#: Geographic systems that differ from WGS 84 by less than 2 m: NAD83 and ETRS89 in their usual codes.
_SAME_AS_WGS84 = {4326, 4269, 4258, 6318}


def read_geotiff(path: Path) -> RawGrid:
    """The first band of a GeoTIFF; unknown cells are NaN.

    Raises
    ------
    BadData   when the file is missing, no TIFF, truncated, rotated, of several bands, or not placed on Earth
    """
    data = read_bytes(path)
    if data[:4] not in (b"II*\0", b"MM\0*", b"II+\0", b"MM\0+"):
        raise bad("this is no TIFF file", path.name, _EXPECTED)
    heights, tags = _pixels(data, path.name)
    no_data = _number(tags.get(_NO_DATA))
    if no_data is not None:
        heights[np.isclose(heights, no_data, rtol=1e-6, atol=0.0)] = np.nan
    heights[~np.isfinite(heights)] = np.nan
    keys = _geo_keys(tags, path.name)
    west, north, step_x, step_y = _placing(tags, path.name)
    if keys.get(_RASTER_TYPE) == _POINT:
        west, north = west - step_x / 2.0, north + step_y / 2.0
    unit = _METRES.get(keys.get(_VERTICAL_UNIT, 9001), 1.0)
    return RawGrid(west, north, step_x, step_y, heights, _epsg(keys), unit)


def _pixels(data: bytes, file: str) -> tuple[npt.NDArray[np.float64], Mapping[int, Any]]:
    from PIL import Image, UnidentifiedImageError

    try:
        with warnings.catch_warnings():
            warnings.simplefilter(
                "ignore"
            )  # Pillow warns of odd tags and of large pictures; both are checked here
            with Image.open(BytesIO(data), formats=["TIFF"]) as image:
                if problem := too_many_cells(*image.size, file):
                    raise BadData([problem])
                if len(image.getbands()) != 1:
                    raise bad(f"the picture has {len(image.getbands())} bands", file, _EXPECTED)
                tags = {number: _several(value) for number, value in image.tag_v2.items()}  # type: ignore[attr-defined]
                image.load()
                return np.array(image, dtype=np.float64), tags
    except Image.DecompressionBombError as error:
        raise bad(
            "the grid is too large", file, f"at most {MOST_CELLS} cells", "cut out your area"
        ) from error
    except UnidentifiedImageError as error:
        raise bad(
            "this TIFF cannot be read: cut off, or a kind of number it should not hold",
            file,
            _EXPECTED,
            "export it again as 32-bit float",
        ) from error
    except (OSError, SyntaxError, ValueError, EOFError, KeyError, TypeError, IndexError) as error:
        raise bad(
            f"the file is truncated or damaged ({error})", file, _EXPECTED, "download it again"
        ) from error


def _several(value: Any) -> Any:
    """A tag of one number as a tuple of one: a damaged file may have one where several belong."""
    return (value,) if isinstance(value, int | float) else value


def _geo_keys(tags: Mapping[int, Any], file: str) -> dict[int, int]:
    """Keys whose value stands in the directory itself: {key: value}."""
    numbers = [int(v) for v in tags.get(_KEYS, ())]
    if not numbers:
        return {}
    if len(numbers) < 4 or len(numbers) < 4 + 4 * numbers[3]:
        raise bad("the GeoKey directory is damaged", file, _EXPECTED)
    entries = (numbers[4 + 4 * k : 8 + 4 * k] for k in range(numbers[3]))
    return {key: value for key, location, _, value in entries if location == 0}


def _epsg(keys: Mapping[int, int]) -> int | None:
    projected, geographic = keys.get(_PROJECTED), keys.get(_GEOGRAPHIC)
    code = projected if projected and projected != _USER_DEFINED else geographic
    if projected == _USER_DEFINED or code in (None, 0, _USER_DEFINED):
        return None
    return 4326 if code in _SAME_AS_WGS84 else code


def _placing(tags: Mapping[int, Any], file: str) -> tuple[float, float, float, float]:
    """(west, north, step_x, step_y) of the cell whose corner or centre the tie point names."""
    if len(tags.get(_PIXEL_SCALE, ())) >= 2 and len(tags.get(_TIE_POINT, ())) >= 5:
        step_x, step_y = (float(v) for v in tags[_PIXEL_SCALE][:2])
        i, j, _, x, y = (float(v) for v in tags[_TIE_POINT][:5])
        west, north = x - i * step_x, y + j * step_y
    elif _TRANSFORM in tags and len(tags[_TRANSFORM]) >= 8:
        a, b, _, west, d, e, _, north = (float(v) for v in tags[_TRANSFORM][:8])
        if b or d:
            raise bad(
                "the grid is rotated", file, "a grid whose rows run west to east", "export it again unrotated"
            )
        step_x, step_y = a, -e
    else:
        raise bad("the TIFF does not say where it lies", file, "a GeoTIFF", "export it with its coordinates")
    if not (step_x > 0.0 and step_y > 0.0):
        raise bad(f"the cells are {step_x} by {step_y}", file, "rows from the north, columns from the west")
    return west, north, step_x, step_y


def _number(value: Any) -> float | None:
    try:
        return float(str(value).strip().strip("\0"))
    except ValueError:
        return None
