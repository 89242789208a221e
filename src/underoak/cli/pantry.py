"""``jars``: what stands in the pantry and its labels; ``trace``: back to the tree, forward to the jars."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from underoak.cli.output import day_or_clock, home_option, json_option, show, today_option
from underoak.errors import UserMistake

if TYPE_CHECKING:
    from underoak.desk.pantry_shelf import Shelf, ShelfJar
    from underoak.desk.trace_jar import BackwardTrace, ForwardTrace
    from underoak.model.quantities import Units

_PAPERS = "a4, us-letter, a4-8, a4-14, a4-21, letter-6, letter-10, letter-30"


@click.command()
@home_option
@today_option
@click.argument("words", nargs=-1)
@click.option("--all", "all_states", is_flag=True, help="Also jars that were eaten, given or thrown.")
@click.option("--labels", is_flag=True, help="Write a sheet of labels: of today's jars, or those named.")
@click.option("--batch", default=None, help="Labels of this batch.")
@click.option("--jar", "codes", multiple=True, metavar="CODE", help="Labels of this jar.")
@click.option("--paper", default="a4", show_default=True, help=f"One of {_PAPERS}.")
@click.option("--skip", type=int, default=0, help="Places of the first label sheet that are used up.")
@click.option("--eaten", default=None, metavar="CODE", help="This jar was eaten.")
@click.option("--given", default=None, metavar="CODE", help="This jar was given away.")
@click.option("--thrown", default=None, metavar="CODE", help="This jar was thrown away.")
@click.option("--anyway", is_flag=True, help="Record a jar as given although it should not have been.")
@click.option("--why", default="", help="Why it was thrown, or to whom it was given.")
@json_option
def jars(
    home: Path,
    *,
    today: date | None,
    words: tuple[str, ...],
    all_states: bool,
    labels: bool,
    batch: str | None,
    codes: tuple[str, ...],
    paper: str,
    skip: int,
    eaten: str | None,
    given: str | None,
    thrown: str | None,
    anyway: bool,
    why: str,
    as_json: bool,
) -> None:
    """What stands in the pantry, what to use first, what has to go; WORDS narrow the list."""
    from underoak.desk.pantry_shelf import change_jar, shelf, write_labels
    from underoak.settings import load_home

    place, day = load_home(home), day_or_clock(today)
    changes = [(eaten, "eaten"), (given, "given"), (thrown, "thrown")]
    changed = [(code, state) for code, state in changes if code]
    if len(changed) > 1:
        raise UserMistake("a jar has one fate", expected="one of --eaten, --given and --thrown")
    if changed:
        code, state = changed[0]
        one = change_jar(place, code, state, today=day, note=why, anyway=anyway)  # type: ignore[arg-type]
        show(one, [_jar_line(one, place.settings.units)], as_json=as_json)
    elif labels:
        written = write_labels(place, today=day, codes=codes, batch=batch, paper=paper, skip=skip)
        show(written, _label_lines(written), as_json=as_json)
    else:
        answer = shelf(place, today=day, words=" ".join(words), all_states=all_states)
        show(answer, shelf_lines(answer), as_json=as_json)


@click.command()
@home_option
@today_option
@click.argument("what", nargs=-1, required=True, metavar="CODE | find ID | lot ID | batch ID")
@click.option("--notice", is_flag=True, help="Write a sheet that calls everything back.")
@click.option("--paper", type=click.Choice(["a4", "us-letter"]), default="a4", show_default=True)
@json_option
def trace(
    home: Path, *, today: date | None, what: tuple[str, ...], notice: bool, paper: str, as_json: bool
) -> None:
    """From a jar's code back to the tree; or from a find, lot or batch forward to every jar that holds it."""
    from underoak.desk.trace_jar import trace_back, trace_forward
    from underoak.settings import load_home

    place = load_home(home)
    if len(what) == 1:
        back = trace_back(place, what[0])
        show(back, back_lines(back), as_json=as_json)
        return
    if len(what) != 2 or what[0] not in ("find", "lot", "batch"):
        raise UserMistake(
            f"{' '.join(what)!r} names nothing", expected="a code, or find, lot or batch and its id"
        )
    forward = trace_forward(place, what[0], what[1], today=day_or_clock(today), notice=notice, paper=paper)
    show(forward, _forward_lines(forward, place.settings.poison_help), as_json=as_json)


