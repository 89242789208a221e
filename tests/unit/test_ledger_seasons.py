"""Visits by season: the same as plain SQL says, and kept only while their rows are the same."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import date, timedelta

import pytest

from underoak.ledger.connection import Ledger
from underoak.ledger.database import open_ledger, writing
from underoak.ledger.places import store_places, store_spots
from underoak.ledger.recent import finds_by_spot
from underoak.ledger.seasons import seasons
from underoak.ledger.visits import store_visits, visits
from underoak.model.ground import Permission, Place, Spot
from underoak.model.visits import Find, Search, Visit
from underoak.settings import Home

RING = ((-74.5, 41.5), (-74.4, 41.5), (-74.4, 41.6), (-74.5, 41.5))


@pytest.fixture
def ledger(home: Home) -> Iterator[Ledger]:
    """Three seasons with an outing in each month, a find on every second, stored in no order."""
    connection = open_ledger(home.ledger)
    days = [date(2023, 3, 1) + timedelta(days=31 * n) for n in range(34)]
    outings = [
        Visit(
            f"v{n}",
            day,
            "wood",
            None if n % 5 == 0 else 60.0 + n,
            ("Ada", "Ben")[: n % 3],
            (Search("oak", 0.6), Search("elm", 0.9)),
            (Find(f"f{n}b", "oak", "grifola_frondosa", "prime", None, 400.5, "side 90°"),
             Find(f"f{n}a", "elm", "hericium_group", "past", 2, None)) if n % 2 else (),
            "wet",
        )
        for n, day in enumerate(days)
    ]  # fmt: skip
    with writing(connection):
        store_places(connection, [Place("wood", "Wood", ((RING,),), Permission("allowed", "Ada"))])
        store_spots(connection, [Spot(s, "wood", s, -74.45, 41.52, "oak") for s in ("oak", "elm")])
        store_visits(connection, outings[::-1])
    yield connection
    connection.close()


def marks(connection: Ledger) -> dict[int, str]:
    return {row[0]: row[1] for row in connection.execute("SELECT season, mark FROM season_mark")}


#: Changes to the season of 2024 behind the back of every function that stores.
WRITES = [
    "UPDATE find SET fresh_g = fresh_g + 0.5 WHERE visit_id = 'v15'",
    "UPDATE find SET note = 'white' WHERE id = 'f15a'",
    "UPDATE search SET thoroughness = 0.3 WHERE visit_id = 'v15' AND spot_id = 'elm'",
    "UPDATE visit SET minutes = 5 WHERE id = 'v15'",
    "DELETE FROM find WHERE id = 'f15a'",
    "INSERT INTO find VALUES ('new', 'v15', 'elm', 'hericium_group', 'prime', NULL, NULL, '')",
]


def plainly(connection: Ledger, since: date, until: date) -> list[Visit]:
    """One question for each visit, in the order of the days."""
    heads = connection.execute(
        "SELECT id, day, place_id, minutes, people, note FROM visit "
        "WHERE day >= ? AND day <= ? ORDER BY day, id",
        (since.isoformat(), until.isoformat()),
    ).fetchall()
    searched = "SELECT spot_id, thoroughness FROM search WHERE visit_id = ? ORDER BY spot_id"
    found = (
        "SELECT id, spot_id, taxon_id, stage, bodies, fresh_g, note FROM find WHERE visit_id = ? ORDER BY id"
    )
    return [
        Visit(
            key, date.fromisoformat(day), place, minutes, tuple(json.loads(people)),
            tuple(Search(*row) for row in connection.execute(searched, (key,))),
            tuple(Find(*row) for row in connection.execute(found, (key,))),
            note,
        )
        for key, day, place, minutes, people, note in heads
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("since", "until"),
    [
        (None, None),
        (None, date(2025, 1, 1)),
        (date(2024, 2, 20), date(2024, 4, 1)),
        (date(2024, 5, 1), None),
        (date(2030, 1, 1), date(2031, 1, 1)),
    ],
)
def test_visits_are_what_one_question_a_visit_gives(
    ledger: Ledger, since: date | None, until: date | None
) -> None:
    assert visits(ledger, since, until) == plainly(ledger, since or date.min, until or date.max)


def test_seasons_begin_in_march(ledger: Ledger) -> None:
    for season in seasons(ledger):
        days = [visit.day for visit in season.visits]
        assert date(season.season, 3, 1) <= min(days) <= max(days) < date(season.season + 1, 3, 1)
    assert [season.season for season in seasons(ledger)] == [2023, 2024, 2025]


@pytest.mark.parametrize("statement", WRITES)
def test_only_the_season_that_changed_is_made_anew(ledger: Ledger, statement: str) -> None:
    before = seasons(ledger)
    assert all(a is b for a, b in zip(before, seasons(ledger), strict=True))
    ledger.execute(statement)  # behind the back of every function that stores
    after = seasons(ledger)
    assert [a is b for a, b in zip(before, after, strict=True)] == [True, False, True]
    assert [v for season in after for v in season.visits] == plainly(ledger, date.min, date.max)


@pytest.mark.parametrize("statement", WRITES)
def test_a_season_gets_a_new_mark_with_every_change_to_it(ledger: Ledger, statement: str) -> None:
    before = marks(ledger)
    ledger.execute(statement)
    after = marks(ledger)
    assert [before[year] == after[year] for year in (2023, 2024, 2025)] == [True, False, True]


def test_a_visit_that_moves_to_another_season_marks_both(ledger: Ledger) -> None:
    before = marks(ledger)
    ledger.execute("UPDATE visit SET day = '2025-03-09' WHERE id = 'v15'")
    after = marks(ledger)
    assert [before[year] == after[year] for year in (2023, 2024, 2025)] == [True, False, False]
    assert visits(ledger) == plainly(ledger, date.min, date.max)


def test_what_was_taken_back_leaves_nothing_kept(ledger: Ledger) -> None:
    """A season read inside a transaction that is rolled back is not what the ledger says afterwards."""
    kept = seasons(ledger)
    inside: list[float | None] = []

    def change_and_fail() -> None:
        with writing(ledger):
            ledger.execute("UPDATE find SET fresh_g = 1.5 WHERE visit_id = 'v15'")
            inside.extend(f.fresh_g for v in visits(ledger) if v.id == "v15" for f in v.finds)
            raise RuntimeError

    with pytest.raises(RuntimeError):
        change_and_fail()
    assert inside == [1.5, 1.5]
    assert all(a is b for a, b in zip(kept, seasons(ledger), strict=True))


def test_a_season_without_a_mark_is_read_all_the_same(ledger: Ledger) -> None:
    """Fails towards reading: a ledger whose marks were lost loses no visit."""
    ledger.execute("DELETE FROM season_mark WHERE season = 2024")
    assert visits(ledger) == plainly(ledger, date.min, date.max)


def test_storing_tells_of_records_and_not_of_marks(ledger: Ledger) -> None:
    visit = Visit("new", date(2025, 9, 1), "wood", 30.0, (), (Search("elm", 0.6),),
                  (Find("x", "oak", "grifola_frondosa", "prime"),))  # fmt: skip
    with writing(ledger):
        assert store_visits(ledger, [visit]) == 4  # the visit, a search, its find and the look it implies
        assert store_visits(ledger, [visit]) == 0


def test_finds_by_spot_are_counted_again_when_one_changes(ledger: Ledger) -> None:
    question = (
        "SELECT spot_id, count(*), max(day) FROM find JOIN visit ON visit.id = visit_id GROUP BY spot_id"
    )
    for statement in (
        "SELECT 1",
        WRITES[4],
        WRITES[5],
        "UPDATE visit SET day = '2026-02-01' WHERE id = 'v15'",
    ):
        ledger.execute(statement)
        assert finds_by_spot(ledger) == {row[0]: (row[1], row[2]) for row in ledger.execute(question)}
