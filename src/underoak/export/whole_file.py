"""Files that are whole or not there."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

from underoak.errors import NoAnswer


def write_whole(path: Path, data: bytes, *, mode: int = 0o644) -> None:
    """Write beside the name and on to the disk, then put it in place; what stood there stays until then.

    Raises NoAnswer when the disk is full or may not be written; nothing is left behind.
    """
    with writing_whole(path, mode=mode) as out:
        out.write(data)


@contextmanager
def writing_whole(path: Path, *, mode: int = 0o644) -> Iterator[BinaryIO]:
    """A file to write to piece by piece; it gets its name when the block ends, and is gone when it fails.

    Raises NoAnswer when the disk is full or may not be written; nothing is left behind.
    """
    half = path.with_name(f"{path.name}.{os.getpid()}.part")
    try:
        with os.fdopen(os.open(half, os.O_RDWR | os.O_CREAT | os.O_TRUNC, mode), "w+b") as out:
            yield out
            out.flush()
            os.fsync(out.fileno())
        half.replace(path)
    except BaseException as error:
        half.unlink(missing_ok=True)
        if not isinstance(error, OSError):
            raise
        raise NoAnswer(
            f"{path} could not be written: {error.strerror}", remedy="make room, or choose another place"
        ) from error
