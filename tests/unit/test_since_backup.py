"""A value that the disk changed into another one that is possible shows against a backup."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from click.testing import CliRunner

from tests.shared_home import TODAY, invented_home
from underoak.cli.main import underoak
from underoak.desk.back_up import back_up
from underoak.desk.check_home import check_home
from underoak.desk.since_backup import since_backup
from underoak.errors import BadData
from underoak.ledger.database import open_ledger, writing
from underoak.settings import Home


@pytest.fixture(name="kept")
def _kept(tmp_path: Path) -> tuple[Home, Path]:
    """A home, and a backup of it."""
    home = invented_home(tmp_path / "home")
    return home, Path(back_up(home, tmp_path, today=TODAY).file)


def flipped(home: Home, old: bytes, new: bytes) -> None:
    """Change bytes of the file, as a failing disk does: pages and references stay whole."""
    with closing(sqlite3.connect(home.ledger_path)) as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    data = home.ledger_path.read_bytes()
    assert data.count(old) >= 1
    assert len(old) == len(new)
    home.ledger_path.write_bytes(data.replace(old, new))


def test_nothing_differs_at_first_and_what_is_added_is_no_difference(kept: tuple[Home, Path]) -> None:
    home, backup = kept
    assert since_backup(home, backup).differences == ()
    with closing(open_ledger(home.ledger)) as connection, writing(connection):
        connection.execute("INSERT INTO visit VALUES ('v9', '2026-11-01', 'wood', NULL, '[]', '')")
    assert since_backup(home, backup).differences == ()


def test_a_number_that_changed_on_the_disk_is_told_with_both_values(kept: tuple[Home, Path]) -> None:
    home, backup = kept
    flipped(home, b"behind the third wall", b"behind the first wall")
    assert check_home(home, today=TODAY).ailments != ()  # the verdict holds the note too, and proves itself
    told = {one.table: one for one in since_backup(home, backup).differences}
    assert set(told) == {"visit", "find", "verdict"}
    assert "note was 'behind the third wall', is 'behind the first wall'" in told["visit"].examples[0]
    assert since_backup(home, backup).damaged


def test_a_verdict_that_changed_on_the_disk_is_told_without_a_backup(kept: tuple[Home, Path]) -> None:
    home, _ = kept
    flipped(home, b'"not_looked"', b'"not_Looked"')
    told = " / ".join(each.what for each in check_home(home, today=TODAY).ailments)
    assert "verdict" in told


def test_a_check_that_a_value_breaks_is_seen(kept: tuple[Home, Path]) -> None:
    """SQLite passes over the schema's checks where it may only read; the doctor looks at a copy."""
    home, _ = kept
    with closing(sqlite3.connect(home.ledger_path, isolation_level=None)) as connection:
        connection.execute("PRAGMA ignore_check_constraints = ON")
        connection.execute("UPDATE find SET stage = 'rotten' WHERE id = 'f1'")
    assert "CHECK constraint failed in find" in [each.what for each in check_home(home, today=TODAY).ailments]


def test_corrections_are_told_and_rows_that_are_gone(kept: tuple[Home, Path]) -> None:
    home, backup = kept
    with closing(open_ledger(home.ledger)) as connection, writing(connection):
        connection.execute("UPDATE find SET fresh_g = 1600.0 WHERE id = 'f1'")
        connection.execute("DELETE FROM search WHERE visit_id = 'v2'")
    told = {one.table: (one.changed, one.gone) for one in since_backup(home, backup).differences}
    assert told == {"find": (1, 0), "search": (0, 2)}
    assert not since_backup(home, backup).damaged
    answer = CliRunner().invoke(
        underoak, ["doctor", "--home", str(home.folder), "--today", str(TODAY), "--against", str(backup)],
        standalone_mode=False,
    )  # fmt: skip
    assert "fresh_g was 1500.0, is 1600.0" in answer.output
    assert "search: 0 changed, 2 gone" in answer.output


def test_a_damaged_backup_proves_nothing(kept: tuple[Home, Path]) -> None:
    home, backup = kept
    data = bytearray(backup.read_bytes())
    data[len(data) // 2] ^= 1
    backup.write_bytes(bytes(data))
    with pytest.raises(BadData):
        since_backup(home, backup)
