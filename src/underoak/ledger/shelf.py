"""The pantry without reading every jar: short lines of jars, sums by batch, and what batches are made of."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any, NamedTuple

from underoak.ledger.chosen import chosen
from underoak.ledger.connection import Ledger
from underoak.ledger.verdicts import IN_ORDER
from underoak.model.kitchen import VerdictState


class JarLine(NamedTuple):
    """As much of a jar as it takes to put it into its row; days are ISO text, for they are only compared."""

    code: str
    batch_id: str
    use_by: str | None
    net_g: float
    state: str


class JarGroup(NamedTuple):
    """So many jars still kept of one batch and use-by day (ISO text, None: never to be eaten), g net."""

    batch_id: str
    use_by: str | None
    units: int
    net_g: float


_FIRST_TO_USE = "ORDER BY use_by IS NULL, use_by, made_on, code"


def jar_lines(connection: Ledger, *, every: bool = False) -> list[JarLine]:
    """Lines of the jars still kept, or of every jar ever filled; the ones to use first at the front."""
    which = "" if every else "WHERE state = 'kept'"
    rows = connection.execute(
        f"SELECT code, batch_id, use_by, net_g, state FROM jar {which} {_FIRST_TO_USE}"  # noqa: S608
    )
    return [JarLine(*row) for row in rows]


def kept_groups(connection: Ledger) -> list[JarGroup]:
    """The jars still kept, counted and weighed by batch and use-by day."""
    rows = connection.execute(
        "SELECT batch_id, use_by, count(*), sum(net_g) FROM jar WHERE state = 'kept' "
        "GROUP BY batch_id, use_by"
    )
    return [JarGroup(*row) for row in rows]


def kept_batches(connection: Ledger) -> set[str]:
    """Ids of the batches of which a jar is still kept."""
    return {row[0] for row in connection.execute("SELECT DISTINCT batch_id FROM jar WHERE state = 'kept'")}


def jar_count(connection: Ledger) -> int:
    """How many jars were ever filled."""
    return int(connection.execute("SELECT count(*) FROM jar").fetchone()[0])


def codes_with_day(connection: Ledger, first: int, most: int) -> list[str]:
    """Codes of a part of the kept jars that have a use-by day, the ones to use first at the front."""
    return _codes(
        connection, "WHERE state = 'kept' AND use_by IS NOT NULL ORDER BY use_by, made_on, code", first, most
    )


def codes_without_day(connection: Ledger, first: int, most: int) -> list[str]:
    """Codes of a part of the kept jars that have no use-by day."""
    return _codes(connection, "WHERE state = 'kept' AND use_by IS NULL ORDER BY made_on, code", first, most)


def codes_ever(connection: Ledger, first: int, most: int) -> list[str]:
    """Codes of a part of all jars ever filled, in the order of the shelf."""
    return _codes(connection, _FIRST_TO_USE, first, most)


def _codes(connection: Ledger, which: str, first: int, most: int) -> list[str]:
    rows = connection.execute(f"SELECT code FROM jar {which} LIMIT ? OFFSET ?", (most, first))  # noqa: S608
    return [row[0] for row in rows]


def due_codes(connection: Ledger, since: str, until: str) -> list[tuple[str, str]]:
    """Code and batch of kept jars to be used from one day to another (ISO text), the first in front."""
    rows = connection.execute(
        "SELECT code, batch_id FROM jar WHERE state = 'kept' AND use_by BETWEEN ? AND ? "
        "ORDER BY use_by, made_on, code",
        (since, until),
    )
    return [(row[0], row[1]) for row in rows]


def coming_use_by(connection: Ledger, today: date) -> list[tuple[date, str]]:
    """Day and code of the kept jars whose use-by day is still to come, by day and code."""
    rows = connection.execute(
        "SELECT use_by, code FROM jar WHERE state = 'kept' AND use_by >= ? ORDER BY use_by, code",
        (today.isoformat(),),
    )
    return [(date.fromisoformat(row[0]), row[1]) for row in rows]


def codes_of_batches(connection: Ledger, batch_ids: Iterable[str]) -> list[str]:
    """Codes of the kept jars of these batches."""
    rows = chosen(connection, "SELECT code FROM jar WHERE state = 'kept' AND batch_id IN (…)", batch_ids)
    return sorted(row[0] for row in rows)


def thrown_jars(connection: Ledger) -> list[tuple[str, date | None, float, str]]:
    """Code, day, net grams and reason of jars that were thrown away, in the order of the shelf."""
    rows = connection.execute(
        f"SELECT code, state_on, net_g, state_note FROM jar WHERE state = 'thrown' {_FIRST_TO_USE}"  # noqa: S608
    )
    return [(row[0], date.fromisoformat(row[1]) if row[1] else None, row[2], row[3]) for row in rows]


def batches_with_thrown(connection: Ledger) -> set[str]:
    """Ids of the batches of which a jar was thrown away."""
    return {row[0] for row in connection.execute("SELECT DISTINCT batch_id FROM jar WHERE state = 'thrown'")}


def opened_batches(connection: Ledger, since: date, until: date) -> list[tuple[str, date]]:
    """Batches and the days of a time on which a jar of them was opened to eat."""
    rows = connection.execute(
        "SELECT DISTINCT batch_id, state_on FROM jar WHERE state = 'eaten' AND state_on BETWEEN ? AND ? "
        "ORDER BY state_on, batch_id",
        (since.isoformat(), until.isoformat()),
    )
    return [(row[0], date.fromisoformat(row[1])) for row in rows]


def cooked_fresh(connection: Ledger, since: date, until: date) -> list[tuple[str, date]]:
    """Batches that were cooked to be eaten at once in a time, and their day."""
    rows = connection.execute(
        "SELECT id, made_on FROM batch WHERE method_id = 'cook_tonight' AND made_on BETWEEN ? AND ? "
        "ORDER BY made_on, id",
        (since.isoformat(), until.isoformat()),
    )
    return [(row[0], date.fromisoformat(row[1])) for row in rows]


@dataclass(frozen=True, slots=True)
class BatchNet:
    """What the jars of a batch hold, g net: filled, and still kept."""

    filled_g: float
    kept_g: float


def net_of_batches(connection: Ledger) -> dict[str, BatchNet]:
    """Net grams of every batch that filled a jar."""
    rows = connection.execute(
        "SELECT batch_id, sum(net_g), sum(CASE state WHEN 'kept' THEN net_g ELSE 0.0 END) "
        "FROM jar GROUP BY batch_id"
    )
    return {row[0]: BatchNet(row[1], row[2]) for row in rows}


def lot_taxa(connection: Ledger) -> dict[str, str]:
    """Taxon id of every lot that came from a find, by the lot's id."""
    return {row[0]: row[1] for row in connection.execute("SELECT id, taxon_id FROM lot")}


