"""``ask``: put a find before a person who knows, and write down what they said."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from underoak.cli.output import day_or_clock, home_option, json_option, show, today_option
from underoak.errors import UserMistake


@click.command()
@click.argument("find")
@home_option
@click.option("--person", default=None, help="Who answered; with this, the answer is written down.")
@click.option("--agrees/--dissents", default=None, help="Whether they agree with the name.")
@click.option("--name", default=None, help="What they call it; the name noted by default.")
@click.option(
    "--saw",
    type=click.Choice(["hand", "photo"]),
    default="photo",
    show_default=True,
    help="What they looked at.",
)
@click.option("--words", default="", help="What they said.")
@click.option("--paper", default="a4", show_default=True, help="a4 or us-letter.")
@today_option
@json_option
def ask(
    find: str,
    home: Path,
    *,
    person: str | None,
    agrees: bool | None,
    name: str | None,
    saw: str,
    words: str,
    paper: str,
    today: date | None,
    as_json: bool,
) -> None:
    """Write a dossier of FIND without its spot; with --person, write down that person's answer.

    Only an answer makes a verdict confirmed; a dissent refuses the find.
    """
    from underoak.settings import load_home

    place = load_home(home)
    if person is None:
        if agrees is not None or name or words:
            raise UserMistake("an answer needs the name of the person who gave it", expected="--person NAME")
        _write(find, home=home, paper=paper, as_json=as_json)
        return
    from underoak.book.load import load_book
    from underoak.cli.vet import lines
    from underoak.desk.ask_expert import dossier, record_answer
    from underoak.model.vetting import Opinion

    if agrees is None:
        raise UserMistake("did they agree?", expected="--agrees or --dissents")
    now = day_or_clock(today)
    noted = dossier(place, find).verdict.target or ""
    taxon = load_book().find(name).id if name else noted
    opinion = Opinion(person, now.isoformat(), taxon, agrees, words, "hand" if saw == "hand" else "photo")
    verdict = record_answer(place, find, opinion, today=now)
    show(verdict, lines(verdict), as_json=as_json)


def _write(find: str, *, home: Path, paper: str, as_json: bool) -> None:
    from underoak.desk.ask_expert import dossier
    from underoak.settings import load_home
    from underoak.sheets.dossier import write_dossier

    place = load_home(home)
    told = dossier(place, find)
    pdf, page = write_dossier(place.sheets, told, paper)
    lines = [
        f"Written: {pdf}",
        f"Written: {page}",
        "Neither says where it was found. Give them the find in hand if you can.",
        f"Their answer: underoak ask {find} --person NAME --agrees (or --dissents) --saw hand",
    ]
    show({"pdf": str(pdf), "html": str(page), "find_id": told.find_id}, lines, as_json=as_json)
