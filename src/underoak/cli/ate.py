"""``ate``: who ate what, first tastes and reactions."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from underoak.cli.output import home_option, json_option, show
from underoak.errors import UserMistake

if TYPE_CHECKING:
    from underoak.desk.record_meal import MealAnswer
    from underoak.ledger.servings import Serving


@click.command()
@home_option
@click.argument("what", nargs=-1)
@click.option("--person", "people", multiple=True, metavar="NAME", help="Who ate of it.")
@click.option("--at", "moment", default=None, metavar="YYYY-MM-DDTHH:MM", help="When; now by default.")
@click.option("--grams", type=float, default=None, help="Grams for each person.")
@click.option("--reaction", default="", help="What somebody felt after the serving WHAT.")
@click.option("--note", default="")
@click.option("--now", "clock", default=None, metavar="YYYY-MM-DDTHH:MM", help="The clock's by default.")
@json_option
def ate(
    home: Path,
    *,
    what: tuple[str, ...],
    people: tuple[str, ...],
    moment: str | None,
    grams: float | None,
    reaction: str,
    note: str,
    clock: str | None,
    as_json: bool,
) -> None:
    """Write down who ate WHAT: a jar's code, 'batch ID', or a kind by name. Without WHAT, list the meals.

    If anybody feels ill: underoak ill.
    """
    from underoak.desk.record_meal import MealNote, meals_of, record_meal, record_reaction
    from underoak.settings import load_home

    place = load_home(home)
    now = _moment(clock, "--now") or datetime.now().replace(second=0, microsecond=0)  # noqa: DTZ005 - local
    at = _moment(moment, "--at") or now
    name = " ".join(what)
    if reaction:
        noted = record_reaction(place, name, reaction, at)
        show(noted, [_serving_line(noted), "If it is more than slight: underoak ill"], as_json=as_json)
    elif not what:
        meals = meals_of(place)
        show(meals, [_serving_line(one) for one in meals] or ["No meal is written down."], as_json=as_json)
    else:
        jar = name if name[:1].isdigit() else None
        batch = what[1] if what[0] == "batch" and len(what) == 2 else None
        taxon = None if jar or batch else name
        told = MealNote(at=at, people=people, jar=jar, batch=batch, taxon=taxon, grams=grams, note=note)
        answer = record_meal(place, told, now=now)
        show(answer, _meal_lines(answer), as_json=as_json)


def _meal_lines(answer: MealAnswer) -> Iterator[str]:
    yield from (_serving_line(one) for one in answer.servings)
    yield from answer.first_tastes
    yield from (f"Caution: {words}" for words in answer.cautions)
    yield "If anybody feels ill: underoak ill"


def _serving_line(one: Serving) -> str:
    from underoak.book.load import load_book

    kind = load_book().common_name(one.taxon_id)
    of = f" (jar {one.jar_id})" if one.jar_id else f" (batch {one.batch_id})" if one.batch_id else ""
    first = ", first taste" if one.first_taste else ""
    felt = f": {one.reaction}" if one.reaction else ""
    return f"{one.id}  {one.eaten_at:%Y-%m-%d %H:%M}  {one.person}, {kind}{of}{first}{felt}"


def _moment(text: str | None, where: str) -> datetime | None:
    if text is None:
        return None
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        moment = None
    if moment is None or moment.tzinfo is not None:
        raise UserMistake(f"{text!r} is no local time", where=where, expected="YYYY-MM-DDTHH:MM")
    return moment
