"""Bring a home back from a backup: verify all of it first, then put it in place."""

from __future__ import annotations

import hashlib
import io
import json
import os
import sqlite3
import zipfile
import zlib
from contextlib import closing
from dataclasses import dataclass
from datetime import date
from pathlib import Path, PurePosixPath
from tempfile import TemporaryDirectory
from typing import Any

from underoak.desk.back_up import FORMAT, MANIFEST_NAME
from underoak.desk.sealed import unseal
from underoak.errors import BadData, NoAnswer, UserMistake
from underoak.ledger.backup import copy_ledger, ledger_faults, newest_record, read_only
from underoak.model.problem import Problem
from underoak.settings import LEDGER_NAME, SETTINGS_NAME, load_home, parse_settings

_EXPECTED = "a backup made by 'underoak backup'"
_MOST_UNPACKED = 4 * 1024**3


@dataclass(frozen=True, slots=True)
class Restored:
    """What was brought back. ``kept_aside`` names the ledger that stood there before, if any."""

    home: str
    files: int
    made_on: str
    newest_record: str
    kept_aside: str = ""


def verify_backup(path: Path, passphrase: str | None = None) -> dict[str, bytes]:
    """All files of a backup, by name, after every one of them was checked.

    Raises
    ------
    BadData       with every fault: not listed, missing, changed, a name that leads out, a damaged ledger
    """
    data = unseal(_bytes_of(path), passphrase)
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            files = _unpacked(archive, path.name)
    except (
        zipfile.BadZipFile,
        zlib.error,
        EOFError,
        NotImplementedError,
        RuntimeError,
        ValueError,
        OSError,
    ) as error:
        raise BadData([Problem(f"this is no whole zip: {error}", path.name, _EXPECTED)]) from error
    listed = _manifest(files.pop(MANIFEST_NAME, b""), path.name)
    problems = [
        *(
            Problem(f"{name} is not in the manifest", path.name, _EXPECTED)
            for name in set(files) - set(listed)
        ),
        *(Problem(f"{name} is missing", path.name, _EXPECTED) for name in set(listed) - set(files)),
        *(
            Problem(f"{name} was changed or damaged", path.name, "the SHA-256 in its manifest")
            for name in set(listed) & set(files)
            if hashlib.sha256(files[name]).hexdigest() != listed[name]
        ),
        *(
            Problem(f"{name!r} is no file of a home", path.name, _EXPECTED)
            for name in files
            if not _belongs(name)
        ),
        *(Problem(f"there is no {n}", path.name) for n in (LEDGER_NAME, SETTINGS_NAME) if n not in files),
    ]
    if not problems:
        parse_settings(files[SETTINGS_NAME].decode("utf-8", "replace"), f"{path.name}, {SETTINGS_NAME}")
        problems = [Problem(f"its ledger: {f}", path.name) for f in _ledger_faults(files[LEDGER_NAME])]
    if problems:
        raise BadData(sorted(problems, key=lambda problem: problem.what))
    return files


