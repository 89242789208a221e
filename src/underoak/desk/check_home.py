"""Look after a home: is everything whole, and what can be mended."""

from __future__ import annotations

import hashlib
import shutil
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from underoak.errors import NoAnswer, UserMistake
from underoak.ledger.backup import ledger_faults
from underoak.ledger.connection import Ledger
from underoak.ledger.database import open_ledger, writing
from underoak.ledger.doctor import Ailment, add_looks, clock_trouble, orphans, salvage
from underoak.ledger.photos import photos
from underoak.ledger.shared.examine import club_faults, club_trouble
from underoak.model.club import ClubAddress
from underoak.model.quantities import counted, said
from underoak.settings import LEDGER_NAME, Home

#: Below this, the next photo or backup may not fit.
LITTLE_ROOM_BYTES = 200 * 1024**2


@dataclass(frozen=True, slots=True)
class Checked:
    """Everything that was found, and what was mended."""

    ailments: tuple[Ailment, ...]
    mended: tuple[str, ...] = ()


def check_home(home: Home, *, today: date, repair: frozenset[str] = frozenset()) -> Checked:
    """What is wrong with a home; with ``repair``, also mend what is named there.

    Repairs: ``looks`` notes the looks that finds imply; ``photos`` forgets photos whose file is gone;
    ``leftovers`` removes half-written files; ``ledger`` moves a damaged ledger aside and makes a new one from
    every row that can still be read. Nothing is mended that was not named, and no record is changed else.
    """
    if unknown := repair - set(REPAIRS):
        raise UserMistake(f"there is no repair {sorted(unknown)[0]!r}", expected=", ".join(REPAIRS))
    mended: list[str] = []
    if isinstance(home.ledger, ClubAddress):
        damage = _club_damage(home.ledger, repair)
    else:
        damage = _file_damage(home, today, repair, mended)
    if damage:
        return Checked((*damage, *_leftovers(home)), tuple(mended))
    with closing(open_ledger(home.ledger)) as connection:
        if "looks" in repair:
            mended.append(f"{counted(add_looks(connection), 'look')} noted")
        if "photos" in repair:
            mended.append(f"{counted(_forget_photos(home, connection), 'photo')} forgotten")
        if "leftovers" in repair:
            mended.append(f"{counted(_remove_leftovers(home), 'half-written file')} removed")
        ailments = [
            *clock_trouble(connection, today),
            *orphans(connection),
            *_photo_trouble(home, connection),
        ]
    if isinstance(home.ledger, ClubAddress):
        ailments += club_trouble(home.ledger)
    return Checked((*ailments, *_leftovers(home), *_little_room(home)), tuple(mended))


REPAIRS = ("ledger", "looks", "photos", "leftovers")


def _file_damage(home: Home, today: date, repair: frozenset[str], mended: list[str]) -> list[Ailment]:
    if not home.ledger_path.is_file():
        return [Ailment("ledger", "there is no ledger", "restore a backup with 'underoak restore'")]
    if "ledger" in repair and ledger_faults(home.ledger_path):
        mended.append(_mend_ledger(home, today))
    remedy = "restore your last backup; or save what can be read with --repair ledger"
    return [Ailment("ledger", fault, remedy, "ledger") for fault in ledger_faults(home.ledger_path)]


def _club_damage(address: ClubAddress, repair: frozenset[str]) -> list[Ailment]:
    if "ledger" in repair:
        raise UserMistake(
            "a club's ledger cannot be mended from here",
            remedy="see docs/club.md",
        )
    return club_faults(address)


def _photo_trouble(home: Home, connection: Ledger) -> Iterator[Ailment]:
    known = photos(connection)
    missing = sorted({photo.file for photo in known if not (home.photos / photo.file).is_file()})
    if missing:
        gone = said(len(missing), "photo is gone", "photos are gone")
        what = f"{gone} from the folder photos, such as {missing[0]}"
        yield Ailment(
            "photo", what, "restore them from a backup, or forget them with --repair photos", "photos"
        )
    for photo in {photo.file: photo for photo in known if photo.file not in missing}.values():
        if hashlib.sha256((home.photos / photo.file).read_bytes()).hexdigest() != photo.sha256:
            yield Ailment("photo", f"the photo {photo.file} was changed", "restore it from a backup")
    stray = len(_files_of(home) - {photo.file for photo in known})
    if stray:
        what = said(stray, "file in photos belongs to no find", "files in photos belong to no find")
        yield Ailment("photo", what, "add them with 'underoak photo'")


def _files_of(home: Home) -> set[str]:
    return {p.name for p in home.photos.glob("*") if p.is_file() and p.suffix != ".part"}


def _forget_photos(home: Home, connection: Ledger) -> int:
    gone = [p for p in photos(connection) if not (home.photos / p.file).is_file()]
    with writing(connection):
        connection.executemany(
            "DELETE FROM photo WHERE sha256 = ? AND find_id = ?", [(p.sha256, p.find_id) for p in gone]
        )
    return len(gone)


def _half_written(home: Home) -> list[str]:
    folders = (home.folder, home.photos, home.sheets)
    return [str(path) for folder in folders for path in sorted(folder.glob("*.part")) if path.is_file()]


def _leftovers(home: Home) -> list[Ailment]:
    found = _half_written(home)
    if not found:
        return []
    what = f"{counted(len(found), 'half-written file')}, such as {found[0]}"
    return [Ailment("leftover", what, "nothing needs them", "leftovers")]


def _remove_leftovers(home: Home) -> int:
    found = _half_written(home)
    for name in found:
        Path(name).unlink()
    return len(found)


def _little_room(home: Home) -> list[Ailment]:
    free = shutil.disk_usage(home.folder).free
    if free >= LITTLE_ROOM_BYTES:
        return []
    return [
        Ailment("disk", f"only {free // 1024**2} MB are free", "make room before the next photo or backup")
    ]


def _mend_ledger(home: Home, today: date) -> str:
    """Put a salvaged ledger in the place of the damaged one, which is kept."""
    new = home.folder / f"{LEDGER_NAME}.part"
    for leftover in home.folder.glob(f"{LEDGER_NAME}.part*"):
        leftover.unlink()
    try:
        rescued = salvage(home.ledger_path, new)
    except Exception as error:
        raise NoAnswer(f"nothing can be read from the ledger: {error}", remedy="restore a backup") from error
    aside = home.folder / f"ledger.damaged-{today}.sqlite3"
    if aside.exists():
        raise UserMistake(f"{aside} exists", remedy="put it away; it is an earlier damaged ledger")
    for ending in ("", "-wal", "-shm"):
        old = home.folder / f"{LEDGER_NAME}{ending}"
        if old.exists():
            old.rename(home.folder / f"{aside.name}{ending}")
    new.replace(home.ledger_path)
    short = [table for table, (_, whole) in rescued.items() if not whole]
    rows = sum(count for count, _ in rescued.values())
    lost = f"; rows of {', '.join(short)} may be lost" if short else ""
    return f"{counted(rows, 'row')} saved{lost}; the damaged ledger is {aside.name}"
