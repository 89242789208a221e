"""Compare a home with a backup of it: a value that changed unseen on the disk shows here."""

from __future__ import annotations

import shutil
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

from underoak.desk.open_backup import open_backup
from underoak.errors import NoAnswer
from underoak.ledger.backup import copy_ledger
from underoak.ledger.database import open_ledger
from underoak.ledger.since import Difference, differences
from underoak.settings import Home


@dataclass(frozen=True, slots=True)
class SinceBackup:
    """What is not as it was on the day of the backup. ``damaged`` is what no command could have changed."""

    made_on: str
    differences: tuple[Difference, ...]

    @property
    def damaged(self) -> bool:
        """Whether records differ that are only ever added."""
        return any(one.never_changed for one in self.differences)


def since_backup(home: Home, backup: Path, passphrase: str | None = None) -> SinceBackup:
    """Every record of the backup that is gone, or holds another value, in the home's ledger of today.

    SQLite keeps no sum of its pages, so a disk can change a number into another that is possible too. A
    backup proves itself by sums: what differs from it was either corrected by somebody, who will remember,
    or damaged.

    Raises
    ------
    BadData       when the backup is damaged
    NoAnswer      when the ledger cannot be read
    """
    if home.ledger == home.ledger_path and not home.ledger_path.is_file():
        raise NoAnswer("there is no ledger file to compare", remedy="restore the backup into another folder")
    with open_backup(backup, passphrase) as opened, TemporaryDirectory(prefix="underoak-") as folder:
        then, now = Path(folder) / "then.sqlite3", Path(folder) / "now.sqlite3"
        shutil.copyfile(opened.ledger, then)
        copy_ledger(home.ledger, now)
        for copy in (then, now):  # brought to the newest schema, so that columns agree
            with closing(open_ledger(copy)) as connection:
                connection.execute("PRAGMA journal_mode = DELETE")
        return SinceBackup(opened.made_on, differences(now, then))
