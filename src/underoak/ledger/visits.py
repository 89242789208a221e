"""Visits with what was searched and found."""

from __future__ import annotations

import json
from collections.abc import Iterable
from datetime import date

from underoak.ledger.connection import Ledger
from underoak.ledger.seasons import seasons
from underoak.model.visits import Find, Visit


def store_visits(connection: Ledger, visits: Iterable[Visit]) -> int:
    """Store or update visits by id with their searches and finds; returns how many rows were new or changed.

    A find implies that its spot was searched: where no search is given one of 0.6 ("a look around") is
    stored. What is not named stays as it was; nothing is ever deleted here.
    """
    changed = 0  # counted by statement: the marks of seasons are no records
    for visit in visits:
        head = connection.execute(
            "INSERT INTO visit VALUES (?, ?, ?, ?, ?, ?) ON CONFLICT (id) DO UPDATE SET "
            "minutes = coalesce(excluded.minutes, visit.minutes), "
            "people = CASE excluded.people WHEN '[]' THEN visit.people ELSE excluded.people END, "
            "note = CASE excluded.note WHEN '' THEN visit.note ELSE excluded.note END "
            "WHERE visit.minutes IS NOT coalesce(excluded.minutes, visit.minutes) "
            "OR excluded.people NOT IN ('[]', visit.people) OR excluded.note NOT IN ('', visit.note)",
            (
                visit.id,
                visit.day.isoformat(),
                visit.place_id,
                visit.minutes,
                json.dumps(visit.people),
                visit.note,
            ),
        )
        looked, found = _store_searches(connection, visit), _store_finds(connection, visit)
        changed += head.rowcount + looked + found
    return changed


def _store_searches(connection: Ledger, visit: Visit) -> int:
    looked = {search.spot_id: search.thoroughness for search in visit.searches}
    told = connection.executemany(
        "INSERT INTO search VALUES (?, ?, ?) ON CONFLICT (visit_id, spot_id) DO UPDATE SET "
        "thoroughness = excluded.thoroughness WHERE search.thoroughness <> excluded.thoroughness",
        [(visit.id, spot, share) for spot, share in looked.items()],
    )
    meant = connection.executemany(
        "INSERT INTO search VALUES (?, ?, 0.6) ON CONFLICT DO NOTHING",
        [(visit.id, find.spot_id) for find in visit.finds if find.spot_id not in looked],
    )
    return told.rowcount + meant.rowcount


def _store_finds(connection: Ledger, visit: Visit) -> int:
    stored = connection.executemany(
        "INSERT INTO find VALUES (?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (id) DO UPDATE SET "
        "stage = excluded.stage, bodies = excluded.bodies, fresh_g = excluded.fresh_g, note = excluded.note "
        "WHERE (find.stage, find.bodies, find.fresh_g, find.note) IS NOT "
        "(excluded.stage, excluded.bodies, excluded.fresh_g, excluded.note)",
        [(f.id, visit.id, f.spot_id, f.taxon_id, f.stage, f.bodies, f.fresh_g, f.note) for f in visit.finds],
    )
    return stored.rowcount


def visits(connection: Ledger, since: date | None = None, until: date | None = None) -> list[Visit]:
    """Visits from ``since`` to ``until`` (both inclusive, None is open), by day."""
    return [visit for season in seasons(connection, since, until) for visit in season.visits]


def found_spots(connection: Ledger, until: date) -> frozenset[str]:
    """Ids of the spots where anything was found up to and with a day."""
    rows = connection.execute(
        "SELECT DISTINCT spot_id FROM find JOIN visit ON visit.id = visit_id WHERE day <= ?",
        (until.isoformat(),),
    ).fetchall()
    return frozenset(row["spot_id"] for row in rows)


def find_by_id(connection: Ledger, find_id: str) -> tuple[Find, Visit] | None:
    """A find and the visit it was made on, or None."""
    row = connection.execute(
        "SELECT visit_id, day FROM find JOIN visit ON visit.id = visit_id WHERE find.id = ?", (find_id,)
    ).fetchone()
    if row is None:
        return None
    day = date.fromisoformat(row["day"])
    visit = next(v for v in visits(connection, day, day) if v.id == row["visit_id"])
    return next(f for f in visit.finds if f.id == find_id), visit
