"""A ledger about 100 times as large as the demo's: 50,000 finds on 5,000 days out, 20,000 jars."""

from __future__ import annotations

import hashlib
from datetime import date, timedelta

from underoak.desk.demo import SATURDAY
from underoak.ledger.connection import Ledger
from underoak.ledger.database import open_ledger, writing
from underoak.settings import Home

FINDS, DAYS_OUT, JARS, BATCHES = 50_000, 5_000, 20_000, 1_000
_KINDS = ("grifola_frondosa", "armillaria_mellea_group", "laetiporus_sulphureus", "hericium_group")


def enlarge(home: Home) -> None:
    """Add days out with finds, then verdicts, lots, batches, jars and meals, to a demo that was lived.

    Days out lie in 36 seasons. Every batch is made of a lot of its own, whose find has a verdict of its own;
    half of the batches stand in the pantry, the others were eaten.
    """
    connection = open_ledger(home.ledger)
    try:
        with writing(connection):
            made_of = _days_out(connection)
            _verdicts(connection, made_of)
            _jars(connection, made_of)
    finally:
        connection.close()


def _days_out(connection: Ledger) -> list[tuple[str, date]]:
    """The days out; hands back one find and day for each batch."""
    spots = [tuple(row) for row in connection.execute("SELECT id, place_id FROM spot ORDER BY id")]
    each, made_of = FINDS // DAYS_OUT, []
    for number in range(DAYS_OUT):
        place = spots[number % len(spots)][1]
        here = [s for s, p in spots if p == place][:each]
        day = date(1990, 8, 20) + timedelta(days=365 * (number % 36) + (number // 36) % 75)
        visit = f"bench-{number}"
        _insert(connection, "visit", visit, day.isoformat(), place, 120.0, "[]", "")
        for spot in here:
            _insert(connection, "search", visit, spot, 0.6)
        for n in range(each):
            spot, kind = here[n % len(here)], _KINDS[n % 4]
            _insert(connection, "find", f"{visit}-{n}", visit, spot, kind, "prime", None, 400.0, "")
        if number % (DAYS_OUT // BATCHES) == 0:
            made_of.append((f"{visit}-0", day))
    return made_of


def _verdicts(connection: Ledger, made_of: list[tuple[str, date]]) -> None:
    """For each of these finds a verdict that says what one of the demo's says."""
    model = connection.execute(
        "SELECT taxon_id, state, bodies, book_version, observations, answer FROM verdict "
        "WHERE state IN ('consistent', 'confirmed') ORDER BY id LIMIT 1"
    ).fetchone()
    _, state, bodies, book, seen, answer = tuple(model)
    for find, day in made_of:
        told = "\n".join([find, day.isoformat(), seen, answer])
        key = hashlib.sha256(told.encode()).hexdigest()[:24]
        given = day.isoformat()
        _insert(connection, "verdict", key, find, _KINDS[0], state, bodies, given, book, seen, answer, None)
        _insert(connection, "verdict_order", key, 1)
        _insert_named(
            connection,
            "lot",
            {"id": f"lot-{find}", "find_id": find, "taxon_id": _KINDS[0], "verdict_id": key,
             "fresh_g": 400.0, "picked_on": given},
        )  # fmt: skip


def _jars(connection: Ledger, made_of: list[tuple[str, date]]) -> None:
    batch, jar = (
        _as_dict(connection, f"SELECT * FROM {table} ORDER BY id LIMIT 1")  # noqa: S608 - own constants
        for table in ("batch", "jar")
    )
    for number, (find, day) in enumerate(made_of):
        key, made_on, eaten = f"bench-{number}", day.isoformat(), number % 2 == 0
        _insert_named(connection, "batch", {**batch, "id": key, "made_on": made_on})
        _insert(connection, "batch_lot", key, f"lot-{find}", 300.0)
        use_by = (SATURDAY + timedelta(days=30 + number % 700)).isoformat()
        fate = ("eaten", (day + timedelta(days=90)).isoformat()) if eaten else ("kept", None)
        for unit in range(JARS // BATCHES):
            code = f"{key}-{unit:02d}"
            _insert_named(
                connection,
                "jar",
                {**jar, "id": code, "code": code, "batch_id": key, "made_on": made_on, "use_by": use_by,
                 "state": fate[0], "state_on": fate[1]},
            )  # fmt: skip
        if eaten:
            _insert_named(
                connection,
                "serving",
                {"id": f"meal-{key}", "eaten_at": f"{fate[1]}T19:00", "person": "Mara", "taxon_id": _KINDS[0],
                 "jar_id": f"{key}-00", "batch_id": key},
            )  # fmt: skip


def _as_dict(connection: Ledger, question: str) -> dict[str, object]:
    row = connection.execute(question).fetchone()
    return {name: row[name] for name in row.keys()}  # noqa: SIM118 - a row is no mapping


def _insert(connection: Ledger, table: str, *values: object) -> None:
    marks = ", ".join("?" * len(values))
    connection.execute(f"INSERT INTO {table} VALUES ({marks})", values)  # noqa: S608 - own constants


def _insert_named(connection: Ledger, table: str, row: dict[str, object]) -> None:
    columns, marks = ", ".join(row), ", ".join("?" * len(row))
    connection.execute(f"INSERT INTO {table} ({columns}) VALUES ({marks})", tuple(row.values()))  # noqa: S608
