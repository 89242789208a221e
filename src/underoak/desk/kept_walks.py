"""Walks that were planned before, with their files."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from underoak.errors import UserMistake
from underoak.ledger.database import open_ledger
from underoak.ledger.recent import walk, walks
from underoak.settings import Home


@dataclass(frozen=True, slots=True)
class KeptWalk:
    """One planned walk. ``plan`` is a `underoak.desk.walk_plan.WalkPlan` as plain values."""

    id: str
    made_on: str
    for_day: str
    plan: dict[str, Any]


def kept_walks(home: Home, most: int = 12) -> tuple[KeptWalk, ...]:
    """The last planned walks, latest first."""
    connection = open_ledger(home.ledger)
    try:
        return tuple(_kept(row) for row in walks(connection, most))
    finally:
        connection.close()


def kept_walk(home: Home, answer_id: str) -> KeptWalk:
    """One planned walk; UserMistake where there is none of this id."""
    connection = open_ledger(home.ledger)
    try:
        row = walk(connection, answer_id)
    finally:
        connection.close()
    if row is None:
        raise UserMistake("there is no such walk", remedy="choose one from the list of walks")
    return _kept(row)


def walk_folder(home: Home, answer_id: str) -> Path:
    """Where the sheets of one planned walk lie."""
    return home.sheets / "walks" / answer_id


def _kept(row: tuple[str, str, str, str]) -> KeptWalk:
    return KeptWalk(row[0], row[1], row[2], json.loads(row[3]))
