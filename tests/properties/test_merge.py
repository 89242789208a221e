"""Ledgers join to the same whole both ways, in any order, again and again."""

from __future__ import annotations

import sqlite3
from functools import cache
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from underoak.errors import BadData
from underoak.ledger.database import migrations, open_ledger
from underoak.ledger.merge import joined_tables, merge
from underoak.ledger.merge_rules import RULES
from underoak.settings import Home

Rows = dict[str, list[tuple[Any, ...]]]
_DAYS = st.sampled_from(["2026-10-03", "2026-10-04", "2026-10-10"])
_TEXT = st.sampled_from(["", "a note", "another note"])
_PEOPLE = st.sampled_from(["[]", '["Ada"]', '["Ben"]', '["Ada", "Ben"]'])
_RING = "[[[[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 0.0]]]]"


@cache
def empty() -> bytes:
    """An empty ledger of the newest schema."""
    connection = sqlite3.connect(":memory:", isolation_level=None)
    for _, text in migrations():
        connection.executescript(text)
    return connection.serialize()


def ledger(rows: Rows) -> sqlite3.Connection:
    """A ledger in memory with these rows."""
    connection = sqlite3.connect(":memory:", isolation_level=None)
    connection.deserialize(empty())
    connection.row_factory = sqlite3.Row
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute("BEGIN")
    connection.execute("PRAGMA defer_foreign_keys = ON")
    for table, records in rows.items():
        for record in records:
            marks = ", ".join("?" * len(record))
            connection.execute(f"INSERT OR IGNORE INTO {table} VALUES ({marks})", record)  # noqa: S608
    connection.execute("COMMIT")
    return connection


def content(connection: sqlite3.Connection) -> Rows:
    """Everything a ledger holds."""
    return {
        table: sorted((tuple(row) for row in connection.execute(f"SELECT * FROM {table}")), key=repr)  # noqa: S608
        for table in joined_tables(connection, with_house=True)
    }


