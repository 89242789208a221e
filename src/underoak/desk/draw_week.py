"""The week in pictures: a fan for each wood and mushroom, a strip of the season, a shaded map."""

from __future__ import annotations

import re
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from underoak.sheets.charts import Mark, fan_chart, season_strip
from underoak.sheets.map_shading import Shading

if TYPE_CHECKING:
    from underoak.desk.this_week import Week
    from underoak.desk.week_rows import WoodOutlook
    from underoak.desk.why_there import Why
    from underoak.settings import Home

#: Woods and mushrooms that get a picture: the first rows of the table.
MOST_PICTURES = 6


def draw_week(home: Home, week: Week) -> tuple[Path, ...]:
    """Write the shaded map, and a fan for each of the first rows of the week, into the home's sheets."""
    from underoak.desk.show_map import map_picture

    folder = home.sheets / "week"
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    for row in week.woods[:MOST_PICTURES]:
        path = folder / f"{week.today}-{_file_name(row.place)}-{row.taxon_id}.svg"
        path.write_text(wood_fan(row, week.days), "utf-8")
        written.append(path)
    path = folder / f"{week.today}-map.svg"
    path.write_text(map_picture(home, week_shading(week)), "utf-8")
    written.append(path)
    return tuple(written)


def week_shading(week: Week) -> Shading:
    """Expected kilograms of each wood and known spot, all its mushrooms together, on the best day of all."""
    woods: dict[str, list[float]] = {}
    for row in week.woods:
        so_far = woods.get(row.place_id, [0.0] * len(week.days))
        woods[row.place_id] = [kg + more for kg, more in zip(so_far, row.expected_kg, strict=True)]
    best = max(range(len(week.days)), key=lambda day: sum(kg[day] for kg in woods.values()))
    kinds = sorted({row.taxon for row in week.woods})
    what = kinds[0] if len(kinds) == 1 else f"{len(kinds)} kinds together"
    every = woods | week.spot_kg
    words = f"Expected kilograms on {week.days[best]:%a %d %b %Y}, {what}"
    return Shading(words, {key: kg[best] for key, kg in every.items()})


def wood_fan(row: WoodOutlook, days: tuple[date, ...]) -> str:
    """SVG of the chance at a wood's best spot over the days of the week."""
    spots = f"best of {row.spots} spots" if row.spots else "any fitting tree"
    title = f"{row.taxon}, {row.place} ({spots})"
    return fan_chart(title, days, row.best_chance, row.best_low, row.best_high)


def why_strip(why: Why, *, today: date) -> str:
    """SVG of the chance at one spot over its whole season, with today and the day asked about."""
    marks = [Mark(why.chance.day, "?", "the day asked about")]
    last = why.curve_from + timedelta(days=len(why.curve) - 1)
    if why.curve_from <= today <= last and today != why.chance.day:
        marks.append(Mark(today, "T", "today"))
    return season_strip(f"{why.taxon} at {why.spot}, {why.place}", why.curve_from, why.curve, marks=marks)


def _file_name(words: str) -> str:
    return re.sub(r"\W+", "-", words.casefold()).strip("-") or "wood"
