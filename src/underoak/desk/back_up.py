"""Put the whole home into one file that proves itself."""

from __future__ import annotations

import hashlib
import json
import zipfile
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, BinaryIO

from underoak import __version__
from underoak.desk.sealed import seal
from underoak.desk.share_finds import KEY_NAME
from underoak.errors import NoAnswer, UserMistake
from underoak.export.whole_file import writing_whole
from underoak.ledger.backup import copy_faults, copy_ledger
from underoak.settings import LEDGER_NAME, SETTINGS_NAME, Home

MANIFEST_NAME = "manifest.json"
FORMAT = "underoak backup 1"
_MOMENT = (1980, 1, 1, 0, 0, 0)
#: Folders of a home that go in; printed sheets can be made anew.
_FOLDERS = ("photos",)
#: Files are read and written in pieces of this size: a backup needs no more memory for more photos.
PIECE_BYTES = 1 << 20
#: Sealing needs some three times as much memory as this.
MOST_SEALED_BYTES = 1 << 30


@dataclass(frozen=True, slots=True)
class BackedUp:
    """What went into a backup."""

    file: str
    files: int
    size_bytes: int
    encrypted: bool
    sha256: str


def back_up(
    home: Home, target: Path, *, today: date, passphrase: str | None = None, replace: bool = False
) -> BackedUp:
    """Write settings, ledger, photos and the sharing key to one file; also while the home is in use.

    The ledger is copied at one moment and checked before it goes in. Every file stands in the manifest with
    its SHA-256. The backup is written beside its name, piece by piece, and put in place only when it is whole
    on the disk. Under a passphrase the whole of it is in memory for a moment, at most ``MOST_SEALED_BYTES``.

    Raises
    ------
    UserMistake   when the target exists, or its folder does not
    NoAnswer      when the ledger is damaged (the last good backup is worth more), the disk is full, or there
                  is too much to seal
    """
    target = target / f"underoak-{today}.zip" if target.is_dir() else target
    if passphrase is not None and target.suffix != ".age":
        target = target.with_name(target.name + ".age")
    if target.exists() and not replace:
        raise UserMistake(f"{target} exists", remedy="choose another name, or say --replace")
    if not target.parent.is_dir():
        raise UserMistake(f"there is no folder {target.parent}", remedy="make it, or plug the disk in")
    with TemporaryDirectory(prefix="underoak-") as folder:
        members = {LEDGER_NAME: _copied(home, Path(folder) / LEDGER_NAME), **_files(home)}
        with writing_whole(target, mode=0o600) as out:
            if passphrase is None:
                _pack(out, members, today)
            else:
                out.write(_sealed(members, today, Path(folder) / "plain.zip", passphrase))
    return BackedUp(str(target), len(members), target.stat().st_size, passphrase is not None, _digest(target))


def _copied(home: Home, copy: Path) -> Path:
    """The ledger as it stands at one moment, looked over."""
    copy_ledger(home.ledger, copy)
    if faults := copy_faults(copy):
        raise NoAnswer(
            f"the ledger is damaged and was not backed up: {faults[0]}",
            remedy="keep your last backup; see 'underoak doctor'",
        )
    return copy


def _pack(out: BinaryIO, members: Mapping[str, Path], today: date) -> None:
    """Every file, piece by piece, and what was really written of each in the manifest behind them."""
    listed = {}
    with zipfile.ZipFile(out, "w") as archive:
        for name, path in sorted(members.items()):
            listed[name] = _put(archive, name, path)
        manifest = {
            "format": FORMAT,
            "made_on": today.isoformat(),
            "made_by": f"underoak {__version__}",
            "files": listed,
        }
        archive.writestr(_info(MANIFEST_NAME), json.dumps(manifest, indent=1))


def _put(archive: zipfile.ZipFile, name: str, path: Path) -> dict[str, Any]:
    told, size = hashlib.sha256(), 0
    with path.open("rb") as source, archive.open(_info(name), "w", force_zip64=True) as member:
        while piece := source.read(PIECE_BYTES):
            member.write(piece)
            told.update(piece)
            size += len(piece)
    return {"sha256": told.hexdigest(), "size_bytes": size}


def _info(name: str) -> zipfile.ZipInfo:
    info = zipfile.ZipInfo(name, _MOMENT)
    packed = name.endswith((".jpg", ".png", ".webp"))
    info.compress_type = zipfile.ZIP_STORED if packed else zipfile.ZIP_DEFLATED
    info.external_attr = 0o600 << 16
    return info


def _sealed(members: Mapping[str, Path], today: date, plain: Path, passphrase: str) -> bytes:
    """The zip under a passphrase. The library seals only what it holds whole, so there is a limit to it."""
    size = sum(path.stat().st_size for path in members.values())
    if size > MOST_SEALED_BYTES:
        most = f"{MOST_SEALED_BYTES / 1e6:.0f} MB"
        raise NoAnswer(
            f"{size / 1e6:.0f} MB cannot be sealed under a passphrase; at most {most}",
            remedy="make a backup without a passphrase on a disk that is itself encrypted",
        )
    with plain.open("w+b") as out:
        _pack(out, members, today)
    return seal(plain.read_bytes(), passphrase)


def _files(home: Home) -> dict[str, Path]:
    found = {name: home.folder / name for name in (SETTINGS_NAME, KEY_NAME)}
    for part in _FOLDERS:
        folder = home.folder / part
        found |= {
            f"{part}/{p.name}": p for p in sorted(folder.glob("*")) if p.is_file() and p.suffix != ".part"
        }
    return {name: path for name, path in found.items() if path.is_file()}


def _digest(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
