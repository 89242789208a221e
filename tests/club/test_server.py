"""What holds on a real server: faithful values, one writer at a time, whole or nothing, least rights."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Iterator
from contextlib import closing, suppress
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from threading import Thread

import pytest

from tests.club.server import Server
from underoak.errors import NoAnswer, UserMistake
from underoak.ledger.catalog import columns_and_key, tables
from underoak.ledger.database import open_ledger, open_to_read, writing
from underoak.ledger.shared.examine import club_trouble
from underoak.ledger.shared.session import SharedLedger
from underoak.ledger.stamp import stamp
from underoak.model.club import ClubAddress, parse_address

ADD = "INSERT INTO station (id, name, latitude_deg, elevation_m) VALUES (?, ?, ?, ?)"
VALUES = (
    ("plain", "Oak Hill", 41.5, 300.0),
    ("none", "", None, None),
    ("whole numbers", "x", 41, 300),
    ("truth", "x", True, False),
    ("tiny and huge", "x", 5e-324, 1.7976931348623157e308),
    ("no binary fraction", "x", 0.1 + 0.2, -1e-7),
    ("endless", "x", 1.0, float("inf")),
    ("nul \0 and \x1a0", "a\0b\x1a1'\"\\%_$1?", 1.0, 1.0),
    ("letters", "é ß 茸 🍄 \u202e", 1.0, 1.0),
    ("long", "hen of the woods " * 60_000, 1.0, 1.0),
)


def rows(ledger: SharedLedger | sqlite3.Connection) -> list[tuple[object, ...]]:
    found = ledger.execute("SELECT id, name, latitude_deg, elevation_m FROM station ORDER BY id")
    return [tuple(row) for row in found]


def test_values_and_their_order_are_those_of_a_file(ledger: SharedLedger, tmp_path: Path) -> None:
    """Outside check: SQLite itself, through Python's own library."""
    with closing(open_ledger(tmp_path / "file.sqlite3", create=True)) as file:
        for each in (ledger, file):
            with writing(each):
                each.executemany(ADD, VALUES)
                each.execute(ADD, ("not a number", "x", float("nan"), 0.0))
                each.executemany(
                    ADD, [(name, "x", None, None) for name in ("b", "B", "ä", "a b", "a-b", "Z")]
                )
        assert rows(ledger) == rows(file)
        assert [list(map(type, row)) for row in rows(ledger)] == [list(map(type, row)) for row in rows(file)]
        assert tables(ledger) == tables(file)
        assert all(columns_and_key(ledger, t) == columns_and_key(file, t) for t in tables(file))


def test_rows_answer_by_place_and_by_name(ledger: SharedLedger) -> None:
    with writing(ledger):
        ledger.executemany(ADD, VALUES[:2])
    row = ledger.execute("SELECT id, name AS called FROM station ORDER BY id DESC").fetchone()
    assert (row[0], row["called"], row[-1], len(row), row.keys()) == (
        "plain", "Oak Hill", "Oak Hill", 2, ["id", "called"],
    )  # fmt: skip
    assert ledger.execute("SELECT id FROM station WHERE id = ?", ("no",)).fetchone() is None


def test_many_rows_at_once_are_as_many_one_by_one(ledger: SharedLedger) -> None:
    """Also where one statement would change a row twice."""
    statement = (
        "INSERT INTO station (id, name) VALUES (?, ?) ON CONFLICT (id) DO UPDATE SET name = excluded.name"
    )
    with writing(ledger):
        before = ledger.total_changes
        ledger.executemany(statement, [(f"s{n % 500}", f"{n}") for n in range(700)])
        assert ledger.total_changes - before == 700
    assert ledger.execute("SELECT name FROM station WHERE id = 's7'").fetchone()[0] == "507"
    assert ledger.execute("SELECT count(*) FROM station").fetchone()[0] == 500


@pytest.mark.parametrize(
    "broken",
    [
        "INSERT INTO station (id, name, latitude_deg) VALUES ('a', 'x', 91.0)",
        "INSERT INTO visit (id, day, place_id) VALUES ('v', '2026-10-03', 'nowhere')",
        "INSERT INTO learned VALUES ('l', 't', '2026-10-03', 'b', 'no document')",
        "INSERT INTO station (id, name) VALUES ('b', NULL)",
    ],
)
def test_the_rules_of_the_schema_hold_and_nothing_half_is_stored(ledger: SharedLedger, broken: str) -> None:
    with pytest.raises(sqlite3.IntegrityError), writing(ledger):  # noqa: PT012
        ledger.execute(ADD, VALUES[0])
        ledger.execute(broken)
    assert rows(ledger) == []
    assert not ledger.in_transaction


