"""``underoak week``: the outlook as one screen of tables."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from underoak.cli.output import day_or_clock, home_option, json_option, show, today_option

if TYPE_CHECKING:
    from underoak.desk.this_week import Week
    from underoak.desk.weather_note import WeatherNote
    from underoak.desk.week_rows import SpotDay, WoodOutlook

#: Heights of a strip of days, from nothing to the row's best day.
_BARS = " ▁▂▃▄▅▆▇█"
_GROUND = {
    "litter_wetness": ("litter", 100.0, " %"),
    "root_wetness": ("root zone", 100.0, " %"),
    "soil_temp_10cm_c": ("soil at 10 cm", 1.0, " °C"),
}


@click.command()
@home_option
@today_option
@click.option("--place", default=None, metavar="NAME", help="One wood only.")
@click.option("--taxon", default=None, metavar="NAME", help="One mushroom only, by any name of the book.")
@click.option("--pictures", is_flag=True, help="Also draw a map and fans into the home's sheets.")
@json_option
def week(
    *, home: Path, today: date | None, place: str | None, taxon: str | None, pictures: bool, as_json: bool
) -> None:
    """Which wood, for what, on which of the next ten days.

    Chances are those of a flush in prime condition at a known spot, with the range that holds nine times
    in ten. They say nothing about whether a mushroom may be eaten.
    """
    from underoak.desk.this_week import this_week
    from underoak.settings import load_home

    here = load_home(home)
    answer = this_week(here, today=day_or_clock(today), place=place, taxon=taxon)
    show(answer, week_lines(answer), as_json=as_json)
    if pictures:
        from underoak.desk.draw_week import draw_week

        for path in draw_week(here, answer):
            click.echo(f"Drawn: {path}", err=as_json)


def week_lines(week: Week) -> Iterator[str]:
    """The outlook as one screen of text."""
    yield f"The ten days from {_day(week.today)} {week.today.year}"
    yield from _weather_lines(week.weather)
    yield ""
    yield from _wood_lines(week)
    yield ""
    yield "Spots that promise most"
    for spot in week.spots:
        yield from _spot_lines(spot)
    if not week.spots:
        yield "  none is known yet: write one down with a visit"
    yield from week.record.words
    yield from (f"Note: {note}" for note in week.notes)


def _weather_lines(weather: WeatherNote) -> Iterator[str]:
    if weather.station:
        far = ""
        if len(weather.stations) < 2 and weather.distance_km is not None:
            far = f", {weather.distance_km:.0f} km from home"
        ahead = f", forecast to {weather.forecast_to}" if weather.forecast_to else ""
        years = weather.past_years
        after = f", then as in {years[0]} to {years[-1]}" if years else ""
        yield f"Weather: {weather.source}{far}, observed to {weather.observed_to}{ahead}{after}"
    if weather.ground:
        parts = []
        for fact in weather.ground:
            name, scale, unit = _GROUND[fact.name]
            usual = f" (usual {fact.usual * scale:.0f})" if fact.usual is not None else ""
            parts.append(f"{name} {fact.value * scale:.0f}{unit}{usual}")
        yield f"Ground: {', '.join(parts)}"
    for note in weather.notes:
        yield f"Note: {note}"


def _wood_lines(week: Week) -> Iterator[str]:
    from underoak.book.load import load_book
    from underoak.desk.this_week import MOST_WOODS

    book = load_book()
    shown = week.woods[:MOST_WOODS]
    wood = max([len(row.place) for row in shown] + [4])
    kinds = [book.common_name(row.taxon_id) for row in shown]
    name = max([len(kind) for kind in kinds] + [8])
    yield f"{'Wood':<{wood}}  {'Mushroom':<{name}}  best day    chance      kg  {_numbers(week.days)}"
    for row, kind in zip(shown, kinds, strict=True):
        yield _wood_line(row, week.days, f"{row.place:<{wood}}  {kind:<{name}}")
    hidden = len(week.woods) - len(shown)
    if hidden > 0:
        yield f"… and {hidden} more; see --json, --place or --taxon"


def _wood_line(row: WoodOutlook, days: Sequence[date], head: str) -> str:
    best = row.best_day
    strip = _strip(row.expected_kg)
    scouting = "" if row.permission == "allowed" else f"  gathering {row.permission}: scouting only"
    chance = _percent(row.best_chance[best])
    return f"{head}  {_day(days[best]):<10} {chance:>7}  {row.expected_kg[best]:6.2f}  {strip}{scouting}"


def _spot_lines(row: SpotDay) -> Iterator[str]:
    from underoak.book.load import load_book

    c = row.chance
    yield (
        f"  {row.spot}, {row.place}: {load_book().taxa[c.taxon_id].called} on {_day(c.day)}: "
        f"{_percent(c.prime)} ({_percent(c.low)} to {_percent(c.high)}), {c.expected_kg:.2f} kg, a thorough "
        f"look shows it {_percent(c.found)}"
    )
    for reason in c.reasons:
        yield f"      {_times(reason.odds_ratio)}  {reason.words}"


def _strip(values: Sequence[float]) -> str:
    top = max(values) or 1.0
    return "".join(_BARS[round(value / top * (len(_BARS) - 1))] for value in values)


def _numbers(days: Sequence[date]) -> str:
    return f"{days[0].day}.–{days[-1].day}."


def _times(ratio: float) -> str:
    sign, times = ("x", ratio) if ratio >= 1.0 else ("/", 1.0 / ratio)
    return f"odds {sign} {times:.0f}" if times >= 10.0 else f"odds {sign} {times:.1f}"


def _percent(chance: float) -> str:
    return f"{100.0 * chance:.0f} %" if chance >= 0.095 else f"{100.0 * chance:.1f} %"


def _day(day: date) -> str:
    return f"{day:%a} {day.day} {day:%b}"
