"""Tiny MBTiles files for tests, written as the specification says."""

from __future__ import annotations

import io
import sqlite3
from collections.abc import Mapping
from contextlib import closing
from pathlib import Path

from PIL import Image

#: zoom, column, row from the north
Key = tuple[int, int, int]


def picture(colour: str = "tan", kind: str = "PNG", side: int = 256) -> bytes:
    """A tile of one colour."""
    out = io.BytesIO()
    Image.new("RGB", (side, side), colour).save(out, kind)
    return out.getvalue()


def write_tiles(path: Path, tiles: Mapping[Key, object], **said: str) -> Path:
    """A file of tiles. MBTiles 1.3 (from memory): rows are counted from the south."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with closing(sqlite3.connect(path)) as connection, connection:
        connection.execute("CREATE TABLE metadata (name text, value text)")
        connection.execute(
            "CREATE TABLE tiles (zoom_level integer, tile_column integer, tile_row integer, tile_data blob)"
        )
        connection.executemany("INSERT INTO metadata VALUES (?, ?)", said.items())
        connection.executemany(
            "INSERT INTO tiles VALUES (?, ?, ?, ?)",
            [(zoom, column, 2**zoom - 1 - row, data) for (zoom, column, row), data in tiles.items()],
        )
    return path