def _jar_line(one: ShelfJar, units: Units = "metric") -> str:
    from underoak.model.quantities import weight

    if one.against_advice:
        day = "DO NOT EAT, made against advice"
    elif one.doubt:
        day = f"DO NOT EAT, {one.doubt}"
    elif one.jar.state != "kept":
        day = f"{one.jar.state} {one.jar.state_on} {one.jar.state_note}".rstrip()
    elif one.over:
        day = f"OVER since {one.jar.use_by}: throw it out"
    else:
        day = f"use by {one.jar.use_by}"
    where = (one.jar.stands or "").replace("_", " ")
    return f"{one.jar.code:<16} {one.kind}, {one.product}, {weight(one.jar.net_g, units)}, {where}: {day}"


def shelf_lines(found: Shelf) -> Iterator[str]:
    """The pantry as text."""
    from underoak.model.quantities import counted, weight

    yield f"{counted(len(found.jars), 'jar')}, {found.today}; the first to use in front"
    yield from (f"  {_jar_line(one, found.units)}" for one in found.jars)
    if found.this_week:
        yield f"Within a week: {', '.join(found.this_week)}"
    if found.over:
        yield f"Over, throw out: {', '.join(found.over)}"
    if found.never:
        yield f"Never to be eaten: {', '.join(found.never)}"
    for left in found.left:
        net = weight(left.net_g, found.units)
        yield f"Left of {left.year}: {left.kind}, {left.product}: {counted(left.units, 'unit')}, {net}"
    for loss in found.losses:
        net = weight(loss.net_g, found.units)
        yield f"Lost: {loss.code}, {net}, {loss.on}: {loss.why or 'no reason given'}"
    yield from (f"Caution: {words}" for words in found.cautions)


def _label_lines(found: Shelf) -> Iterator[str]:
    yield from found.notes
    yield from (f"Written: {path}" for path in found.files)


def back_lines(back: BackwardTrace) -> Iterator[str]:
    """Where a jar comes from, as text."""
    from underoak.book.load import load_book
    from underoak.desk.evidence_words import seen_words, verdict_words

    found = back.trace
    if found.jar:
        jar = found.jar
        yield f"Jar {jar.code}: {jar.net_g:.0f} g, {jar.state}, use by {jar.use_by or '-'}"
    batch = found.batch
    yield f"Batch {batch.id}: {back.method}, made {batch.made_on} (book {batch.book_version})"
    for origin in found.origins:
        e = origin.evidence
        taxon = load_book().taxa.get(origin.taxon_id)
        kind = taxon.called if taxon else load_book().common_name(origin.taxon_id)
        if e is None:
            where = f"bought on {origin.day} at {origin.place}"
            yield f"  {origin.grams:.0f} g of {kind}, {where}: lot {origin.lot_id}"
            yield f"    verdict: {verdict_words(e)}"
            continue
        yield f"  {origin.grams:.0f} g of {kind}, {e.stage}: find {e.find_id}"
        yield f"    verdict: {verdict_words(e)}"
        yield from (f"      {words}" for words in seen_words(e.observations))
        people = ", ".join(origin.people) or "nobody named"
        yield f"    {e.day}, {origin.place}, {origin.spot} ({origin.tree}), by {people}"
        for w in origin.weather:
            yield f"    weather ({w.station}): rain {w.rain_mm} mm, {w.tmin_c} to {w.tmax_c} °C"
        yield from (f"    specimen: {words}" for words in origin.specimens)
    for s in found.eaten:
        yield f"  eaten by {s.person}, {s.eaten_at:%Y-%m-%d %H:%M}" + (
            f": {s.reaction}" if s.reaction else ""
        )
    yield from (f"Caution: {words}" for words in back.cautions)


def _forward_lines(forward: ForwardTrace, poison_help: str) -> Iterator[str]:
    from underoak.desk.trace_jar import batch_line, jar_line
    from underoak.model.quantities import counted

    found = forward.recall
    made = f"{counted(len(found.batches), 'batch')}, {counted(len(found.jars), 'jar')}"
    yield f"Everything that holds {found.of}: {made}"
    for b in found.batches:
        yield f"  batch {batch_line(b)}"
        for j in found.jars:
            if j.batch_id == b.id:
                yield f"    {jar_line(j.code, j.container, j.net_g, j.state, j.stands)}"
    for s in found.eaten:
        yield f"  eaten by {s.person}, {s.eaten_at:%Y-%m-%d %H:%M}: {s.reaction or 'no reaction noted'}"
    yield from (f"Caution: {words.format(poison_help=poison_help)}" for words in forward.cautions)
    yield from (f"Written: {path}" for path in forward.files)
