"""Pictures of a map from an MBTiles file: opened for reading only, every picture decoded before it is used.

Source: MBTiles 1.3 specification (from memory): an SQLite file with a table or view ``tiles`` of
``zoom_level, tile_column, tile_row, tile_data``, rows counted from the south, and a table ``metadata`` of
names and values.
"""

from __future__ import annotations

import io
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from underoak.errors import BadData
from underoak.model.problem import Problem

#: The largest picture and side of one that is shown, and how long one question may take, in steps of SQLite.
MOST_TILE_BYTES, MOST_SIDE, MOST_STEPS = 2_000_000, 1024, 2_000_000
DEEPEST_ZOOM = 24
_TYPES = {"PNG": "image/png", "JPEG": "image/jpeg", "WEBP": "image/webp"}


@dataclass(frozen=True, slots=True)
class TileFile:
    """What a file of tiles says of itself."""

    name: str
    least_zoom: int
    most_zoom: int
    credit: str


def tile_files(folder: Path) -> tuple[str, ...]:
    """Names of the tile files in a folder, none where there is no folder."""
    if not folder.is_dir():
        return ()
    return tuple(sorted(one.name for one in folder.iterdir() if one.suffix == ".mbtiles" and one.is_file()))


def read_tile_file(path: Path) -> TileFile:
    """What a file of tiles holds.

    Raises BadData for a file that is no MBTiles file, that is empty, or whose tiles are no pictures.
    """
    with _opened(path) as connection:
        said = {str(k): str(v)[:300] for k, v in connection.execute("SELECT name, value FROM metadata")}
        first = connection.execute("SELECT tile_data FROM tiles LIMIT 1").fetchone()
        least, most = (_farthest_zoom(connection, order) for order in ("ASC", "DESC"))
    if first is None or not 0 <= least <= most <= DEEPEST_ZOOM:
        raise _bad(path, "it holds no tile")
    if said.get("format") in ("pbf", "mvt") or _picture_type(first[0]) is None:
        raise _bad(path, "its tiles are no pictures", "tiles as PNG, JPEG or WebP, not as vectors")
    return TileFile(said.get("name", path.stem), least, most, said.get("attribution", ""))


def _farthest_zoom(connection: sqlite3.Connection, order: str) -> int:
    """Lowest or highest zoom, -1 without one; asked one by one, so that the file's index answers."""
    query = f"SELECT zoom_level FROM tiles ORDER BY zoom_level {order} LIMIT 1"  # noqa: S608 - our own word
    found = connection.execute(query).fetchone()
    return found[0] if found is not None and isinstance(found[0], int) else -1


def read_tile(path: Path, zoom: int, column: int, row: int) -> tuple[bytes, str] | None:
    """Bytes and media type of one tile, ``row`` counted from the north; None where the file holds none.

    Raises BadData for a file that is no MBTiles file, and for a tile that is no whole small picture.
    """
    if not (0 <= zoom <= DEEPEST_ZOOM and 0 <= column < 2**zoom and 0 <= row < 2**zoom):
        return None
    with _opened(path) as connection:
        found = connection.execute(
            "SELECT tile_data FROM tiles WHERE zoom_level = ? AND tile_column = ? AND tile_row = ?",
            (zoom, column, 2**zoom - 1 - row),
        ).fetchone()
    if found is None:
        return None
    kind = _picture_type(found[0])
    if kind is None:
        raise _bad(path, f"its tile {zoom}/{column}/{row} is no whole picture", "PNG, JPEG or WebP")
    return bytes(found[0]), kind


def _picture_type(data: object) -> str | None:
    """Media type of a whole picture of a map tile's size, None for anything else."""
    from PIL import Image

    if not isinstance(data, bytes) or not data:
        return None
    try:
        with Image.open(io.BytesIO(data), formats=tuple(_TYPES)) as picture:
            kind = _TYPES.get(picture.format or "")
            if max(picture.size) > MOST_SIDE:
                return None
            picture.load()
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError, Image.DecompressionBombWarning):
        return None
    return kind


@contextmanager
def _opened(path: Path) -> Iterator[sqlite3.Connection]:
    """The file, for reading only; whatever is wrong with it is a BadData, also what takes for ever."""
    if not path.is_file():
        raise BadData([Problem("there is no such file", path.name, "an MBTiles file in the folder maps")])
    connection = sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True, timeout=2.0)
    try:
        connection.setlimit(sqlite3.SQLITE_LIMIT_LENGTH, MOST_TILE_BYTES)
        connection.execute("PRAGMA trusted_schema = OFF")
        connection.execute("PRAGMA query_only = ON")
        connection.set_progress_handler(lambda: 1, MOST_STEPS)
        yield connection
    except sqlite3.Error as error:
        raise _bad(path, f"it cannot be read as tiles: {error}") from error
    finally:
        connection.close()


def _bad(path: Path, what: str, expected: str = "an MBTiles file") -> BadData:
    return BadData([Problem(what, path.name, expected)])
