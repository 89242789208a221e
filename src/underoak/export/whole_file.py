"""Files that are whole or not there."""

from __future__ import annotations

import os
from pathlib import Path

from underoak.errors import NoAnswer


def write_whole(path: Path, data: bytes, *, mode: int = 0o644) -> None:
    """Write beside the name and on to the disk, then put it in place; what stood there stays until then.

    Raises NoAnswer when the disk is full or may not be written; nothing is left behind.
    """
    half = path.with_name(f"{path.name}.{os.getpid()}.part")
    try:
        with os.fdopen(os.open(half, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, mode), "wb") as out:
            out.write(data)
            out.flush()
            os.fsync(out.fileno())
        half.replace(path)
    except OSError as error:
        half.unlink(missing_ok=True)
        raise NoAnswer(
            f"{path} could not be written: {error.strerror}", remedy="make room, or choose another place"
        ) from error
