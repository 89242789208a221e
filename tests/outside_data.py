"""Finds data that the project may not carry; every test that needs them is skipped with a reason elsewhere.

The environment variable UNDEROAK_OUTSIDE_DATA names a folder with unpacked packages
(``r-cran-spatstat.data``, …); a folder ``shared/data`` beside the checkout holds the map extracts.
"""

from __future__ import annotations

import bz2
import os
import warnings
import zlib
from pathlib import Path
from typing import Any

import pytest

_BESIDE = Path(__file__).parents[1] / ".." / "shared" / "data"


def beside(*parts: str) -> Path:
    """A path in the folder of map extracts beside the checkout, or skip."""
    path = _BESIDE.joinpath(*parts).resolve()
    if not path.exists():
        pytest.skip(f"{'/'.join(parts)} is not beside this checkout")
    return path


def outside(*parts: str) -> Path:
    """A path in the folder UNDEROAK_OUTSIDE_DATA names, or skip."""
    folder = os.environ.get("UNDEROAK_OUTSIDE_DATA", "")
    if not folder:
        pytest.skip("UNDEROAK_OUTSIDE_DATA is not set, so there are no outside data")
    path = Path(folder).joinpath(*parts)
    if not path.exists():
        pytest.skip(f"{path} is missing; tools/fetch_outside_data puts it there")
    return path


def spatstat(name: str) -> Any:
    """One data set of the Debian package r-cran-spatstat.data (GPL-2+), read without R; or skip."""
    base = outside(
        "r-cran-spatstat.data", "usr", "lib", "R", "site-library", "spatstat.data", "data", "Rdata.rdx"
    )
    rdata = pytest.importorskip("rdata")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # rdata tells of R classes it leaves as they are
        index = rdata.conversion.convert(rdata.parser.parse_data(base.read_bytes()))
        start, length = (int(number) for number in index["variables"][name])
        packed = base.with_suffix(".rdb").read_bytes()[start : start + length]
        body = bz2.decompress(packed[5:]) if packed[4:5] == b"2" else zlib.decompress(packed[4:])
        return rdata.conversion.convert(rdata.parser.parse_data(body))
