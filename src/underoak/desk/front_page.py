"""What the front page shows: the week, or why there is none."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from underoak.desk.this_week import Week, outlook_of
from underoak.errors import NoAnswer

if TYPE_CHECKING:
    from underoak.settings import Home


@dataclass(frozen=True, slots=True)
class FrontPage:
    """The week, or why there is none."""

    week: Week | None
    why_no_week: str


def front_page(home: Home, today: date) -> FrontPage:
    """The front page as it stands on ``today``; nothing is stored by looking."""
    try:
        return FrontPage(outlook_of(home, today=today), "")
    except NoAnswer as error:
        return FrontPage(None, error.problem.sentence())
