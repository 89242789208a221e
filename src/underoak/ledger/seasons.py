"""Visits read season by season; a season of which no row has changed comes back as the same object."""

from __future__ import annotations

import json
from collections.abc import Iterable
from datetime import date
from functools import lru_cache
from typing import Any

from underoak.ledger.connection import Ledger
from underoak.model.visits import Find, Search, SeasonVisits, Visit

#: Seasons kept in memory: a long record of one household, with some older states of the running season.
MOST_SEASONS = 96

__all__ = ["SeasonVisits", "seasons"]

_Row = tuple[Any, ...]


def seasons(
    connection: Ledger, since: date | None = None, until: date | None = None
) -> tuple[SeasonVisits, ...]:
    """Visits from ``since`` to ``until`` (both inclusive, None is open) by season, oldest first.

    Every row is read every time and the records are kept by the content of the rows, so nothing stale can
    come back, whoever wrote to the ledger in between.
    """
    span = ((since or date.min).isoformat(), (until or date.max).isoformat())
    heads = connection.execute(
        "SELECT id, day, place_id, minutes, people, note FROM visit "
        "WHERE day BETWEEN ? AND ? ORDER BY day, id",
        span,
    )
    rows: dict[int, tuple[list[_Row], list[_Row], list[_Row]]] = {}
    season_of: dict[str, int] = {}
    for head in map(tuple, heads):
        season_of[head[0]] = season = _season(head[1])
        rows.setdefault(season, ([], [], []))[0].append(head)
    for part, columns in ((1, _SEARCH), (2, _FIND)):
        # A short span is looked up; an open one wants nearly all rows, and a join costs more than the rest.
        found = connection.execute(columns + _IN_SPAN, span) if since else connection.execute(columns)
        for row in map(tuple, found):
            if row[0] in season_of:
                rows[season_of[row[0]]][part].append(row)
    return tuple(_records(season, *map(tuple, rows[season])) for season in sorted(rows))


_SEARCH = "SELECT visit_id, spot_id, thoroughness FROM search"
_FIND = "SELECT visit_id, id, spot_id, taxon_id, stage, bodies, fresh_g, note FROM find"
_IN_SPAN = " WHERE visit_id IN (SELECT id FROM visit WHERE day BETWEEN ? AND ?)"


def _season(day: str) -> int:
    """The year of the March in which the season of an ISO day began."""
    return int(day[:4]) - (day[5:7] < "03")


@lru_cache(maxsize=MOST_SEASONS)
def _records(
    season: int, heads: tuple[_Row, ...], searches: tuple[_Row, ...], finds: tuple[_Row, ...]
) -> SeasonVisits:
    looked, found = _by_visit(searches), _by_visit(finds)
    return SeasonVisits(
        season,
        tuple(
            Visit(
                id=key,
                day=date.fromisoformat(day),
                place_id=place_id,
                minutes=minutes,
                people=tuple(json.loads(people)),
                searches=tuple(Search(*row) for row in sorted(looked.get(key, ()))),
                finds=tuple(Find(*row) for row in sorted(found.get(key, ()), key=lambda row: row[0])),
                note=note,
            )
            for key, day, place_id, minutes, people, note in heads
        ),
    )


def _by_visit(rows: Iterable[_Row]) -> dict[str, list[_Row]]:
    """Rows without their first column, by that column."""
    groups: dict[str, list[_Row]] = {}
    for key, *rest in rows:
        groups.setdefault(str(key), []).append(tuple(rest))
    return groups
