"""Join another ledger into this one, by stable ids."""

from __future__ import annotations

import math
import sqlite3
from collections.abc import Iterable
from dataclasses import dataclass

from underoak.errors import BadData
from underoak.ledger.catalog import columns_and_key, defer_references, tables
from underoak.ledger.connection import Ledger
from underoak.ledger.database import writing
from underoak.ledger.merge_rules import NEVER_JOINED, OF_THE_HOUSE, Conflict, Content, RowJoiner
from underoak.ledger.places import lie_apart, places
from underoak.model.problem import Problem

#: Two spots of one name in one wood that are farther apart are two spots.
SAME_SPOT_M = 60.0
_SPOTS = "SELECT id, place_id, name, longitude_deg, latitude_deg FROM spot"
#: What must agree when two batches have the same number.
_SAY_DOCTOR = "look after the other ledger with 'underoak doctor'"
_BATCH = "SELECT id, method_id, made_on FROM batch"


@dataclass(frozen=True, slots=True)
class Merged:
    """How many rows came anew, how many were completed, by table, and what could not both stay."""

    new: dict[str, int]
    changed: dict[str, int]
    conflicts: tuple[Conflict, ...]


def merge(ours: Ledger, theirs: Ledger, *, with_house: bool = False) -> Merged:
    """Join everything of ``theirs`` into ``ours``, in one transaction; ``theirs`` is only read.

    Both have the newest schema. ``with_house`` also joins pantry and meals.

    Raises
    ------
    BadData   when one id means two things: woods or spots that lie apart, batches that are not the same, or
              verdicts that were tampered with. All are told; nothing is stored
    """
    try:
        with writing(ours):
            return _merged(ours, theirs, with_house=with_house)
    except sqlite3.IntegrityError as error:
        what = f"a record of the other ledger does not fit here: {error}"
        raise BadData([Problem(what, "ledger", "records this program wrote", _SAY_DOCTOR)]) from error


def _merged(ours: Ledger, theirs: Ledger, *, with_house: bool) -> Merged:
    """Ours is read and written in one transaction: what others store meanwhile comes after it."""
    names = joined_tables(ours, with_house=with_house)
    problems = [*_apart(ours, theirs), *(_other_batches(ours, theirs) if with_house else ())]
    joiners = {table: RowJoiner(table, *columns_and_key(ours, table)) for table in names}
    writes = {table: _joined_rows(ours, theirs, joiner, problems) for table, joiner in joiners.items()}
    if problems:
        raise BadData(problems)
    defer_references(ours)
    for table, (new, changed) in writes.items():
        _write(ours, joiners[table], (*new, *changed))
    return Merged(
        {table: len(new) for table, (new, _) in writes.items() if new},
        {table: len(changed) for table, (_, changed) in writes.items() if changed},
        tuple(conflict for joiner in joiners.values() for conflict in joiner.conflicts),
    )


def joined_tables(connection: Ledger, *, with_house: bool) -> list[str]:
    """The tables that are joined, by name."""
    left_out = NEVER_JOINED if with_house else NEVER_JOINED | OF_THE_HOUSE
    return [name for name in tables(connection) if name not in left_out]


def _rows(connection: Ledger, joiner: RowJoiner) -> dict[Content, Content]:
    columns = ", ".join(joiner.columns)
    order = ", ".join(joiner.key)
    rows = connection.execute(f"SELECT {columns} FROM {joiner.table} ORDER BY {order}")  # noqa: S608 - own schema
    return {joiner.key_of(tuple(row)): tuple(row) for row in rows}


def _joined_rows(
    ours: Ledger, theirs: Ledger, joiner: RowJoiner, problems: list[Problem]
) -> tuple[list[Content], list[Content]]:
    """Rows that are new here, and rows that become others."""
    mine = _rows(ours, joiner)
    new, changed = [], []
    for key, row in _rows(theirs, joiner).items():
        if key not in mine:
            new.append(row)
        elif row != mine[key] and joiner.fixed:
            what = f"{joiner.table} {key[0]} was changed in one of the ledgers; it can never be"
            problems.append(
                Problem(what, joiner.table, "the same record", "restore the ledger from a backup")
            )
        elif row != mine[key] and (joined := joiner.join(mine[key], row)) != mine[key]:
            changed.append(joined)
    return new, changed


def _write(connection: Ledger, joiner: RowJoiner, rows: Iterable[Content]) -> None:
    columns = ", ".join(joiner.columns)
    marks = ", ".join("?" * len(joiner.columns))
    others = [name for name in joiner.columns if name not in joiner.key]
    update = ", ".join(f"{name} = excluded.{name}" for name in others)
    action = f"UPDATE SET {update}" if others and not joiner.fixed else "NOTHING"
    connection.executemany(
        f"INSERT INTO {joiner.table} ({columns}) VALUES ({marks}) "  # noqa: S608 - own schema
        f"ON CONFLICT ({', '.join(joiner.key)}) DO {action}",
        rows,
    )


def _apart(ours: Ledger, theirs: Ledger) -> list[Problem]:
    """Woods and spots of one id that stand too far apart to be one, and spots of one name with two ids."""
    woods = {place.id: place for place in places(ours)}
    problems = [
        _two_things(f"the wood {place.name!r} lies elsewhere in the other ledger", place.name)
        for place in places(theirs)
        if place.id in woods and place.polygons and woods[place.id].polygons
        if lie_apart(place, woods[place.id])
    ]
    mine = {row[0]: row for row in ours.execute(_SPOTS)}
    names = {(row[1], row[2]): row[0] for row in mine.values()}
    for spot, place_id, name, lon, lat in theirs.execute(_SPOTS):
        own = mine.get(spot)
        if own is not None and (far := _metres(own[3], own[4], lon, lat)) > SAME_SPOT_M:
            words = f"the spot {name!r} stands {far:.0f} m apart in the two ledgers"
            problems.append(_two_things(words, place_id))
        if names.get((place_id, name), spot) != spot:
            problems.append(_two_things(f"the spot {name!r} has two ids", place_id))
    return problems


def _two_things(words: str, where: str) -> Problem:
    return Problem(words, where, "one thing for each name", "rename it in one ledger and load it again")


def _metres(lon: float, lat: float, lon2: float, lat2: float) -> float:
    return 111_195.0 * math.hypot((lon - lon2) * math.cos(math.radians(lat)), lat - lat2)


def _other_batches(ours: Ledger, theirs: Ledger) -> list[Problem]:
    """Batches of one id in two kitchens: from before there were tags, or of two homes copied from one."""
    mine = {batch: content for *content, batch in _with_lots(ours)}
    return [
        Problem(
            f"batch {batch} is another one in each ledger, and their jars carry the same codes",
            batch,
            "one batch for each code",
            "join them without --with-pantry",
        )
        for *content, batch in _with_lots(theirs)
        if batch in mine and mine[batch] != content
    ]


def _with_lots(connection: Ledger) -> list[tuple[str, str, str, str]]:
    return [
        (
            method,
            made_on,
            " ".join(
                lot
                for (lot,) in connection.execute(
                    "SELECT lot_id FROM any_batch_lot WHERE batch_id = ? ORDER BY lot_id", (batch,)
                )
            ),
            batch,
        )
        for batch, method, made_on in connection.execute(_BATCH)
    ]
