"""Visits read season by season; a season of which no row has changed comes back as the same object."""

from __future__ import annotations

import json
from collections import OrderedDict
from collections.abc import Iterable
from datetime import date
from functools import lru_cache
from threading import Lock
from typing import Any

from underoak.ledger.connection import Ledger
from underoak.model.visits import Find, Search, SeasonVisits, Visit

#: Seasons kept in memory: a long record of one household, with some older states of the running season.
MOST_SEASONS = 96
#: Seasons up to which each is read for itself; for more the whole record is read at once.
_FEW = 3

__all__ = ["SeasonVisits", "seasons"]

_Row = tuple[Any, ...]
_kept: OrderedDict[str, SeasonVisits] = OrderedDict()
_lock = Lock()


def seasons(
    connection: Ledger, since: date | None = None, until: date | None = None
) -> tuple[SeasonVisits, ...]:
    """Visits from ``since`` to ``until`` (both inclusive, None is open) by season, oldest first.

    The ledger gives each season a random mark and a new one with every change to it. A whole season is kept
    by its mark, any other part by the content of its rows, so nothing stale can come back, whoever wrote to
    the ledger in between: another program, a merge or a backup that was put back.
    """
    if since is None:
        found = _by_marks(connection, until)
        if found is not None:
            return found
    return _read(connection, since.isoformat() if since else "", (until or date.max).isoformat())


def _by_marks(connection: Ledger, until: date | None) -> tuple[SeasonVisits, ...] | None:
    """The same by the marks; None where they do not tell of every visit, or somebody is writing."""
    last = (until or date.max).isoformat()
    marks = {season: mark for season, mark in _marks(connection).items() if _span(season)[0] <= last}
    whole = [season for season in marks if _span(season)[1] <= last]
    with _lock:
        found = {season: _kept[marks[season]] for season in whole if marks[season] in _kept}
    missing = [season for season in marks if season not in found]
    spans = [_span(season) for season in missing]
    if len(missing) > _FEW:
        spans = [("", last)]
    for first, end in spans:
        for one in _read(connection, first, min(end, last)):
            found.setdefault(one.season, one)
    told = connection.execute("SELECT count(*) FROM visit WHERE day <= ?", (last,)).fetchone()[0]
    if told != sum(len(found[season].visits) for season in marks if season in found):
        return None
    if any(_marks(connection).get(season) != mark for season, mark in marks.items()):
        return None
    with _lock:
        _kept.update({marks[season]: found[season] for season in whole if season in found})
        while len(_kept) > MOST_SEASONS:
            _kept.popitem(last=False)
    return tuple(found[season] for season in sorted(marks) if season in found)


def _marks(connection: Ledger) -> dict[int, str]:
    return {
        row[0]: row[1] for row in connection.execute("SELECT season, mark FROM season_mark ORDER BY season")
    }


def _span(season: int) -> tuple[str, str]:
    """First and last day of a season, as text that days are compared with."""
    return f"{season:04d}-03-01", f"{season + 1:04d}-02-29"


def _read(connection: Ledger, first: str, last: str) -> tuple[SeasonVisits, ...]:
    """Visits of a span of days; a season of the same rows as before is the same object."""
    heads = connection.execute(
        "SELECT id, day, place_id, minutes, people, note FROM visit "
        "WHERE day BETWEEN ? AND ? ORDER BY day, id",
        (first, last),
    )
    rows: dict[int, tuple[list[_Row], list[_Row], list[_Row]]] = {}
    season_of: dict[str, int] = {}
    for head in map(tuple, heads):
        season_of[head[0]] = season = _season(head[1])
        rows.setdefault(season, ([], [], []))[0].append(head)
    for part, columns in ((1, _SEARCH), (2, _FIND)):
        # A span is looked up; an open one wants nearly all rows, and a join costs more than the rest.
        found = (
            connection.execute(columns + _IN_SPAN, (first, last)) if first else connection.execute(columns)
        )
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
