"""Put the whole home into one file that proves itself."""

from __future__ import annotations

import hashlib
import io
import json
import zipfile
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory

from underoak import __version__
from underoak.desk.sealed import seal
from underoak.desk.share_finds import KEY_NAME
from underoak.errors import NoAnswer, UserMistake
from underoak.export.whole_file import write_whole
from underoak.ledger.backup import copy_ledger, ledger_faults
from underoak.settings import LEDGER_NAME, SETTINGS_NAME, Home

MANIFEST_NAME = "manifest.json"
FORMAT = "underoak backup 1"
_MOMENT = (1980, 1, 1, 0, 0, 0)
#: Folders of a home that go in; printed sheets can be made anew.
_FOLDERS = ("photos",)


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
    its SHA-256. The backup is written beside its name and put in place only when it is whole on the disk.

    Raises
    ------
    UserMistake   when the target exists, or its folder does not
    NoAnswer      when the ledger is damaged (the last good backup is worth more), or the disk is full
    """
    target = target / f"underoak-{today}.zip" if target.is_dir() else target
    if passphrase is not None and target.suffix != ".age":
        target = target.with_name(target.name + ".age")
    if target.exists() and not replace:
        raise UserMistake(f"{target} exists", remedy="choose another name, or say --replace")
    if not target.parent.is_dir():
        raise UserMistake(f"there is no folder {target.parent}", remedy="make it, or plug the disk in")
    files, data = _packed(home, today)
    data = seal(data, passphrase) if passphrase is not None else data
    write_whole(target, data, mode=0o600)
    digest = hashlib.sha256(data).hexdigest()
    return BackedUp(str(target), files, len(data), passphrase is not None, digest)


def _packed(home: Home, today: date) -> tuple[int, bytes]:
    """How many files, and the zip."""
    with TemporaryDirectory(prefix="underoak-") as folder:
        copy = Path(folder) / LEDGER_NAME
        copy_ledger(home.ledger_path, copy)
        if faults := ledger_faults(copy):
            raise NoAnswer(
                f"the ledger is damaged and was not backed up: {faults[0]}",
                remedy="keep your last backup; see 'underoak doctor'",
            )
        members = {LEDGER_NAME: copy, **_files(home)}
        manifest = {
            "format": FORMAT,
            "made_on": today.isoformat(),
            "made_by": f"underoak {__version__}",
            "files": {
                name: {"sha256": _digest(path), "size_bytes": path.stat().st_size}
                for name, path in sorted(members.items())
            },
        }
        out = io.BytesIO()
        with zipfile.ZipFile(out, "w") as archive:
            _put(archive, MANIFEST_NAME, json.dumps(manifest, indent=1).encode())
            for name, path in sorted(members.items()):
                _put(archive, name, path.read_bytes())
        return len(members), out.getvalue()


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


def _put(archive: zipfile.ZipFile, name: str, data: bytes) -> None:
    info = zipfile.ZipInfo(name, _MOMENT)
    packed = name.endswith((".jpg", ".png", ".webp"))
    info.compress_type = zipfile.ZIP_STORED if packed else zipfile.ZIP_DEFLATED
    info.external_attr = 0o600 << 16
    archive.writestr(info, data)
