"""A backup that was checked whole before anything of it is used."""

from __future__ import annotations

import errno
import hashlib
import io
import json
import os
import struct
import zipfile
import zlib
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from tempfile import TemporaryDirectory
from typing import Any, BinaryIO

from underoak.desk.back_up import FORMAT, MANIFEST_NAME, PIECE_BYTES
from underoak.desk.sealed import AGE_MAGIC, unseal
from underoak.errors import BadData, NoAnswer, UserMistake
from underoak.ledger.backup import copy_faults
from underoak.model.problem import Problem
from underoak.settings import LEDGER_NAME, SETTINGS_NAME, parse_settings

_EXPECTED = "a backup made by 'underoak backup'"
#: What unpacks to more than so many times its size, and so many bytes besides, was made to fill a disk.
_MOST_TIMES, _MOST_BESIDE = 100, 256 * 1024**2
_LONGEST_MANIFEST, _LONGEST_SETTINGS = 64 * 1024**2, 1024**2
_NO_INFO = zipfile.ZipInfo()
_NO_ZIP = (
    *(zipfile.BadZipFile, zlib.error, struct.error, EOFError),
    *(NotImplementedError, RuntimeError, ValueError, OSError),
)


@dataclass(frozen=True, slots=True)
class Manifest:
    """What a backup says about itself: its day, and the SHA-256 of each file by name."""

    made_on: str
    files: Mapping[str, str]


class OpenBackup:
    """A backup of which every file was checked.

    ``files`` holds the SHA-256 of each file by name, ``ledger`` is a copy of its ledger.
    """

    def __init__(self, archive: zipfile.ZipFile, manifest: Manifest, ledger: Path) -> None:
        self.made_on, self.files, self.ledger = manifest.made_on, manifest.files, ledger
        self._archive = archive

    def write(self, name: str, target: Path) -> None:
        """One file on to the disk, piece by piece.

        Raises BadData when it is another one than was checked before.
        """
        with target.open("wb") as out:
            if _unpacked(self._archive, name, out) != self.files[name]:
                raise BadData([Problem(f"{name} changed while it was read", name, _EXPECTED)])
            out.flush()
            os.fsync(out.fileno())


@contextmanager
def open_backup(path: Path, passphrase: str | None = None) -> Iterator[OpenBackup]:
    """A backup, after every file of it was checked; nothing of it is held in memory but what is sealed.

    Raises
    ------
    BadData       with every fault: not listed, missing, changed, a name that leads out, a damaged ledger
    """
    with TemporaryDirectory(prefix="underoak-") as folder:
        ledger = Path(folder) / LEDGER_NAME
        with _told_as_damage(path.name):
            archive = zipfile.ZipFile(_plain(path, passphrase))
        with archive:
            with _told_as_damage(path.name):
                manifest = _verified(archive, path.name, ledger)
            yield OpenBackup(archive, manifest, ledger)


@contextmanager
def _told_as_damage(name: str) -> Iterator[None]:
    try:
        yield
    except _NO_ZIP as error:
        if isinstance(error, OSError) and error.errno in (errno.ENOSPC, errno.EDQUOT):
            raise NoAnswer("there is no room to unpack the ledger", remedy="make room") from error
        raise BadData([Problem(f"this is no whole zip: {error}", name, _EXPECTED)]) from error


def verify_backup(path: Path, passphrase: str | None = None) -> tuple[str, ...]:
    """Names of the files of a backup, after every one of them was checked; raises as `open_backup` does."""
    with open_backup(path, passphrase) as backup:
        return tuple(sorted(backup.files))


def _plain(path: Path, passphrase: str | None) -> Path | io.BytesIO:
    """The zip: the file itself, or its bytes where it is sealed."""
    try:
        with path.open("rb") as file:
            if file.read(len(AGE_MAGIC)) != AGE_MAGIC:
                return path
            file.seek(0)
            return io.BytesIO(unseal(file.read(), passphrase))
    except FileNotFoundError as error:
        raise UserMistake(f"there is no file {path}", remedy="check the name") from error
    except OSError as error:
        raise NoAnswer(f"{path} cannot be read: {error.strerror}") from error