def test_verdicts_cannot_be_changed(ledger: SharedLedger) -> None:
    with writing(ledger):
        ledger.execute(
            "INSERT INTO place (id, name, polygons, permission_status) VALUES ('p', 'P', '[]', 'allowed')"
        )
        ledger.execute(
            "INSERT INTO spot (id, place_id, name, longitude_deg, latitude_deg) VALUES ('s', 'p', 'S', 0, 0)"
        )
        ledger.execute("INSERT INTO visit (id, day, place_id) VALUES ('v', '2026-10-03', 'p')")
        ledger.execute(
            "INSERT INTO find (id, visit_id, spot_id, taxon_id, stage) VALUES ('f', 'v', 's', 't', 'prime')"
        )
        ledger.execute(
            "INSERT INTO verdict VALUES ('w', 'f', 't', 'open', 1, '2026-10-04', 'b', '{}', '{}', NULL)"
        )
    for change in ("UPDATE verdict SET state = 'confirmed'", "DELETE FROM verdict"):
        with pytest.raises(sqlite3.IntegrityError, match="append-only"), writing(ledger):
            ledger.execute(change)


def test_two_writers_at_once_lose_nothing(club: ClubAddress) -> None:
    """Each reads a number and writes the next; a lost one would show in the sum."""
    with closing(open_ledger(club)) as first, writing(first):
        first.execute("INSERT INTO station (id, name, elevation_m) VALUES ('n', 'N', 0)")

    def count_on() -> None:
        with closing(open_ledger(club)) as mine:
            for _ in range(15):
                with writing(mine):
                    number = mine.execute("SELECT elevation_m FROM station").fetchone()[0]
                    mine.execute("UPDATE station SET elevation_m = ?", (number + 1,))

    writers = [Thread(target=count_on) for _ in range(3)]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join()
    with closing(open_ledger(club)) as last:
        assert last.execute("SELECT elevation_m FROM station").fetchone()[0] == 45.0


def test_a_writer_that_waits_in_vain_is_told(club: ClubAddress) -> None:
    with closing(open_ledger(club)) as one, closing(open_ledger(club)) as other, writing(one):
        one.execute(ADD, VALUES[0])
        other.plain("SET lock_timeout = '50ms'")
        with pytest.raises(NoAnswer, match="another program is writing"), writing(other):
            pytest.fail("nobody else may write now")
        assert rows(other) == []


def test_a_connection_killed_in_the_middle_stores_nothing(server: Server, club: ClubAddress) -> None:
    with closing(open_ledger(club)) as ledger:
        pid = ledger.execute("SELECT pg_backend_pid()").fetchone()[0]
        with pytest.raises(NoAnswer, match="broke off, nothing was stored"), writing(ledger):  # noqa: PT012
            ledger.executemany(ADD, VALUES[:5])
            server.boss("one").execute("SELECT pg_terminate_backend(?)", (pid,))
            ledger.executemany(ADD, VALUES[5:])
        assert not ledger.in_transaction
        with pytest.raises(NoAnswer, match="broke off"):
            ledger.execute("SELECT 1")
    with closing(open_ledger(club)) as again:
        assert rows(again) == []
        with writing(again):
            again.execute(ADD, VALUES[0])


def test_a_connection_killed_while_storing_says_that_it_is_not_known(
    server: Server, club: ClubAddress
) -> None:
    with closing(open_ledger(club)) as ledger:
        pid = ledger.execute("SELECT pg_backend_pid()").fetchone()[0]
        with pytest.raises(NoAnswer, match="whole or not at all"), writing(ledger):  # noqa: PT012
            ledger.execute(ADD, VALUES[0])
            server.boss("one").execute("SELECT pg_terminate_backend(?)", (pid,))
    with closing(open_ledger(club)) as again:
        assert rows(again) == []


def test_a_failed_statement_that_was_hushed_up_is_no_success(ledger: SharedLedger) -> None:
    with pytest.raises(RuntimeError, match="nothing of it was stored"), writing(ledger):  # noqa: PT012
        ledger.execute(ADD, VALUES[0])
        with suppress(sqlite3.IntegrityError):
            ledger.execute(ADD, VALUES[0])
    assert rows(ledger) == []


def test_a_full_disk_is_told_as_of_a_file(server: Server, ledger: SharedLedger) -> None:
    """The server itself raises the code of a full disk (SQLSTATE 53100), from a trigger of the test's."""
    boss = server.boss("one")
    boss.plain("CREATE FUNCTION full_disk () RETURNS trigger LANGUAGE plpgsql AS "
               "'BEGIN RAISE EXCEPTION ''no space left'' USING ERRCODE = ''53100''; END'")  # fmt: skip
    boss.plain("CREATE TRIGGER full_disk BEFORE INSERT ON station FOR EACH ROW EXECUTE FUNCTION full_disk ()")
    try:
        with pytest.raises(NoAnswer, match="disk is full, nothing was stored"), writing(ledger):
            ledger.execute(ADD, VALUES[0])
    finally:
        boss.plain("DROP FUNCTION full_disk CASCADE")
    assert rows(ledger) == []