def _bytes_of(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except FileNotFoundError as error:
        raise UserMistake(f"there is no file {path}", remedy="check the name") from error
    except OSError as error:
        raise NoAnswer(f"{path} cannot be read: {error.strerror}") from error


def _unpacked(archive: zipfile.ZipFile, name: str) -> dict[str, bytes]:
    infos = archive.infolist()
    if sum(info.file_size for info in infos) > _MOST_UNPACKED:
        raise BadData([Problem("it unpacks to too many bytes", name, _EXPECTED)])
    return {info.filename: archive.read(info) for info in infos}


def _manifest(data: bytes, name: str) -> dict[str, str]:
    """SHA-256 of each file by name."""
    try:
        document: Any = json.loads(data)
        if document["format"] != FORMAT:
            raise ValueError(document["format"])
        return {str(file): str(each["sha256"]) for file, each in document["files"].items()}
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
        raise BadData([Problem("it has no manifest that can be read", name, _EXPECTED)]) from error


def _belongs(name: str) -> bool:
    """Whether a name stays inside a home: a plain file, or a plain file in photos."""
    path = PurePosixPath(name)
    plain = not path.is_absolute() and ".." not in path.parts and "\\" not in name and ":" not in name
    return plain and (len(path.parts) == 1 or (len(path.parts) == 2 and path.parts[0] == "photos"))


def _ledger_faults(data: bytes) -> list[str]:
    with TemporaryDirectory(prefix="underoak-") as folder:
        copy = Path(folder) / LEDGER_NAME
        copy.write_bytes(data)
        return ledger_faults(copy)


def restore(
    backup: Path, folder: Path, *, today: date, passphrase: str | None = None, replace: bool = False
) -> Restored:
    """Bring a home back into ``folder``.

    Everything is verified before anything is written. Where a home stands already, its ledger is kept aside
    as ``ledger.before-restore-DAY.sqlite3`` first, and photos that the backup does not hold stay.

    Raises
    ------
    UserMistake   when a home stands there and ``replace`` is false; says which of the two ledgers is newer
    BadData       when anything in the backup is damaged; nothing is written
    """
    files = verify_backup(backup, passphrase)
    made_on = _made_on(backup, passphrase)
    newest = _newest(files[LEDGER_NAME])
    aside = ""
    if (folder / SETTINGS_NAME).exists() or (folder / LEDGER_NAME).exists():
        if not replace:
            raise UserMistake(
                f"{folder} already is a home; its newest record is of "
                f"{_newest_at(folder / LEDGER_NAME) or 'no day'}, the backup's of {newest or 'no day'}",
                remedy="restore into another folder and compare, or say --replace",
            )
        aside = _keep_aside(folder, today)
    try:
        _put_in_place(files, folder)
    except OSError as error:
        raise NoAnswer(
            f"the home could not be written: {error.strerror}",
            remedy="make room; what stood there is kept aside",
        ) from error
    load_home(folder)
    return Restored(str(folder), len(files), made_on, newest, aside)


def _made_on(backup: Path, passphrase: str | None) -> str:
    with zipfile.ZipFile(io.BytesIO(unseal(_bytes_of(backup), passphrase))) as archive:
        return str(json.loads(archive.read(MANIFEST_NAME)).get("made_on", ""))


def _newest(ledger: bytes) -> str:
    with TemporaryDirectory(prefix="underoak-") as folder:
        copy = Path(folder) / LEDGER_NAME
        copy.write_bytes(ledger)
        return _newest_at(copy)


def _newest_at(path: Path) -> str:
    try:
        with closing(read_only(path)) as connection:
            return newest_record(connection)
    except sqlite3.DatabaseError:
        return ""


def _keep_aside(folder: Path, today: date) -> str:
    """The ledger that stands there, copied whole; byte for byte where it is too damaged for that."""
    old = folder / LEDGER_NAME
    if not old.exists():
        return ""
    name = f"ledger.before-restore-{today}"
    target = folder / f"{name}.sqlite3"
    number = 1
    while target.exists():
        number += 1
        target = folder / f"{name}-{number}.sqlite3"
    try:
        copy_ledger(old, target)
    except NoAnswer:
        target.write_bytes(old.read_bytes())
    return target.name


def _put_in_place(files: dict[str, bytes], folder: Path) -> None:
    """Write all files beside their names and on to the disk; only then rename them, the ledger last."""
    (folder / "photos").mkdir(parents=True, exist_ok=True)
    (folder / "sheets").mkdir(exist_ok=True)
    for name, data in files.items():
        with (folder / f"{name}.part").open("wb") as out:
            out.write(data)
            out.flush()
            os.fsync(out.fileno())
    for name in sorted(files, key=lambda each: each == LEDGER_NAME):
        if name == LEDGER_NAME:
            for leftover in ("-wal", "-shm"):
                (folder / f"{LEDGER_NAME}{leftover}").unlink(missing_ok=True)
        (folder / f"{name}.part").replace(folder / name)
