"""``ill``: somebody feels ill; the page for the poison centre."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from underoak.cli.output import home_option, json_option, show
from underoak.errors import UserMistake

if TYPE_CHECKING:
    from underoak.desk.feel_ill import Incident


@click.command()
@home_option
@click.option("--who", default="somebody of the household", show_default=True)
@click.option("--since", default=None, metavar="YYYY-MM-DDTHH:MM", help="When the first symptom began.")
@click.option("--symptoms", default="", help="What it feels like, in a few words.")
@click.option(
    "--ate", multiple=True, metavar="WHAT@YYYY-MM-DDTHH:MM", help="A meal that is not in the ledger."
)
@click.option("--alcohol", default=None, metavar="YYYY-MM-DDTHH:MM", help="When alcohol was drunk.")
@click.option("--now", "clock", default=None, metavar="YYYY-MM-DDTHH:MM", help="The clock's by default.")
@click.option("--paper", type=click.Choice(["a4", "us-letter"]), default="a4", show_default=True)
@json_option
def ill(
    home: Path,
    *,
    who: str,
    since: str | None,
    symptoms: str,
    ate: tuple[str, ...],
    alcohol: str | None,
    clock: str | None,
    paper: str,
    as_json: bool,
) -> None:
    """Somebody is ill. Call the poison centre first; this writes the page to have at hand while you speak."""
    from underoak.desk.feel_ill import IllNote, feel_ill

    now = _moment(clock, "--now") or datetime.now().replace(second=0, microsecond=0)  # noqa: DTZ005 - local
    note = IllNote(
        who=who,
        now=now,
        began_at=_moment(since, "--since"),
        symptoms=symptoms,
        ate=[_meal(text) for text in ate],
        alcohol_at=_moment(alcohol, "--alcohol"),
    )
    answer = feel_ill(home, note, paper=paper)
    show(answer, _lines(answer), as_json=as_json)


def _lines(found: Incident) -> Iterator[str]:
    from underoak.sheets.incident import began_words, incident_parts

    yield found.first_sentence
    yield from (f"Caution: {words}" for words in found.warnings)
    yield ""
    felt = found.symptoms or "symptoms not written down"
    yield f"{found.who}: {felt}, first symptom {began_words(found)}"
    for heading, lines in incident_parts(found):
        yield heading
        yield from (f"  {line}" for line in lines)
    yield from (f"Note: {words}" for words in found.notes)
    yield from (f"Written: {path}" for path in found.files)


def _meal(text: str) -> tuple[str, datetime]:
    what, _, moment = text.rpartition("@")
    if not what:
        raise UserMistake(f"{text!r} is no meal", where="--ate", expected="WHAT@YYYY-MM-DDTHH:MM")
    return what, _moment_of(moment, "--ate")


def _moment(text: str | None, where: str) -> datetime | None:
    return None if text is None else _moment_of(text, where)


def _moment_of(text: str, where: str) -> datetime:
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        moment = None
    if moment is None or moment.tzinfo is not None:
        raise UserMistake(f"{text!r} is no local time", where=where, expected="YYYY-MM-DDTHH:MM")
    return moment
