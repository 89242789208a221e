"""Join the ledger of another home, or of a club, into this one."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path
from tempfile import TemporaryDirectory

from underoak.errors import NoAnswer, UserMistake
from underoak.ledger.backup import copy_faults, copy_ledger, read_only
from underoak.ledger.catalog import schema_of
from underoak.ledger.connection import Ledger
from underoak.ledger.database import open_ledger
from underoak.ledger.merge import Merged, merge
from underoak.model.club import ClubAddress
from underoak.settings import LEDGER_NAME, SETTINGS_NAME, Home, load_home


def merge_ledgers(home: Home, other: Path, *, with_pantry: bool = False, both: bool = False) -> Merged:
    """Join everything of the ledger ``other`` (a file, or a home's folder) into this home's.

    Either home may keep its ledger in a club's database.

    The other ledger is read from a copy, which is brought to the newest schema; with ``both`` the result is
    then written to the other ledger too, so that the two hold the same.

    Raises
    ------
    UserMistake   when there is no such ledger, or it is this home's own
    NoAnswer      when the file is no whole ledger
    BadData       when one id means two things; nothing is stored
    """
    there = _named(other)
    if there == home.ledger or (isinstance(there, Path) and there.resolve() == home.ledger_path.resolve()):
        raise UserMistake("this is the home's own ledger", expected="another one")
    with TemporaryDirectory(prefix="underoak-") as folder:
        copy = Path(folder) / LEDGER_NAME
        copy_ledger(there, copy)
        with closing(_opened(copy)) as theirs, closing(open_ledger(home.ledger)) as ours:
            merged = merge(ours, theirs, with_house=with_pantry)
    if both:
        with closing(open_ledger(home.ledger)) as ours, closing(open_ledger(there)) as theirs:
            merge(theirs, ours, with_house=with_pantry)
    return merged


def _named(other: Path) -> Path | ClubAddress:
    """The ledger that is meant: a file, that of a home's folder, or the club's that such a home names."""
    if (other / SETTINGS_NAME).is_file():
        there = load_home(other).ledger
    else:
        there = other / LEDGER_NAME if other.is_dir() else other
    if isinstance(there, Path) and not there.is_file():
        raise UserMistake(f"there is no ledger at {there}", expected="a home's folder or its ledger.sqlite3")
    return there


def _opened(path: Path) -> Ledger:
    with closing(read_only(path)) as unchanged:
        if schema_of(unchanged) == 0:
            raise NoAnswer("the other file is no ledger", remedy="name a home's folder or its ledger.sqlite3")
    if faults := copy_faults(path):
        raise NoAnswer(
            f"the other ledger is damaged: {faults[0]}", remedy="look after it with 'underoak doctor' first"
        )
    return open_ledger(path)
