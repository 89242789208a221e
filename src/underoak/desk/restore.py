"""Bring a home back from a backup: verify all of it first, then put it in place."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from underoak.desk.open_backup import OpenBackup, open_backup
from underoak.errors import NoAnswer, UserMistake
from underoak.export.whole_file import write_whole
from underoak.ledger.backup import copy_ledger, newest_record, read_only
from underoak.model.household import ClubLedger
from underoak.settings import LEDGER_NAME, SETTINGS_NAME, load_home, settings_text

#: The settings of a home that kept its ledger with a club, beside those it was brought back with.
CLUB_SETTINGS_NAME = "underoak.club.toml"


@dataclass(frozen=True, slots=True)
class Restored:
    """What was brought back. ``kept_aside`` names the ledger that stood there before, if any.

    ``club`` is the address of the club's ledger that the backup was made of, empty where it was a file.
    """

    home: str
    files: int
    made_on: str
    newest_record: str
    kept_aside: str = ""
    club: str = ""


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
    with open_backup(backup, passphrase) as checked:
        newest = _newest_at(checked.ledger)
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
            _put_in_place(checked, folder)
        except OSError as error:
            raise NoAnswer(
                f"the home could not be written: {error.strerror}",
                remedy="make room; what stood there is kept aside",
            ) from error
    club = _part_from_club(folder)
    return Restored(str(folder), len(checked.files), checked.made_on, newest, aside, club)


def _part_from_club(folder: Path) -> str:
    """A home brought back stands on its own file, not on the club's ledger; the address of that, if any.

    Its settings as they were stay beside it.
    """
    home = load_home(folder)
    if home.ledger == home.ledger_path:
        return ""
    shutil.copyfile(folder / SETTINGS_NAME, folder / CLUB_SETTINGS_NAME)
    own = home.settings.model_copy(update={"ledger": ClubLedger()})
    write_whole(folder / SETTINGS_NAME, settings_text(own).encode())
    return str(home.ledger)


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
        shutil.copyfile(old, target)
    return target.name


def _put_in_place(backup: OpenBackup, folder: Path) -> None:
    """Write all files beside their names and on to the disk; only then rename them, the ledger last."""
    (folder / "photos").mkdir(parents=True, exist_ok=True)
    (folder / "sheets").mkdir(exist_ok=True)
    for name in backup.files:
        backup.write(name, folder / f"{name}.part")
    for name in sorted(backup.files, key=lambda each: each == LEDGER_NAME):
        if name == LEDGER_NAME:
            for leftover in ("-wal", "-shm"):
                (folder / f"{LEDGER_NAME}{leftover}").unlink(missing_ok=True)
        (folder / f"{name}.part").replace(folder / name)
