"""Pantries of several households join, and every jar still leads back to its tree."""

from __future__ import annotations

import random
import sqlite3
from datetime import date, timedelta
from itertools import permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.properties.test_merge import Rows, content, ledger
from underoak.errors import BadData, UserMistake
from underoak.ledger.codes import batch_meant, fresh_tag, jar_meant, next_batch_id, store_tag
from underoak.ledger.merge import merge
from underoak.ledger.trace import trace_jar
from underoak.ledger.verdicts import IN_ORDER

_FIRST = date(2026, 10, 3)
_RING = "[[[[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 0.0]]]]"
#: So many batches a day for three days.
_MADE = st.lists(st.integers(0, 3), min_size=3, max_size=3)


def household(tag: str, made: list[int]) -> sqlite3.Connection:
    """A ledger of the common wood with one find of its own and batches of it."""
    rows: Rows = {
        "place": [("wood", "Wood", _RING, "unknown", "", None, None, None, "", None, None, "")],
        "spot": [("s", "wood", "Oak", 0.5, 0.5, "oak", None, None, 0)],
        "visit": [(f"v-{tag}", "2026-10-03", "wood", None, "[]", "")],
        "find": [(f"f-{tag}", f"v-{tag}", "s", "grifola_frondosa", "prime", 1, 9000.0, "")],
        "lot": [(f"l-{tag}", f"f-{tag}", "grifola_frondosa", None, 9000.0, "2026-10-03", "", "[]", "some")],
    }
    connection = ledger(rows)
    store_tag(connection, tag)
    for day, batches in enumerate(made):
        for _ in range(batches):
            put_up(connection, f"l-{tag}", _FIRST + timedelta(days=day))
    return connection


def put_up(connection: sqlite3.Connection, lot: str, day: date) -> str:
    batch = next_batch_id(connection, day)
    connection.execute("INSERT INTO batch VALUES (?, 'dry', ?, 'b', '{}', '[]')", (batch, day.isoformat()))
    connection.execute("INSERT INTO batch_lot VALUES (?, ?, 100.0)", (batch, lot))
    bought = (f"m-{batch}", "pleurotus", "Market", 50.0, day.isoformat(), f"{day}T12:00:00")
    connection.execute("INSERT INTO bought VALUES (?, ?, ?, ?, ?, ?)", bought)
    connection.execute("INSERT INTO batch_bought VALUES (?, ?, 50.0)", (batch, bought[0]))
    jar = (f"{batch}-01", batch, f"{batch}-01", "jar", 10.0, day.isoformat())
    connection.execute("INSERT INTO jar VALUES (?, ?, ?, ?, ?, ?, NULL, 'kept', NULL, '[]', 'room', '')", jar)
    return batch


@settings(max_examples=8, deadline=None)
@given(_MADE, _MADE, _MADE)
def test_three_pantries_join_in_any_order(a: list[int], b: list[int], c: list[int]) -> None:
    made = {"AAA": a, "BBB": b, "CCC": c}
    wholes = []
    for order in permutations(made):
        first, *others = (household(tag, made[tag]) for tag in order)
        for other in others:
            merge(first, other, with_house=True)
        wholes.append(content(first))
        jars = [row[0] for row in first.execute("SELECT code FROM jar")]
        assert len(jars) == len(set(jars)) == sum(a) + sum(b) + sum(c)
        for code in jars:
            lots = {origin.lot_id for origin in trace_jar(first, code).origins}
            assert lots == {f"l-{code[:3]}", f"m-{code[:-3]}"}
    assert all(whole == wholes[0] for whole in wholes)


@settings(max_examples=20, deadline=None)
@given(_MADE, _MADE, st.lists(st.sampled_from("ab"), max_size=5))
def test_both_go_on_after_joining_and_join_again(a: list[int], b: list[int], more: list[str]) -> None:
    """Both ways, again and again, with batches made in between on the same day."""
    sides = {"a": household("AAA", a), "b": household("BBB", b)}
    for side in more:
        put_up(sides[side], {"a": "l-AAA", "b": "l-BBB"}[side], _FIRST)
        merge(sides["a"], sides["b"], with_house=True)
        merge(sides["b"], sides["a"], with_house=True)
        assert content(sides["a"]) == content(sides["b"])
    merge(sides["a"], sides["b"], with_house=True)
    assert sides["a"].execute("SELECT count(*) FROM batch").fetchone()[0] == sum(a) + sum(b) + len(more)


