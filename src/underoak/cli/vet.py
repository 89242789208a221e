"""``vet``: what a find may be, and what is not yet ruled out."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator, Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from underoak.cli.output import day_or_clock, home_option, json_option, show, today_option
from underoak.errors import UserMistake
from underoak.sheets.wording import NEVER_EATEN

if TYPE_CHECKING:
    from underoak.desk.list_finds import ListedVisit
    from underoak.model.quantities import Units
    from underoak.model.vetting import Candidate, Observations, Verdict


@click.command()
@click.argument("find", required=False)
@home_option
@click.option(
    "--observations",
    type=click.Path(path_type=Path),
    default=None,
    metavar="FILE",
    help="What was looked at and seen, as JSON; without it the questions are asked here.",
)
@click.option(
    "--list", "listed", is_flag=True, help="List the finds of the last days out and how each stands."
)
@click.option("--schema", is_flag=True, help="Print the JSON schema of the observation document.")
@click.option("--characters", is_flag=True, help="List what can be looked at, and every state.")
@today_option
@json_option
def vet(
    find: str | None,
    home: Path,
    *,
    observations: Path | None,
    listed: bool,
    schema: bool,
    characters: bool,
    today: date | None,
    as_json: bool,
) -> None:
    """Vet a find of your home, or a document of observations by itself.

    The answer is refused, open or consistent. Consistent only means that nothing in the book
    contradicts; a person who knows must still confirm it.
    """
    from underoak.desk import vet_find as desk

    if schema:
        click.echo(json.dumps(desk.schema(), indent=1))
        return
    if characters:
        _list_characters(as_json)
        return
    if listed:
        from underoak.desk.list_finds import list_finds
        from underoak.settings import load_home

        place = load_home(home)
        days = list_finds(place, today=day_or_clock(today))
        show(days, _find_lines(days, place.settings.units), as_json=as_json)
        return
    if find is None and observations is None and not sys.stdin.isatty():
        raise UserMistake(
            "nothing to vet",
            expected="a find of your home, or --observations FILE",
            remedy="'underoak vet --list' names the finds, 'underoak vet --schema' shows the form",
        )
    document = _document(find, home, observations)
    if find is None:
        verdict = desk.vet_document(document)
        show(verdict, lines(verdict), as_json=as_json)
        return
    from underoak.settings import load_home

    vetted = desk.vet_find(load_home(home), find, document, today=day_or_clock(today))
    show(vetted, lines(vetted.verdict), as_json=as_json)


def _document(find: str | None, home: Path, observations: Path | None) -> Observations:
    from underoak.desk import vet_find as desk

    if observations is not None:
        return desk.read_observations(observations)
    if not sys.stdin.isatty():
        raise UserMistake(
            "the questions can only be asked on a terminal", remedy="give --observations FILE instead"
        )
    from underoak.cli.vet_talk import ask

    if find is None:
        return ask(None)
    from underoak.settings import load_home

    return ask(desk.find_of(load_home(home), find))


def _list_characters(as_json: bool) -> None:
    from underoak.book.load import load_book

    book = load_book()
    told = [
        f"{name}: {c.question}\n    " + "\n    ".join(f"{k}: {v}" for k, v in c.states.items())
        if c.states
        else f"{name}: {c.question} ({c.unit})"
        for name, c in book.characters.items()
    ]
    show(dict(book.characters), told, as_json=as_json)


def _find_lines(days: Sequence[ListedVisit], units: Units) -> Iterator[str]:
    from underoak.model.quantities import weight

    for day in days:
        yield f"{day.visit.day:%a} {day.visit.day}, {day.place}" + ("" if day.finds else ": no finds")
        for one in day.finds:
            fresh = f", {weight(one.find.fresh_g, units)}" if one.find.fresh_g else ""
            yield f"  {one.state:<11} {one.kind}, {one.spot}{fresh}  {one.find.id}"
    if not days:
        yield "No day out is on record: write one down with 'underoak visit'."


def lines(verdict: Verdict) -> Iterator[str]:
    """The verdict for a screen: state first, then why, what is not ruled out, and what to do next."""
    yield f"{verdict.scientific_name or 'No name'}: {verdict.words}"
    if verdict.confirmed_by:
        yield f"Confirmed by {verdict.confirmed_by} on {verdict.confirmed_on}."
    for state, head in (("refused", "Why it is refused:"), ("open", "What keeps it open:")):
        reasons = [r for r in verdict.reasons if r.state == state]
        if reasons:
            yield head
            yield from (f"  - {r.words}{_home(r.at_home)}" for r in reasons[:12])
            if len(reasons) > 12:
                yield f"  … and {len(reasons) - 12} more; --json shows all."
    yield from _next(verdict)
    yield from _doubles(verdict)
    likely = [_candidate(c) for c in verdict.candidates[:4] if c.share >= 0.01]
    if likely:
        yield "Goes best with (ranks only, decides nothing): " + ", ".join(likely)
    if verdict.state in ("consistent", "confirmed"):
        yield from (f"Caution: {words}" for words in verdict.cautions)
    if verdict.reviewed:
        yield verdict.reviewed
    yield NEVER_EATEN


def _candidate(candidate: Candidate) -> str:
    from underoak.book.load import load_book
    from underoak.model.quantities import percent

    taxon = load_book().taxa.get(candidate.taxon_id or "")
    return f"{taxon.called if taxon else candidate.scientific_name} {percent(candidate.share)}"


def _home(at_home: bool | None) -> str:
    if at_home is None:
        return ""
    return " (can be settled at home)" if at_home else " (only in the woods)"


def _next(verdict: Verdict) -> Iterator[str]:
    if verdict.next_checks:
        yield "Look at this next:"
    for check in verdict.next_checks[:3]:
        settles = f"; speaks to {', '.join(check.settles[:3])}" if check.settles else ""
        yield f"  - {check.question} ({check.minutes:g} min{settles})"
        yield f"    {check.how}"


def _doubles(verdict: Verdict) -> Iterator[str]:
    closed = {d.taxon_id for b in verdict.bodies for d in b.doubles if d.excluded}
    still = {d.taxon_id: d for b in verdict.bodies for d in b.doubles if not d.excluded}
    closed -= set(still)
    if closed:
        yield f"Dangerous kinds ruled out on every body: {len(closed)}; not ruled out: {len(still)}."
