"""The briefing of the party that walks, and vetting sheets to take along."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from underoak.errors import NoAnswer, UserMistake

if TYPE_CHECKING:
    from underoak.desk.walk_plan import PlannedWalk
    from underoak.settings import Home


def write_briefing(
    home: Home, walk: PlannedWalk, folder: Path, *, paper: str, today: date, checks: Sequence[str] = ()
) -> Path:
    """Write ``briefing-DAY-PLACE.pdf`` for a planned walk: the three kinds that the week promises most.

    ``checks`` names who looks at every find; without it a blank is left to fill in by hand.
    """
    from underoak.book.load import load_book
    from underoak.sheets.briefing import MOST_TARGETS, briefing_pdf
    from underoak.sheets.pack.cards import cards

    plan = walk.plan
    children = {person.name: person.child for person in home.settings.people}
    targets = _most_promising(home, plan.place, today)[:MOST_TARGETS] if plan.gathering else []
    text = briefing_pdf(
        place=plan.place,
        day=f"{plan.day:%A} {plan.day.day} {plan.day:%B %Y}",
        turn_back=f"{plan.turn_back_at:%H:%M}",
        meeting=plan.car_park,
        party=[(name, children.get(name, False)) for name in plan.party],
        checks=checks,
        cards=cards(load_book(), targets),
        poison_help=home.settings.poison_help,
        paper=paper,
    )
    return _written(folder / f"briefing-{plan.day}-{_slug(plan.place)}.pdf", text)


def _most_promising(home: Home, place: str, today: date) -> list[str]:
    """Ids of the kinds of the week, the most promising first; without an outlook none."""
    from underoak.desk.this_week import outlook_of

    try:
        return list(dict.fromkeys(row.taxon_id for row in outlook_of(home, today=today, place=place).woods))
    except NoAnswer:
        return []


def write_vetting_sheet(home: Home, name: str, folder: Path, *, paper: str) -> Path:
    """Write ``vetting-NAME.pdf`` for one kind that the book gathers; UserMistake for any other name."""
    from underoak.book.load import load_book
    from underoak.sheets.vetting_sheet import vetting_sheet_pdf

    book = load_book()
    taxon = book.find(name)
    if not taxon.gathered:
        raise UserMistake(
            f"{taxon.scientific_name} is not among the kinds this book lets anyone gather",
            remedy="leave it; 'underoak book' tells about it",
        )
    text = vetting_sheet_pdf(book, taxon, poison_help=home.settings.poison_help, paper=paper)
    return _written(folder / f"vetting-{taxon.id.replace('_', '-')}.pdf", text)


def _written(path: Path, text: bytes) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(text)
    return path


def _slug(name: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", name.casefold()).strip("-") or "walk"
