"""``underoak why``, ``learn`` and ``judge``: behind the outlook."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from underoak.cli.output import Day, day_or_clock, home_option, json_option, show, today_option

if TYPE_CHECKING:
    from underoak.desk.judge_outlook import JudgedOutlook
    from underoak.desk.learn_seasons import Learning
    from underoak.desk.why_there import Why
    from underoak.outlook.backtest import Judgement


_RULINGS = {
    "model": "model shown",
    "climatology": "plain rates shown",
    "untried": "too few finds to judge it alone",
}


@click.command()
@click.argument("spot")
@click.argument("taxon")
@click.argument("day", type=Day())
@home_option
@today_option
@click.option(
    "--picture", type=click.Path(path_type=Path), default=None, help="Also draw its season into an SVG file."
)
@json_option
def why(
    *, spot: str, taxon: str, day: date, home: Path, today: date | None, picture: Path | None, as_json: bool
) -> None:
    """Why the outlook says what it says of SPOT, TAXON and DAY (YYYY-MM-DD).

    SPOT is a name, or "place/spot" where two places have a spot of that name.
    """
    from underoak.desk.why_there import why_there
    from underoak.settings import load_home

    now = day_or_clock(today)
    answer = why_there(load_home(home), spot=spot, taxon=taxon, day=day, today=now)
    show(answer, _why_lines(answer), as_json=as_json)
    if picture is not None:
        from underoak.desk.draw_week import why_strip

        picture.write_text(why_strip(answer, today=now), "utf-8")
        click.echo(f"Drawn: {picture}", err=as_json)


@click.command()
@home_option
@today_option
@json_option
def learn(home: Path, today: date | None, as_json: bool) -> None:
    """Learn from all seasons that are over, judge what was learned, and keep both."""
    from underoak.desk.learn_seasons import learn_seasons
    from underoak.settings import load_home

    with _bar("Learning", as_json) as progress:
        answer = learn_seasons(load_home(home), today=day_or_clock(today), progress=progress)
    show(answer, _learning_lines(answer), as_json=as_json)


@click.command()
@home_option
@today_option
@json_option
def judge(home: Path, today: date | None, as_json: bool) -> None:
    """How good the outlook would have been in each season, had it not known it."""
    from underoak.desk.judge_outlook import judge_outlook
    from underoak.settings import load_home

    with _bar("Judging", as_json) as progress:
        answer = judge_outlook(load_home(home), today=day_or_clock(today), progress=progress)
    show(answer, _judged_lines(answer), as_json=as_json)


@contextmanager
def _bar(label: str, as_json: bool) -> Iterator[Callable[[str, int, int], None]]:
    """A progress bar on standard error, none with ``--json``."""
    if as_json:
        yield lambda *_: None
        return
    bars = click.progressbar(length=1, label=label, file=sys.stderr, item_show_func=_doing)
    with bars as bar:

        def progress(what: str, done: int, steps: int) -> None:
            bar.length = steps
            bar.update(done - bar.pos, what)

        yield progress
        bar.update((bar.length or 0) - bar.pos, "done")


def _doing(what: str | None) -> str:
    return what or ""


def _why_lines(why: Why) -> Iterator[str]:
    from underoak.book.load import load_book

    c = why.chance
    yield f"{why.spot}, {why.place}: {load_book().taxa[c.taxon_id].called} on {c.day}"
    yield (
        f"Chance of a prime flush {_percent(c.prime)} (nine times in ten between {_percent(c.low)} and "
        f"{_percent(c.high)}), {c.expected_kg:.2f} kg expected; a thorough look shows it {_percent(c.found)}."
    )
    yield ""
    for step in why.steps:
        size = f"x {step.odds_ratio:.2f}" if step.odds_ratio >= 1 else f"/ {1 / step.odds_ratio:.2f}"
        yield f"  odds {size:>9}  {step.words}"
    yield ""
    top = max(range(len(why.curve)), key=lambda n: why.curve[n])
    peak = date.fromordinal(why.curve_from.toordinal() + top)
    yield f"Best day of its season there, as known now: {peak} with {_percent(why.curve[top])}."
    yield from why.ground
    yield from why.record.words
    yield from (f"Note: {note}" for note in why.weather.notes)


def _learning_lines(learning: Learning) -> Iterator[str]:
    seasons = ", ".join(str(season) for season in learning.seasons)
    yield f"Learned from {learning.visits} visits of {len(learning.seasons)} seasons ({seasons})"
    width = max([len(t.taxon) for t in learning.taxa] + [8])
    yield f"{'Mushroom':<{width}}  looks finds  days late  inhabited  returns  prime days"
    for t in learning.taxa:
        yield (
            f"{t.taxon:<{width}}  {t.looks:5d} {t.finds:5d}  {t.later_days:+9.1f}  "
            f"odds x{t.inhabited_odds:4.2f}    x{t.returns_odds:4.2f}     x{t.prime_days_times:4.2f}"
        )
    yield ""
    for t in learning.taxa:
        yield f"{t.taxon:<{width}}  shown: {t.shows}; weather {t.weather_why}"
    if learning.judgement is not None:
        yield ""
        yield from _judgement_lines(learning.judgement)
    yield from (f"Note: {note}" for note in learning.notes)


def _judged_lines(answer: JudgedOutlook) -> Iterator[str]:
    yield from _judgement_lines(answer.judgement)
    yield ""
    found = [t for t in answer.judgement.taxa if t.finds]
    width = max([len(answer.names[t.taxon_id]) for t in found] + [8])
    yield f"{'Mushroom':<{width}}  prime finds  gain over your plain rates, nats a visit"
    for t in found:
        gain = f"{t.gain.mean:+.3f} ({t.gain.low:+.3f} to {t.gain.high:+.3f})"
        yield f"{answer.names[t.taxon_id]:<{width}}  {t.finds:11d}  {gain:<28} {_RULINGS[t.ruling]}"
    others = len(answer.judgement.taxa) - len(found)
    yield f"{others} kinds that were never found prime are in the sums above."


def _judgement_lines(judgement: Judgement) -> Iterator[str]:
    seasons = f"{judgement.seasons[0]} to {judgement.seasons[-1]}"
    yield (
        f"Each season of {seasons} forecast from the others: {judgement.visits} visits, "
        f"{judgement.looks} looks, {judgement.finds} prime finds"
    )
    yield f"{'Forecast':<30}  nats a visit   Brier  slope  icept  model's gain (90 %)        kg/h at its top"
    for s in judgement.scores:
        gain = "" if s.name == "model" else f"{s.gain.mean:+.2f} ({s.gain.low:+.2f} to {s.gain.high:+.2f})"
        yield (
            f"{s.name:<30}  {s.log_score:12.3f}  {s.brier:6.4f}  {s.slope:5.2f}  {s.intercept:+5.2f}  "
            f"{gain:<25}  {s.kg_per_hour:6.2f}"
        )
    yield "Reliability of the model (forecasts, mean chance, came true):"
    for b in judgement.bins:
        yield (
            f"  {_percent(b.low):>7} to {_percent(b.high):<7} {b.forecasts:6d}  "
            f"{_percent(b.mean_chance):>7}  {_percent(b.share_true):>7}"
        )


def _percent(chance: float) -> str:
    return f"{100.0 * chance:.0f} %" if chance >= 0.095 else f"{100.0 * chance:.1f} %"