def maybe(strategy: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    return st.one_of(st.none(), strategy)


@st.composite
def ledgers(draw: st.DrawFn) -> Rows:
    """Rows as two households might have noted of the same few woods, spots and days."""
    place = st.tuples(
        st.just("wood"), st.sampled_from(["Wood", "Old Wood"]), st.just(_RING),
        st.sampled_from(["allowed", "forbidden", "unknown"]), _TEXT, maybe(st.sampled_from([1.0, 2.0])),
        st.none(), st.none(), _TEXT, maybe(_DAYS), maybe(_DAYS), _TEXT,
    )  # fmt: skip
    spots = [
        (
            f"s{n}", "wood", f"Oak {n}", draw(st.sampled_from([0.5, 0.5003])), 0.5,
            draw(st.sampled_from(["oak", "unknown"])), draw(maybe(st.sampled_from([60.0, 70.0]))), None,
            draw(st.integers(0, 1)),
        )
        for n in range(3)
    ]  # fmt: skip
    visits, searches, finds, verdicts, orders, lots, batches, jars, servings = ([] for _ in range(9))
    for n in draw(st.lists(st.integers(0, 3), unique=True, max_size=3)):
        visits.append(
            (
                f"v{n}",
                "2026-10-03",
                "wood",
                draw(maybe(st.sampled_from([30.0, 60.0]))),
                draw(_PEOPLE),
                draw(_TEXT),
            )
        )
        for spot in draw(st.lists(st.integers(0, 2), unique=True, max_size=3)):
            searches.append((f"v{n}", f"s{spot}", draw(st.sampled_from([0.3, 0.6, 0.9]))))
            find = (f"v{n}-{spot}", f"v{n}", f"s{spot}", draw(st.sampled_from(["grifola", "armillaria"])))
            finds.append(
                (
                    *find,
                    draw(st.sampled_from(["young", "prime"])),
                    draw(maybe(st.just(2))),
                    100.0,
                    draw(_TEXT),
                )
            )
            verdict = f"w-{find[0]}-{draw(st.integers(0, 2))}"
            verdicts.append((verdict, find[0], "grifola", "open", 1, "2026-10-04", "b", "{}", "{}", None))
            orders.append((verdict, draw(st.integers(1, 3))))
            lots.append((f"l-{find[0]}", find[0], "grifola", draw(st.sampled_from([None, verdict])),
                         draw(st.sampled_from([90.0, 100.0])), "2026-10-03", "", "[]", "some"))  # fmt: skip
            if draw(st.booleans()):
                batch = f"b-{find[0]}"
                against = draw(st.sampled_from(["[]", '["raw"]', '["canned"]']))
                batches.append((batch, "freeze", "2026-10-04", "b", "{}", against))
                state, on = draw(
                    st.sampled_from([("kept", None), ("eaten", "2026-10-04"), ("thrown", "2026-10-10")])
                )
                jars.append((f"j-{batch}", batch, f"j-{batch}", "bag", 80.0, "2026-10-04", None, state, on,
                             draw(st.sampled_from(["[]", '["hot"]'])), "freezer", draw(_TEXT)))  # fmt: skip
                servings.append((f"e-{batch}", "2026-10-05T18:00", "Ada", "grifola", f"j-{batch}", batch, 5.0,
                                 draw(st.integers(0, 1)), draw(_TEXT), draw(maybe(_DAYS)), ""))  # fmt: skip
    bought = [
        (f"m{n}", "pleurotus", draw(st.sampled_from(["Market", "Corner shop"])),
         draw(st.sampled_from([500.0, 800.0])), "2026-10-03", "2026-10-03T12:00:00")
        for n in draw(st.lists(st.integers(0, 2), unique=True))
    ]  # fmt: skip
    weather = [
        ("st", day, 0, *(draw(maybe(st.sampled_from([0.0, 5.0]))) for _ in range(6)))
        for day in draw(st.lists(_DAYS, unique=True))
    ]
    return {
        "station": [("st", draw(_TEXT), draw(maybe(st.just(41.5))), None, None)], "weather_day": weather,
        "place": [draw(place)], "spot": spots, "visit": visits, "search": searches, "find": finds,
        "verdict": verdicts, "verdict_order": orders, "lot": lots, "batch": batches, "jar": jars,
        "serving": servings, "bought": bought,
    }  # fmt: skip


def joined(*parts: Rows) -> Rows:
    """The first ledger after the others were joined into it, one after the other."""
    first, *others = [ledger(part) for part in parts]
    for other in others:
        merge(first, other, with_house=True)
    assert first.execute("PRAGMA foreign_key_check").fetchall() == []
    return content(first)


@settings(max_examples=25, deadline=None)
@given(ledgers(), ledgers())
def test_both_ways_give_the_same(a: Rows, b: Rows) -> None:
    assert joined(a, b) == joined(b, a)


@settings(max_examples=15, deadline=None)
@given(ledgers(), ledgers(), ledgers())
def test_any_order_gives_the_same(a: Rows, b: Rows, c: Rows) -> None:
    whole = joined(a, b, c)
    assert joined(c, a, b) == whole
    assert joined(b, c, a) == whole
    right = ledger(b)
    merge(right, ledger(c), with_house=True)
    left = ledger(a)
    merge(left, right, with_house=True)
    assert content(left) == whole


@settings(max_examples=15, deadline=None)
@given(ledgers(), ledgers())
def test_again_changes_nothing_and_nothing_is_doubled(a: Rows, b: Rows) -> None:
    first, other = ledger(a), ledger(b)
    merge(first, other, with_house=True)
    before = content(first)
    again = merge(first, other, with_house=True)
    assert content(first) == before
    assert again.new == again.changed == {}
    for table, rows in before.items():
        ids = {row[0] for part in (a, b) for row in part.get(table, [])}
        assert {row[0] for row in rows} == ids


@settings(max_examples=15, deadline=None)
@given(ledgers(), ledgers())
def test_what_protects_is_never_lost(a: Rows, b: Rows) -> None:
    """A withheld spot stays withheld, a jar that is gone stays gone, every advice and reaction stays."""
    both = joined(a, b)
    for spot in both["spot"]:
        assert spot[8] == max(row[8] for part in (a, b) for row in part["spot"] if row[0] == spot[0])
    for jar in both["jar"]:
        states = {row[7] for part in (a, b) for row in part["jar"] if row[0] == jar[0]}
        assert jar[7] != "kept" or states == {"kept"}
    for batch in both["batch"]:
        told = [row[5] for part in (a, b) for row in part["batch"] if row[0] == batch[0]]
        assert all(text[1:-1] in batch[5] for text in told)
    for serving in both["serving"]:
        noted = [row[8] for part in (a, b) for row in part["serving"] if row[0] == serving[0]]
        assert bool(serving[8]) == any(noted)


def test_without_the_pantry_no_jar_and_no_meal_comes_along() -> None:
    rows: Rows = {
        "place": [("wood", "Wood", _RING, "unknown", "", None, None, None, "", None, None, "")],
        "spot": [("s", "wood", "Oak", 0.5, 0.5, "oak", None, None, 0)],
        "visit": [("v", "2026-10-03", "wood", None, "[]", "")],
        "find": [("f", "v", "s", "grifola", "prime", 1, 100.0, "")],
        "specimen": [("f", "refrigerator", "2026-10-03")],
        "draft": [("vet", "f", "{}")],
    }
    ours = ledger({})
    merged = merge(ours, ledger(rows))
    assert merged.new == {"find": 1, "place": 1, "spot": 1, "visit": 1}
    assert merge(ours, ledger(rows), with_house=True).new == {"specimen": 1}
    assert ours.execute("SELECT count(*) FROM draft").fetchone()[0] == 0


def _wood(lon: float, spot: str = "s") -> Rows:
    ring = _RING.replace("0.0", f"{lon}").replace("1.0", f"{lon + 1}")
    return {
        "place": [("wood", "Wood", ring, "unknown", "", None, None, None, "", None, None, "")],
        "spot": [(spot, "wood", "Oak", lon + 0.5, 0.5, "oak", None, None, 0)],
    }


@pytest.mark.parametrize(
    ("other", "words"),
    [(_wood(0.01), "apart in the two ledgers"), (_wood(5.0), "lies elsewhere"), (_wood(0.0, "t"), "two ids")],
)
def test_two_things_of_one_name_are_told_and_nothing_is_stored(other: Rows, words: str) -> None:
    ours = ledger(_wood(0.0))
    before = content(ours)
    with pytest.raises(BadData) as caught:
        merge(ours, ledger(other))
    assert any(words in problem.what for problem in caught.value.problems)
    assert content(ours) == before


def test_a_verdict_that_was_tampered_with_is_refused() -> None:
    rows = {
        **_wood(0.0),
        "visit": [("v", "2026-10-03", "wood", None, "[]", "")],
        "find": [("f", "v", "s", "grifola", "prime", 1, 100.0, "")],
    }
    given = ("w", "f", "grifola", "open", 1, "2026-10-04", "b", "{}", "{}", None)
    better = ("w", "f", "grifola", "confirmed", 1, "2026-10-04", "b", "{}", "{}", "Ada")
    with pytest.raises(BadData, match="was changed in one of the ledgers"):
        merge(ledger({**rows, "verdict": [given]}), ledger({**rows, "verdict": [better]}))


def test_rules_name_only_tables_and_columns_that_exist(home: Home) -> None:
    connection = open_ledger(home.ledger)
    for table, rule in RULES.items():
        columns = {row[1] for row in connection.execute(f"PRAGMA table_info({table})")}
        named = {name for group in rule.groups for name in group.columns} | set(rule.united)
        assert columns
        assert named <= columns
    connection.close()
