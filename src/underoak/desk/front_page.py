"""What the front page shows: the week, and the jars that stand in the pantry."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from underoak.desk.this_week import Week, outlook_of
from underoak.errors import NoAnswer
from underoak.ledger.database import open_ledger
from underoak.ledger.pantry import jars
from underoak.model.kitchen import Jar
from underoak.sheets.wording import EATING_CAUTIONS

if TYPE_CHECKING:
    from underoak.settings import Home


@dataclass(frozen=True, slots=True)
class FrontPage:
    """The week, or why there is none; the jars kept, the ones to use first at the front."""

    week: Week | None
    why_no_week: str
    jars: tuple[Jar, ...]
    cautions: tuple[str, ...]


def front_page(home: Home, today: date) -> FrontPage:
    """The front page as it stands on ``today``; nothing is stored by looking."""
    try:
        week, why = outlook_of(home, today=today), ""
    except NoAnswer as error:
        week, why = None, error.problem.sentence()
    connection = open_ledger(home.ledger)
    try:
        kept = tuple(jar for jar in jars(connection) if jar.state == "kept")
    finally:
        connection.close()
    return FrontPage(week, why, kept, EATING_CAUTIONS)
