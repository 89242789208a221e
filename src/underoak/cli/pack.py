"""``underoak pack``: one file for the telephone, with walk, cards, questions and log."""

from __future__ import annotations

import time
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from underoak.cli.output import day_or_clock, home_option, json_option, show, today_option
from underoak.cli.walk import Clock, effort_told, outing_options, search_options

if TYPE_CHECKING:
    from underoak.desk.pack_page import WrittenPack
    from underoak.settings import Home


@click.command()
@home_option
@outing_options
@click.option(
    "--start", type=Clock(), default="09:00", show_default=True, metavar="HH:MM", help="When you leave."
)
@click.option("--for", "taxa", multiple=True, metavar="MUSHROOM", help="What you want.")
@search_options
@click.option(
    "--paper", type=click.Choice(["a4", "us-letter"]), default="us-letter", show_default=True,
    help="Paper of the briefing.",
)  # fmt: skip
@click.option("--briefing/--no-briefing", default=True, help="Also write the briefing of the party as PDF.")
@click.option("--check", "checks", multiple=True, metavar="NAME", help="Who looks at every find.")
@click.option(
    "--vetting-sheet", "sheets", multiple=True, metavar="MUSHROOM", help="Also a vetting sheet on paper."
)
@click.option("--conflicts", is_flag=True, help="List where telephones noted different things; plan nothing.")
@today_option
@json_option
def pack(
    home: Path, *, day: date | None, today: date | None, conflicts: bool, as_json: bool, **told: Any
) -> None:
    """Write one HTML file for the telephone of everybody who walks, and a briefing on paper.

    It needs no network: walk with map, turn-back alarm and ways to cut it short, the week's chances,
    look-alike cards, the questions of 'vet', and a log that 'underoak load pack' takes in at home.
    Send it to the telephone and open it from its storage.
    """
    from underoak.desk.briefing import write_briefing, write_vetting_sheet
    from underoak.desk.pack_page import write_pack
    from underoak.desk.plan_walk import plan_walk
    from underoak.desk.walk_plan import WalkWish
    from underoak.settings import load_home

    house, now = load_home(home), day_or_clock(today)
    if conflicts:
        _show_conflicts(house, as_json)
        return
    wish = WalkWish(
        day=day or now,
        hours=told["hours"],
        leaves=told["start"],
        place=told["place"],
        car_park=told["car_park"],
        party=tuple(name.strip() for name in told["party"].split(",") if name.strip()),
        taxa=told["taxa"],
        seed=told["seed"],
        **effort_told(told),
    )
    paper = told["paper"]
    papers = [write_vetting_sheet(house, name, house.sheets, paper=paper) for name in told["sheets"]]
    walk = plan_walk(house, wish, today=now, clock=time.monotonic)
    written = write_pack(house, walk, house.sheets, today=now)
    if told["briefing"]:
        checks = told["checks"]
        papers.append(write_briefing(house, walk, house.sheets, paper=paper, today=now, checks=checks))
    show(_record(written, papers), _lines(written, papers), as_json=as_json)


def _record(written: WrittenPack, papers: list[Path]) -> dict[str, Any]:
    told = {
        name: getattr(written, name) for name in ("pack_id", "place", "day", "size_bytes", "turns", "cards")
    }
    return {"file": str(written.path), **told, "notes": written.notes, "papers": [str(p) for p in papers]}


def _lines(written: WrittenPack, papers: list[Path]) -> Iterator[str]:
    yield f"Written: {written.path} ({written.size_bytes / 1e6:.2f} MB)"
    yield from (f"Written: {path}" for path in papers)
    yield f"  {written.place}, {written.day}: {written.turns} turns, {written.cards} cards."
    yield "  Send it to every telephone that comes along and open it there once before you leave."
    yield "  It tells where your spots are: do not pass it on."
    yield from (f"Note: {words}" for words in written.notes)
    yield "  At home: save the log on each telephone under Hand over, then 'underoak load pack FILE'."


def _show_conflicts(house: Home, as_json: bool) -> None:
    from underoak.desk.take_in_pack import conflicts_of

    found = conflicts_of(house)
    lines = [conflict.words for conflict in found] or ["No two telephones noted different things."]
    show(found, lines, as_json=as_json)
