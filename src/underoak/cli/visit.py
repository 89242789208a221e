"""``visit``: write down a day out."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from underoak.cli.output import Day, day_or_clock, home_option, json_option, show, today_option
from underoak.errors import UserMistake

if TYPE_CHECKING:
    from underoak.desk.record_visit import FindNote


@click.command()
@home_option
@click.option("--place", required=True, help="The place, as it is called in your places.")
@click.option("--day", type=Day(), default=None, metavar="YYYY-MM-DD", help="The day out; today by default.")
@click.option("--minutes", type=float, default=None, help="How long you searched.")
@click.option("--person", "people", multiple=True, help="Who came along.")
@click.option(
    "--searched", multiple=True, metavar="SPOT[=HOW]", help="A spot looked at; HOW is 0 to 1, 0.6 by default."
)
@click.option(
    "--find",
    "finds",
    multiple=True,
    metavar="SPOT,TAXON,STAGE[,GRAMS[,NOTE]]",
    help="What stood there; STAGE is young, prime or past. A NOTE such as 'side: NE; shade: deep; "
    "colour: brown; age: young' is read by the review; shade is open, half or deep.",
)
@click.option("--note", default="", help="Anything worth keeping.")
@today_option
@json_option
def visit(
    home: Path,
    *,
    place: str,
    day: date | None,
    minutes: float | None,
    people: tuple[str, ...],
    searched: tuple[str, ...],
    finds: tuple[str, ...],
    note: str,
    today: date | None,
    as_json: bool,
) -> None:
    """Write down a day out. A visit that found nothing is worth as much: name the spots you looked at."""
    from underoak.desk.record_visit import VisitNote, record_visit
    from underoak.settings import load_home

    now = day_or_clock(today)
    written = VisitNote(
        day=day or now,
        place=place,
        searched=[_searched(text) for text in searched],
        finds=[_find(text) for text in finds],
        minutes=minutes,
        people=people,
        note=note,
    )
    stored = record_visit(load_home(home), written, today=now)
    lines = [f"Written down: {stored.day}, {place}, {len(stored.searches)} spots searched."]
    lines += [f"  {find.id}  {find.taxon_id}, {find.stage}, {find.fresh_g or '?'} g" for find in stored.finds]
    if stored.finds:
        lines.append("Next: 'underoak vet FIND' for each of them, before anything goes into the kitchen.")
    else:
        lines.append("Nothing found; that counts: the outlook for these spots takes it in.")
    show(stored, lines, as_json=as_json)


def _searched(text: str) -> tuple[str, float]:
    from underoak.desk.record_visit import USUAL_THOROUGHNESS

    spot, mark, how = text.rpartition("=")
    if not mark:
        return text, USUAL_THOROUGHNESS
    try:
        return spot, float(how)
    except ValueError:
        raise UserMistake(f"{text!r} says no thoroughness", expected="SPOT=0.6, from 0 to 1") from None


def _find(text: str) -> FindNote:
    from underoak.desk.record_visit import FindNote

    parts = [part.strip() for part in text.split(",", 4)]
    expected = "SPOT,TAXON,STAGE or SPOT,TAXON,STAGE,GRAMS or SPOT,TAXON,STAGE,GRAMS,NOTE"
    if len(parts) < 3:
        raise UserMistake(f"{text!r} is no find", expected=expected)
    spot, taxon, stage, grams, note = [*parts, "", ""][:5]
    if stage not in ("young", "prime", "past"):
        raise UserMistake(f"{stage!r} is no stage", expected="young, prime or past")
    try:
        fresh_g = float(grams) if grams else None
    except ValueError:
        raise UserMistake(f"{grams!r} is no weight", expected=expected) from None
    return FindNote(spot, taxon, stage, fresh_g, note=note)  # type: ignore[arg-type]
