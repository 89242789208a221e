"""A haul written down in a table or as JSON: lots that did not come through the ledger."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable, Mapping
from datetime import datetime
from pathlib import Path
from typing import Any, cast, get_args

from underoak.errors import UserMistake
from underoak.intake.reading import Reading, read_text
from underoak.intake.table import read_table
from underoak.model.kitchen import Dirt, Keeping, Lot, VerdictState
from underoak.model.problem import Problem

#: Columns of a haul; the first three are needed.
COLUMNS = ("lot", "taxon", "fresh_g", "picked_at", "state", "dirt", "cultivated", "hours", "temperature_c")
_EXPECTED = "a table with the columns " + ", ".join(COLUMNS) + ", or a JSON list of such records"


def read_haul(path: Path, *, taxon_id: Callable[[str], str], now: datetime) -> Reading[tuple[Lot, ...]]:
    """Lots of a CSV or JSON haul with every problem, each with its line or place in the list.

    Parameters
    ----------
    taxon_id : finds the book's id for a name, raises UserMistake for none
    now : local time; where ``picked_at`` is missing the lot counts as picked at nine that morning

    **Fails towards** not food: without a state a lot is not vetted, and ``cultivated`` has to say "yes".
    """
    records, problems = _json_records(path) if path.suffix.lower() == ".json" else _table_records(path)
    lots: list[Lot] = []
    for where, record in records:
        lot, faults = _lot(record, where, taxon_id, now)
        problems += faults
        if lot is not None:
            lots.append(lot)
    ids = Counter(lot.id for lot in lots)
    problems += [
        Problem(f"lot {i} is there twice", path.name, "each once") for i in sorted(ids) if ids[i] > 1
    ]
    total_kg = sum(lot.fresh_g for lot in lots) / 1000.0
    return Reading(tuple(lots), tuple(problems), (f"{len(lots)} lots, {total_kg:.1f} kg",))


_Records = list[tuple[str, Mapping[str, Any]]]


def _json_records(path: Path) -> tuple[_Records, list[Problem]]:
    text = read_text(path, expected=_EXPECTED, long_lines=True)
    try:
        document = json.loads(text)
    except json.JSONDecodeError as error:
        return [], [Problem(error.msg, f"{path.name}, line {error.lineno}", "JSON")]
    except (ValueError, RecursionError):
        return [], [Problem("the JSON is nested too deeply or holds a number too long", path.name, "JSON")]
    if not isinstance(document, list) or not all(isinstance(r, dict) for r in document):
        return [], [Problem("it is no list of records", path.name, _EXPECTED)]
    return [(f"{path.name}, record {n}", record) for n, record in enumerate(document, 1)], []


def _table_records(path: Path) -> tuple[_Records, list[Problem]]:
    table = read_table(path, expected=_EXPECTED)
    problems = list(table.problems)
    missing = [c for c in COLUMNS[:3] if c not in table.headers]
    problems += [Problem(f"there is no column {c}", path.name, _EXPECTED) for c in missing]
    if missing:
        return [], problems
    return [(row.where, {c: row.text(c) for c in table.headers}) for row in table.rows], problems


def _lot(
    record: Mapping[str, Any], where: str, taxon_id: Callable[[str], str], now: datetime
) -> tuple[Lot | None, list[Problem]]:
    problems = [
        Problem(f"unknown field {name!r}", where, ", ".join(COLUMNS))
        for name in record
        if name not in COLUMNS
    ]
    fields = _Fields(record, where, problems)
    morning = now.replace(hour=9, minute=0, second=0, microsecond=0)
    lot = Lot(
        id=fields.name("lot"),
        taxon_id=fields.taxon(taxon_id),
        state=cast("VerdictState | None", fields.word("state", get_args(VerdictState)) or None),
        fresh_g=fields.number("fresh_g", 0.1, 100_000.0) or 0.0,
        picked_at=fields.moment("picked_at", min(morning, now)),
        kept=_kept(fields),
        dirt=cast("Dirt", fields.word("dirt", get_args(Dirt)) or "some"),
        cultivated=fields.yes("cultivated"),
    )
    return (None if problems else lot), problems


def _kept(fields: _Fields) -> tuple[Keeping, ...]:
    hours = fields.number("hours", 0.0, 1000.0, needed=False)
    temperature = fields.number(
        "temperature_c", -30.0, 45.0, needed=False, remedy="if it is in °F, convert it"
    )
    if hours is None or temperature is None:
        return ()
    return (Keeping(hours, temperature),)


class _Fields:
    """Fields of one record, each read with its problem noted."""

    def __init__(self, record: Mapping[str, Any], where: str, problems: list[Problem]) -> None:
        self.record, self.where, self.problems = record, where, problems

    def number(
        self, name: str, low: float, high: float, *, needed: bool = True, remedy: str = ""
    ) -> float | None:
        raw = self.record.get(name)
        if raw is None or raw == "":
            if needed:
                self.problems.append(Problem("nothing", f"{self.where}, {name}", f"{low:g} to {high:g}"))
            return None
        try:
            value = float(raw)
        except (TypeError, ValueError, OverflowError):
            value = float("nan")
        if not low <= value <= high:
            self.problems.append(Problem(f"{raw!r}", f"{self.where}, {name}", f"{low:g} to {high:g}", remedy))
            return None
        return value

    def name(self, name: str) -> str:
        value = str(self.record.get(name) or "").strip()
        if not value:
            self.problems.append(Problem("the lot has no name", f"{self.where}, {name}", "a short name"))
        return value

    def taxon(self, taxon_id: Callable[[str], str]) -> str:
        try:
            return taxon_id(str(self.record.get("taxon") or ""))
        except UserMistake as error:
            told = error.problem
            self.problems.append(Problem(told.what, f"{self.where}, taxon", told.expected, told.remedy))
            return ""

    def yes(self, name: str) -> bool:
        value = self.record.get(name)
        if isinstance(value, bool):
            return value
        return self.word(name, ("yes", "no")) == "yes"

    def word(self, name: str, allowed: tuple[str, ...]) -> str:
        value = str(self.record.get(name) or "").strip()
        if value and value not in allowed:
            words = ", ".join(allowed)
            self.problems.append(
                Problem(f"{value!r}", f"{self.where}, {name}", f"one of {words}, or nothing")
            )
        return value

    def moment(self, name: str, default: datetime) -> datetime:
        value = str(self.record.get(name) or "").strip()
        if not value:
            return default
        try:
            moment = datetime.fromisoformat(value)
        except ValueError:
            moment = None
        if moment is None or moment.tzinfo is not None:
            self.problems.append(
                Problem(
                    f"{value!r}", f"{self.where}, {name}", "local time as YYYY-MM-DD HH:MM, without a zone"
                )
            )
            return default
        return moment
