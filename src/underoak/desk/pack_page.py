"""The page for the pack: plan the walk, look at the week, and write all of it into one file."""

from __future__ import annotations

import hashlib
import json
import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

from underoak.desk.walk_plan import STEPS_M_MIN
from underoak.errors import NoAnswer

if TYPE_CHECKING:
    from underoak.book.load import Book
    from underoak.desk.this_week import Week
    from underoak.desk.walk_plan import PlannedWalk
    from underoak.settings import Home
    from underoak.sheets.pack.page import PackPage, WeekRow

#: Rows of the table of chances, and the least chance on any day that is worth a row.
MOST_KINDS = 12
LEAST_CHANCE = 0.01


@dataclass(frozen=True, slots=True)
class WrittenPack:
    """The file, the pack's id that its entries carry, and what is on it."""

    path: Path
    pack_id: str
    place: str
    day: date
    size_bytes: int
    turns: int
    cards: int
    notes: tuple[str, ...]


def write_pack(home: Home, walk: PlannedWalk, folder: Path, *, today: date) -> WrittenPack:
    """Write ``pack-DAY-PLACE.html`` for a planned walk into ``folder``.

    ``today`` is the day on which the week's chances begin. The same walk, week and book give the same file.
    """
    from underoak.sheets.pack.page import pack_html

    page, notes = pack_page(home, walk, today=today)
    text = pack_html(page)
    name = re.sub(r"[^a-z0-9]+", "-", walk.plan.place.casefold()).strip("-") or "walk"
    path = folder / f"pack-{walk.plan.day}-{name}.html"
    folder.mkdir(parents=True, exist_ok=True)
    path.write_text(text, "utf-8")
    return WrittenPack(
        path=path,
        pack_id=str(page.pack["id"]),
        place=walk.plan.place,
        day=walk.plan.day,
        size_bytes=len(text.encode()),
        turns=len(page.turns),
        cards=len(page.cards),
        notes=notes,
    )


def pack_page(home: Home, walk: PlannedWalk, *, today: date) -> tuple[PackPage, tuple[str, ...]]:
    """Everything on the page, and notes on what is missing from it."""
    from underoak.book.load import load_book
    from underoak.desk.walk_sheets import facts, walk_picture
    from underoak.sheets.pack.cards import cards
    from underoak.sheets.pack.engine_data import engine_data
    from underoak.sheets.pack.page import PackPage

    plan, book = walk.plan, load_book()
    week, notes = _week(home, plan.place, today)
    targets = _targets(book, week)
    page = PackPage(
        title=f"{plan.place}, {plan.day:%A} {plan.day.day} {plan.day:%B %Y}",
        facts=facts(plan),
        cautions=plan.cautions,
        map_svg=walk_picture(walk),
        turns=[
            (
                line.turn.number,
                line.at,
                line.turn.words + (f". Look at: {', '.join(line.spots)}" if line.spots else ""),
                f"{line.turn.length_m:.0f} m",
                f"{1000 * line.kg:.0f} g" if line.kg >= 0.0005 else "",
            )
            for line in plan.turns
        ],
        notes=(*plan.left_out, *plan.notes, *notes),
        days=[f"{day.day} {day:%b}" for day in week.days] if week else [],
        week=_rows(week, book),
        cards=cards(book, targets),
        poison_help=home.settings.poison_help,
        turn_back=f"{plan.turn_back_at:%H:%M}",
        pack=pack_data(walk, targets, book.version),
        book=engine_data(book),
    )
    return page, notes


def _week(home: Home, place: str, today: date) -> tuple[Week | None, tuple[str, ...]]:
    from underoak.desk.this_week import outlook_of

    try:
        return outlook_of(home, today=today, place=place), ()
    except NoAnswer as none:
        return None, (f"No chances of the week: {none.problem.sentence()}.",)


def _targets(book: Book, week: Week | None) -> list[str]:
    """Every gathered kind, those that the week promises most of in front."""
    promised = [row.taxon_id for row in week.woods] if week else []
    others = sorted(t.id for t in book.taxa.values() if t.gathered)
    return list(dict.fromkeys([*promised, *others]))


def _rows(week: Week | None, book: Book) -> list[WeekRow]:
    from underoak.sheets.pack.page import WeekRow

    if week is None:
        return []
    rows = []
    hopeful = [row for row in week.woods if max(row.best_chance) >= LEAST_CHANCE]
    for row in hopeful[:MOST_KINDS]:
        names = book.taxa[row.taxon_id].common_names
        rows.append(WeekRow(row.place, names[0] if names else row.taxon, row.best_chance))
    return rows


def pack_data(walk: PlannedWalk, targets: Sequence[str], book_version: str) -> dict[str, Any]:
    """What the script of the page works on; its ``id`` is a hash over all the rest."""
    from underoak.sheets.pack.walk_part import frame_data, turn_data, ways_data
    from underoak.sheets.walk_map import walk_frame
    from underoak.walk.way_home import ways_home

    plan, ground, problem = walk.plan, walk.ground, walk.problem
    turns = [line.turn for line in plan.turns]
    gap_min = ground.start_gap_m / STEPS_M_MIN
    data: dict[str, Any] = {
        "place_id": ground.place.id,
        "place": plan.place,
        "day": plan.day.isoformat(),
        "party": list(plan.party),
        "leaves_at": plan.leaves_at.isoformat(),
        "turn_back_at": plan.turn_back_at.isoformat(),
        "back_by": (plan.leaves_at + timedelta(minutes=problem.minutes + 2.0 * gap_min)).isoformat(),
        "gathering": plan.gathering,
        "permission_words": f"{plan.cautions[0]} {plan.permission}." if not plan.gathering else "",
        "limit_kg": _limit(problem.place_limit_kg[0]),
        "carry_kg": _limit(problem.carry_kg),
        "kitchen_kg": _limit(problem.kitchen_kg),
        "frame": frame_data(walk_frame([ground.car_park], ground.network, walk.result)),
        "turns": turn_data(turns, [line.at for line in plan.turns]),
        "ways": ways_data(ground.network, ways_home(problem, walk.result, turns, pace=walk.pace), gap_min),
        "spots": [
            {
                "id": spot.id,
                "name": spot.name,
                "host": spot.host_group.replace("_", " ") if spot.host_group != "unknown" else "",
                "lon": spot.longitude_deg,
                "lat": spot.latitude_deg,
            }
            for spot in ground.spots
        ],
        "targets": list(targets),
        "book_version": book_version,
    }
    told = json.dumps(data, sort_keys=True, ensure_ascii=False)
    return {"id": hashlib.sha256(told.encode()).hexdigest()[:12], **data}


def _limit(kg: float) -> float | None:
    return kg if math.isfinite(kg) else None
