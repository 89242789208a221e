"""Logs of telephones go with the ledger: into a backup, and into the ledger of the other household."""

from __future__ import annotations

from pathlib import Path

from tests.pack_logs import PACK_ID, Telephone, load
from tests.shared_home import TODAY, invented_home
from underoak.desk.back_up import back_up
from underoak.desk.merge_ledgers import merge_ledgers
from underoak.desk.restore import restore
from underoak.desk.take_in_pack import conflicts_of
from underoak.ledger.database import open_ledger
from underoak.ledger.pack import noted_entries
from underoak.ledger.visits import find_by_id
from underoak.model.pack import Noted
from underoak.settings import Home, load_home

FIND = f"pack-{PACK_ID}-a1"


def entries(home: Home) -> set[tuple[str, str]]:
    connection = open_ledger(home.ledger)
    try:
        return {_key(one) for one in noted_entries(connection)}
    finally:
        connection.close()


def _key(one: Noted) -> tuple[str, str]:
    return one.device, one.entry.model_dump_json()


def fresh_g(home: Home) -> float | None:
    connection = open_ledger(home.ledger)
    try:
        known = find_by_id(connection, FIND)
    finally:
        connection.close()
    assert known is not None
    return known[0].fresh_g


def two_homes(tmp_path: Path) -> tuple[Home, Home, Path, Path]:
    """Two households of one wood, each of which loaded the log of its own telephone."""
    ada, ben = (invented_home(tmp_path / name) for name in ("ada", "ben"))
    of_ada = Telephone("ada00001").find("A1", fresh_g=1500).save(tmp_path)
    of_ben = Telephone("ben00001").find("A1", fresh_g=900).find("B1", fresh_g=300).save(tmp_path)
    load(ada, of_ada)
    load(ben, of_ben)
    return ada, ben, of_ada, of_ben


def test_both_ledgers_hold_every_entry_and_tell_the_same_conflict(tmp_path: Path) -> None:
    ada, ben, of_ada, of_ben = two_homes(tmp_path)
    merged = merge_ledgers(ada, ben.folder, both=True)
    assert merged.new["pack_entry"] == 2
    assert entries(ada) == entries(ben)
    assert len(entries(ada)) == 3
    assert conflicts_of(ada) == conflicts_of(ben)
    assert [conflict.about for conflict in conflicts_of(ada)] == ["find:A1"]
    assert fresh_g(ada) == fresh_g(ben)
    for home in (ada, ben):  # what one household loaded is nothing new to the other
        assert [loaded.stored for loaded in load(home, of_ada, of_ben)] == [0, 0]


def test_the_other_way_round_is_the_same(tmp_path: Path) -> None:
    first, second = tmp_path / "first", tmp_path / "second"
    for folder in (first, second):
        folder.mkdir()
    ada, ben, *_ = two_homes(first)
    merge_ledgers(ada, ben.folder)
    carl, dora, *_ = two_homes(second)
    merge_ledgers(dora, carl.folder)
    assert entries(ada) == entries(dora)
    assert conflicts_of(ada) == conflicts_of(dora)
    assert fresh_g(ada) == fresh_g(dora)


def test_a_backup_brings_the_logs_back(tmp_path: Path) -> None:
    ada, *_ = two_homes(tmp_path)
    made = back_up(ada, tmp_path, today=TODAY)
    restore(Path(made.file), tmp_path / "back", today=TODAY)
    assert entries(load_home(tmp_path / "back")) == entries(ada) != set()