def test_a_code_without_its_tag_means_the_household_s_own_jar() -> None:
    ours, theirs = household("AAA", [2, 0, 0]), household("BBB", [1, 1, 0])
    merge(ours, theirs, with_house=True)
    assert jar_meant(ours, "261003-1-01") == "AAA-261003-1-01"
    assert jar_meant(ours, " bbb-261003-1-01 ") == "BBB-261003-1-01"
    assert batch_meant(ours, "261004-1") == "BBB-261004-1"  # only the other household has one
    assert batch_meant(ours, "261005-1") is None
    merge(ours, household("CCC", [0, 1, 0]), with_house=True)
    with pytest.raises(UserMistake, match="several households"):
        batch_meant(ours, "261004-1")
    ours.execute("INSERT INTO batch VALUES ('261004-1', 'dry', '2026-10-04', 'b', '{}', '[]')")
    assert batch_meant(ours, "261004-1") == "261004-1"  # made before there were tags


def test_two_households_of_one_tag_are_told_and_nothing_is_stored() -> None:
    ours, theirs = household("AAA", [1, 0, 0]), household("AAA", [1, 0, 0])
    theirs.execute("UPDATE batch SET method_id = 'freeze_steamed'")
    before = content(ours)
    with pytest.raises(BadData, match="another one in each ledger"):
        merge(ours, theirs, with_house=True)
    assert content(ours) == before


def test_a_tag_is_made_once_and_kept() -> None:
    connection = ledger({})
    choice = random.Random(1).choice  # noqa: S311 - a seed, not a secret
    first = next_batch_id(connection, _FIRST, choice)
    tag = connection.execute("SELECT tag FROM household").fetchone()[0]
    assert first == f"{tag}-261003-1"
    assert next_batch_id(connection, _FIRST, choice) == first
    store_tag(connection, "ZZZ")
    assert next_batch_id(connection, _FIRST, choice) == first
    with pytest.raises(UserMistake, match="the tag"):
        store_tag(connection, "too long")
    assert not set("01OIL") & set("".join(fresh_tag(choice) for _ in range(2000)))


_STATES = st.sampled_from(["refused", "open", "consistent", "confirmed"])
_GIVEN = st.lists(
    st.tuples(st.integers(0, 3), _STATES, st.sampled_from(["2026-10-03", "2026-10-04"])), max_size=5
)


def vetted(given_there: list[tuple[int, str, str]]) -> sqlite3.Connection:
    """A ledger with verdicts given one after the other; the same in two ledgers is the same verdict."""
    connection = household("AAA", [0, 0, 0])
    for text, state, day in given_there:
        key = f"{text}-{state}-{day}"
        connection.execute(
            "INSERT OR IGNORE INTO verdict VALUES (?, 'f-AAA', 'g', ?, 1, ?, 'b', '{}', '{}', NULL)",
            (key, state, day),
        )
        connection.execute(
            "INSERT INTO verdict_order SELECT ?, 1 + coalesce(max(number), 0) FROM verdict_order WHERE true "
            "ON CONFLICT (verdict_id) DO UPDATE SET number = excluded.number",
            (key,),
        )
    return connection


def in_order(connection: sqlite3.Connection) -> list[str]:
    return [row[0] for row in connection.execute(f"SELECT id FROM verdict ORDER BY {IN_ORDER}")]  # noqa: S608


@settings(max_examples=20, deadline=None)
@given(_GIVEN, _GIVEN, _GIVEN)
def test_joined_ledgers_agree_on_the_verdict_that_stands(
    a: list[tuple[int, str, str]], b: list[tuple[int, str, str]], c: list[tuple[int, str, str]]
) -> None:
    orders = []
    for first, *others in permutations((a, b, c)):
        whole = vetted(first)
        for other in others:
            merge(whole, vetted(other))
        orders.append(in_order(whole))
    assert all(order == orders[0] for order in orders)


def test_of_two_verdicts_of_one_day_and_number_the_stricter_stands() -> None:
    day = "2026-10-04"
    for one, other in (("refused", "confirmed"), ("open", "consistent"), ("refused", "open")):
        for pair in ((one, other), (other, one)):
            ours, theirs = (vetted([(0, state, day)]) for state in pair)
            merge(ours, theirs)
            assert in_order(ours)[-1] == f"0-{one}-{day}"


def test_what_a_household_gave_later_the_same_day_still_stands_after_joining() -> None:
    """A verdict that was open until the print was there is not open again because ledgers were joined."""
    day = "2026-10-04"
    ours = vetted([(0, "open", day), (1, "consistent", day)])
    theirs = vetted([(0, "open", day)])
    merge(theirs, ours)
    merge(ours, theirs)
    assert in_order(ours) == in_order(theirs) == [f"0-open-{day}", f"1-consistent-{day}"]
