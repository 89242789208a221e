"""Use-by days and planned walks as a calendar for the household's own telephones."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from itertools import groupby
from pathlib import Path

from underoak.errors import NoAnswer, UserMistake
from underoak.export.icalendar import Day, calendar_text
from underoak.export.whole_file import write_whole
from underoak.ledger.connection import Ledger
from underoak.ledger.database import open_ledger
from underoak.ledger.shelf import coming_use_by
from underoak.model.quantities import counted
from underoak.settings import Home
from underoak.sheets.wording import EATING_CAUTIONS


def write_calendar(home: Home, path: Path, *, today: date, replace: bool = False) -> tuple[Day, ...]:
    """Write coming use-by days of kept jars and coming walk days; hands back what was written.

    A calendar is often kept by somebody else's computer, so it names no place, spot or person.

    Raises
    ------
    UserMistake   when the file exists and ``replace`` is false
    NoAnswer      when nothing lies ahead
    """
    if path.exists() and not replace:
        raise UserMistake(f"{path} exists", remedy="choose another name, or say --replace")
    connection = open_ledger(home.ledger)
    try:
        days = (*_use_by(connection, today), *_walks(connection, today))
    finally:
        connection.close()
    if not days:
        raise NoAnswer("no use-by day and no planned walk lies ahead", remedy="plan a walk, or fill a jar")
    write_whole(path, calendar_text(days, today).encode())
    return tuple(sorted(days, key=lambda day: (day.on, day.uid)))


def _use_by(connection: Ledger, today: date) -> Iterator[Day]:
    for use_by, group in groupby(coming_use_by(connection, today), key=lambda due: due[0]):
        codes = [code for _, code in group]
        words = f"Jars: {', '.join(codes)}.\n" + "\n".join(EATING_CAUTIONS)
        title = f"Last day to use: {counted(len(codes), 'jar')}"
        yield Day(f"use-by-{use_by}@underoak", use_by, title, words)


def _walks(connection: Ledger, today: date) -> Iterator[Day]:
    rows = connection.execute(
        "SELECT DISTINCT for_day FROM answer WHERE kind = 'walk' AND for_day >= ? ORDER BY for_day",
        (today.isoformat(),),
    )
    for (text,) in rows:
        day = date.fromisoformat(text)
        words = "Take the sheet of the walk along, and leave one with somebody at home."
        yield Day(f"walk-{day}@underoak", day, "Walk planned", words)