def test_every_commit_leaves_another_stamp(ledger: SharedLedger, club: ClubAddress) -> None:
    before = stamp(club)
    assert stamp(club) == before
    with writing(ledger):
        ledger.execute(ADD, VALUES[0])
    assert stamp(club) != before


def test_who_cannot_come_in_is_told_why(server: Server, monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(NoAnswer, match="cannot be reached"):
        open_ledger(replace(server.address("one"), port=1))
    with pytest.raises(NoAnswer, match="no database nothing"):
        open_ledger(server.address("nothing"))
    monkeypatch.setenv("PGPASSWORD", "wrong")
    with pytest.raises(NoAnswer, match="refused keeper"):
        open_ledger(server.address("one"))


def test_a_server_is_asked_who_it_is(server: Server) -> None:
    if not server.encrypted:
        pytest.skip("openssl is not here to make a certificate")
    own = f"sslmode=verify-full&sslrootcert={server.folder}/server.crt"
    where = f"postgresql://keeper@localhost:{server.port}/one"
    with closing(open_ledger(parse_address(f"{where}?{own}"))) as ledger:
        told = ledger.execute("SELECT ssl FROM pg_stat_ssl WHERE pid = pg_backend_pid()").fetchone()
        assert told[0] == 1
    with pytest.raises(NoAnswer, match="certificate is not trusted"):
        open_ledger(parse_address(f"{where}?sslmode=verify-full"))
    with pytest.raises(NoAnswer, match="certificate is not trusted"):
        open_ledger(parse_address(f"{where}?{own}".replace("localhost", "127.0.0.1")))


@pytest.fixture
def empty(server: Server) -> Iterator[ClubAddress]:
    """A database in which no ledger was made yet."""
    boss = server.boss("postgres")
    boss.plain("CREATE DATABASE empty OWNER keeper TEMPLATE template0 ENCODING 'UTF8'")
    yield server.address("empty")
    boss.plain("DROP DATABASE empty WITH (FORCE)")


def test_a_ledger_is_made_only_where_it_is_asked_for(empty: ClubAddress) -> None:
    with pytest.raises(UserMistake, match="there is no ledger at"):
        open_ledger(empty)
    open_ledger(empty, create=True).close()
    with closing(open_ledger(empty)) as ledger:
        ledger.plain("UPDATE ledger_state SET version = 999")
        with pytest.raises(NoAnswer, match="has schema 999"):
            open_ledger(empty)
        ledger.plain("DROP TABLE ledger_state")
        with pytest.raises(NoAnswer, match="holds something else"):
            open_ledger(empty, create=True)


def test_the_rights_of_the_handbook_suffice_and_no_more(server: Server, club: ClubAddress) -> None:
    page = (Path(__file__).parents[2] / "docs" / "club.md").read_text("utf-8")
    rights = page.split("<!-- rights -->\n```sql\n")[1].split("```")[0]
    with closing(open_ledger(club)) as keeper:
        for line in filter(None, map(str.strip, rights.split(";"))):
            keeper.plain(re.sub(r"underoak_(member|guest)s", r"\1", line))
        with writing(keeper):
            keeper.execute("INSERT INTO learned VALUES ('l', 't', '2026-10-03', 'b', '{}')")
    with closing(open_ledger(server.address("one", "member"))) as member:
        with writing(member):
            member.execute(ADD, VALUES[0])
            member.execute("UPDATE station SET name = 'Elm'")
        for beyond in (
            "UPDATE learned SET document = '{}'", "DELETE FROM station",
            "UPDATE ledger_state SET version = 1", "CREATE TABLE mine (a BIGINT)",
            "ALTER TABLE station DROP COLUMN name",
        ):  # fmt: skip
            with pytest.raises(NoAnswer, match="may not be written"), writing(member):
                member.execute(beyond)
    with closing(open_ledger(server.address("one", "guest"))) as guest:
        assert rows(guest) == [("plain", "Elm", 41.5, 300.0)]
        with pytest.raises(NoAnswer, match="may not be written"), writing(guest):
            guest.execute(ADD, VALUES[1])
    with closing(open_to_read(club)) as reader, pytest.raises(NoAnswer, match="may not be written"):
        reader.execute("DELETE FROM station")


def test_the_doctor_tells_of_too_many_rights_and_of_clocks(server: Server, club: ClubAddress) -> None:
    now = datetime.now(UTC)
    assert club_trouble(club, lambda: now) == []
    (told,) = club_trouble(server.address("one", "boss"), lambda: now)
    assert "who may do anything" in told.what
    (told,) = club_trouble(club, lambda: now.replace(year=now.year - 1))
    assert "differ by" in told.what
