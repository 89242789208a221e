"""Two households join into a club's ledger and back; answers, backups and the pages are those of a file."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from click import Command
from click.testing import CliRunner
from hypothesis import HealthCheck, given, settings

from tests.club.server import Server
from tests.properties import test_merge as laws
from tests.shared_home import TODAY, invented_home
from underoak.cli.pantry import trace
from underoak.cli.review import review
from underoak.cli.week import week
from underoak.desk.back_up import back_up
from underoak.desk.check_home import check_home
from underoak.desk.make_home import make_home
from underoak.desk.merge_ledgers import merge_ledgers
from underoak.desk.restore import CLUB_SETTINGS_NAME, restore
from underoak.errors import UserMistake
from underoak.ledger.catalog import columns_and_key
from underoak.ledger.connection import Ledger
from underoak.ledger.database import open_ledger, writing
from underoak.ledger.merge import joined_tables, merge
from underoak.model.club import ClubAddress
from underoak.model.household import ClubLedger
from underoak.settings import Home, load_home

Rows = laws.Rows


def content(ledger: Ledger) -> Rows:
    """Every joined record, whichever kind of ledger holds it."""
    found: Rows = {}
    for table in joined_tables(ledger, with_house=True):
        columns = ", ".join(columns_and_key(ledger, table)[0])
        rows = ledger.execute(f"SELECT {columns} FROM {table}")  # noqa: S608
        found[table] = sorted(map(tuple, rows), key=repr)
    return found


def records(home: Home) -> Rows:
    with closing(open_ledger(home.ledger)) as ledger:
        return content(ledger)


_JAR = (
    "INSERT INTO lot (id, find_id, taxon_id, fresh_g, picked_on) "
    "VALUES ('l1', 'f1', 'grifola_frondosa', 900.0, '2026-10-03')",
    "INSERT INTO batch (id, method_id, made_on, book_version) VALUES ('b1', 'dry', '2026-10-04', 'b')",
    "INSERT INTO batch_lot VALUES ('b1', 'l1', 900.0)",
    "INSERT INTO jar (id, batch_id, code, container, net_g, made_on) "
    "VALUES ('j1', 'b1', 'b1-01', 'half_pint_jar', 80.0, '2026-10-04')",
)


@pytest.fixture
def households(tmp_path: Path) -> tuple[Home, Home]:
    """Two homes with files; the second noted a visit of its own."""
    first, second = invented_home(tmp_path / "first"), invented_home(tmp_path / "second")
    with closing(open_ledger(first.ledger)) as ledger, writing(ledger):
        for row in _JAR:
            ledger.execute(row)
    with closing(open_ledger(second.ledger)) as ledger, writing(ledger):
        ledger.execute(
            "INSERT INTO visit (id, day, place_id, minutes) VALUES ('v9', '2026-10-18', 'wood', 30.0)"
        )
        ledger.execute("INSERT INTO search VALUES ('v9', 'oak', 0.9)")
    return first, second


@pytest.fixture
def shared(tmp_path: Path, households: tuple[Home, Home], club: ClubAddress) -> Home:
    """A home whose record the club keeps, with both households joined into it."""
    own = households[0].settings.model_copy(update={"ledger": ClubLedger(address=str(club))})
    home = make_home(tmp_path / "club", own)
    for each in households:
        merge_ledgers(home, each.folder, with_pantry=True)
    return home


def test_two_households_join_into_the_club_and_back(households: tuple[Home, Home], shared: Home) -> None:
    first, second = households
    merge_ledgers(first, second.folder, with_pantry=True)
    assert records(shared) == records(first)
    assert merge_ledgers(shared, second.folder, with_pantry=True).new == {}
    back = merge_ledgers(second, shared.folder, with_pantry=True)
    assert "visit" not in back.new
    assert records(second) == records(first)
    with pytest.raises(UserMistake, match="own ledger"):
        merge_ledgers(shared, shared.folder)


@pytest.mark.parametrize(
    ("command", "words"), [(review, []), (week, ["--taxon", "grifola_frondosa"]), (trace, ["b1-01"])]
)
def test_commands_answer_as_from_a_file(
    households: tuple[Home, Home], shared: Home, command: Command, words: list[str]
) -> None:
    merge_ledgers(households[0], households[1].folder, with_pantry=True)
    told = []
    for home in (households[0], shared):
        plain = [*words, "--home", str(home.folder), "--today", TODAY.isoformat(), "--json"]
        told.append(CliRunner().invoke(command, plain, catch_exceptions=False).output)
    assert json.loads(told[0]) == json.loads(told[1])


def test_a_backup_of_the_club_comes_back_as_a_file(shared: Home, tmp_path: Path) -> None:
    made = back_up(shared, tmp_path, today=TODAY)
    done = restore(Path(made.file), tmp_path / "back", today=TODAY)
    back = load_home(tmp_path / "back")
    assert done.club == str(shared.ledger)
    assert back.ledger == back.ledger_path
    assert records(back) == records(shared)
    assert "postgresql://" in (back.folder / CLUB_SETTINGS_NAME).read_text()
    with sqlite3.connect(back.ledger_path) as file:
        assert file.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
    file.close()


def test_the_doctor_looks_a_clubs_ledger_over(shared: Home) -> None:
    assert check_home(shared, today=TODAY).ailments == ()
    with pytest.raises(UserMistake, match="cannot be mended from here"):
        check_home(shared, today=TODAY, repair=frozenset({"ledger"}))


def _filled(server: Server, database: str, rows: Rows) -> Ledger:
    ledger = open_ledger(server.emptied(database))
    with writing(ledger):
        ledger.execute("SET CONSTRAINTS ALL DEFERRED")
        for table, found in rows.items():
            columns = columns_and_key(ledger, table)[0]
            names, marks = ", ".join(columns), ", ".join("?" * len(columns))
            insert = f"INSERT INTO {table} ({names}) VALUES ({marks}) ON CONFLICT DO NOTHING"  # noqa: S608
            ledger.executemany(insert, found)
    return ledger


@settings(max_examples=5, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(laws.ledgers(), laws.ledgers())
def test_joining_on_a_server_gives_what_files_give(server: Server, a: Rows, b: Rows) -> None:
    """Both kinds and both ways, again and again: the same whole."""
    whole = laws.joined(a, b)
    with closing(_filled(server, "one", a)) as one, closing(_filled(server, "two", b)) as two:
        assert content(one) == laws.content(laws.ledger(a))
        merge(one, two, with_house=True)
        assert content(one) == whole
        assert merge(one, two, with_house=True).new == {}
        file = laws.ledger(a)
        merge(file, two, with_house=True)
        assert laws.content(file) == whole
        merge(two, laws.ledger(a), with_house=True)
        assert content(two) == whole