def lots_of_finds(connection: Ledger, find_ids: Iterable[str]) -> dict[str, str]:
    """Lots made of these finds: find id by lot id."""
    rows = chosen(connection, "SELECT id, find_id FROM lot WHERE find_id IN (…) ORDER BY id", find_ids)
    return {row[0]: row[1] for row in rows}


@dataclass(frozen=True, slots=True)
class BatchMade:
    """A batch with the lots it took: (taxon id, find id or "") each, by lot id."""

    id: str
    method_id: str
    made_on: date
    against_advice: bool
    lots: tuple[tuple[str, str], ...]


def batches_made_of(connection: Ledger, ids: Iterable[str] | None = None) -> dict[str, BatchMade]:
    """Batches by id with what they were made of; all of them, or those of these ids."""
    parts = "SELECT batch_id, taxon_id, find_id FROM any_batch_lot JOIN any_lot ON any_lot.id = lot_id "
    heads = "SELECT id, method_id, made_on, against_advice FROM batch"
    by_lot = "ORDER BY batch_id, lot_id"
    taken: Iterable[Any]
    rows: Iterable[Any]
    if ids is None:
        taken, rows = connection.execute(parts + by_lot), connection.execute(heads)
    else:
        wanted = set(ids)
        taken = chosen(connection, f"{parts} WHERE batch_id IN (…) {by_lot}", wanted)
        rows = chosen(connection, f"{heads} WHERE id IN (…)", wanted)
    lots: dict[str, list[tuple[str, str]]] = {}
    for row in taken:
        lots.setdefault(row[0], []).append((row[1], row[2] or ""))
    return {
        row[0]: BatchMade(
            row[0], row[1], date.fromisoformat(row[2]), row[3] != "[]", tuple(lots.get(row[0], ()))
        )
        for row in rows
    }


def last_states(connection: Ledger, find_ids: Iterable[str]) -> dict[str, VerdictState]:
    """State of the last verdict on each of these finds; finds that were never vetted are missing."""
    rows = chosen(
        connection,
        f"SELECT find_id, state FROM verdict WHERE find_id IN (…) ORDER BY {IN_ORDER}",  # noqa: S608
        find_ids,
    )
    return {row[0]: row[1] for row in rows}