def _verified(archive: zipfile.ZipFile, name: str, ledger: Path) -> Manifest:
    """The manifest of an archive in which everything is as the manifest says; its ledger is copied out."""
    infos = {info.filename: info for info in archive.infolist()}
    most = _MOST_TIMES * sum(info.compress_size for info in infos.values()) + _MOST_BESIDE
    if sum(info.file_size for info in infos.values()) > most:
        raise BadData([Problem("it unpacks to too many bytes", name, _EXPECTED)])
    for member, longest in ((MANIFEST_NAME, _LONGEST_MANIFEST), (SETTINGS_NAME, _LONGEST_SETTINGS)):
        if infos.get(member, _NO_INFO).file_size > longest:
            raise BadData([Problem(f"its {member} is far too long", name, _EXPECTED)])
    manifest = _manifest(archive.read(MANIFEST_NAME) if MANIFEST_NAME in infos else b"", name)
    there = set(infos) - {MANIFEST_NAME}
    problems = _wrong_names(there, set(manifest.files), name)
    problems += _changed(archive, there, manifest, ledger)
    if not problems:
        text = archive.read(SETTINGS_NAME).decode("utf-8", "replace")
        parse_settings(text, f"{name}, {SETTINGS_NAME}")
        problems = [Problem(f"its ledger: {fault}", name) for fault in copy_faults(ledger)]
    if problems:
        raise BadData(sorted(problems, key=lambda problem: problem.what))
    return manifest


def _wrong_names(there: set[str], listed: set[str], file: str) -> list[Problem]:
    return [
        *(Problem(f"{name} is not in the manifest", file, _EXPECTED) for name in there - listed),
        *(Problem(f"{name} is missing", file, _EXPECTED) for name in listed - there),
        *(Problem(f"{name!r} is no file of a home", file, _EXPECTED) for name in there if not _belongs(name)),
        *(Problem(f"there is no {name}", file) for name in (LEDGER_NAME, SETTINGS_NAME) if name not in there),
    ]


def _changed(archive: zipfile.ZipFile, there: set[str], manifest: Manifest, ledger: Path) -> list[Problem]:
    problems = []
    for name in sorted(there & set(manifest.files)):
        if name == LEDGER_NAME:
            with ledger.open("wb") as out:
                digest = _unpacked(archive, name, out)
        else:
            digest = _unpacked(archive, name, None)
        if digest != manifest.files[name]:
            problems.append(Problem(f"{name} was changed or damaged", name, "the SHA-256 in its manifest"))
    return problems


def _unpacked(archive: zipfile.ZipFile, name: str, out: BinaryIO | None) -> str:
    """SHA-256 of one file of an archive, which is written to ``out``."""
    digest = hashlib.sha256()
    with archive.open(name) as member:
        while piece := member.read(PIECE_BYTES):
            digest.update(piece)
            if out is not None:
                out.write(piece)
    return digest.hexdigest()


def _manifest(data: bytes, name: str) -> Manifest:
    try:
        document: Any = json.loads(data)
        if document["format"] != FORMAT:
            raise ValueError(document["format"])
        files = {str(file): str(each["sha256"]) for file, each in document["files"].items()}
        return Manifest(str(document.get("made_on", "")), files)
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
        raise BadData([Problem("it has no manifest that can be read", name, _EXPECTED)]) from error


def _belongs(name: str) -> bool:
    """Whether a name stays inside a home: a plain file, or a plain file in photos."""
    path = PurePosixPath(name)
    plain = not path.is_absolute() and ".." not in path.parts and "\\" not in name and ":" not in name
    return plain and (len(path.parts) == 1 or (len(path.parts) == 2 and path.parts[0] == "photos"))
