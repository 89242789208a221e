"""What every reader of an outside file hands back, and how files are opened defensively."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Generic, TypeVar

from underoak.errors import BadData
from underoak.model.problem import Problem

T = TypeVar("T")

#: No file of a household is larger than this.
MOST_BYTES = 512 * 1024 * 1024
#: A line longer than this is not a table a person wrote.
LONGEST_LINE = 1_000_000


@dataclass(frozen=True, slots=True)
class Reading(Generic[T]):
    """Records that were understood, everything that was not, and a few lines saying what was seen."""

    records: T
    problems: tuple[Problem, ...] = ()
    understood: tuple[str, ...] = ()


def read_bytes(path: Path) -> bytes:
    """All bytes of a file; BadData when it is missing, a folder, empty or far too large."""
    where = path.name
    try:
        size = path.stat().st_size
        if path.is_dir():
            raise BadData([Problem("is a folder", where, "a file", "name the file inside it")])
        if size == 0:
            raise BadData([Problem("the file is empty", where, "at least one record", "export it again")])
        if size > MOST_BYTES:
            raise BadData([Problem(f"the file has {size} bytes", where, f"at most {MOST_BYTES}", "split it")])
        return path.read_bytes()
    except FileNotFoundError as error:
        raise BadData([Problem("there is no such file", str(path), remedy="check the name")]) from error
    except OSError as error:
        raise BadData([Problem(f"cannot be read: {error.strerror}", str(path))]) from error


def read_text(path: Path, *, expected: str, long_lines: bool = False) -> str:
    """Text of a file (UTF-8, with or without byte order mark, else Windows-1252).

    ``expected`` says in a few words what kind of file was wanted. ``long_lines`` allows formats
    such as GeoJSON that may stand on one line.

    Raises BadData for a missing, empty or binary file and, unless allowed, for over-long lines.
    """
    data = read_bytes(path)
    if b"\0" in data[:65536] and not data.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise BadData([Problem("this is a binary file", path.name, expected, "choose the text file")])
    text = _decode(data)
    if not text.strip():
        raise BadData([Problem("the file is empty", path.name, expected, "export it again")])
    if not long_lines:
        longest = max(len(line) for line in text.splitlines())
        if longest > LONGEST_LINE:
            raise BadData([Problem(f"one line has {longest} characters", path.name, expected)])
    return text


def _decode(data: bytes) -> str:
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return data.decode("utf-16", errors="replace")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252", errors="replace")
