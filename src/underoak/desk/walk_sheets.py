"""The files of a planned walk: map, sheet, GPX and GeoJSON."""

from __future__ import annotations

import math
import re
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from underoak.desk.walk_plan import PlannedWalk, TurnLine, WalkPlan
    from underoak.model.ground import LonLat

#: Width and height of the map on each paper [mm]: what the facts leave of its first page.
MAP_MM = {"a4": (178.0, 192.0), "us-letter": (184.0, 168.0)}

#: Letters of a file's name: with three bytes each it stays below what disks allow.
MOST_LETTERS = 78


def write_walk_sheets(walk: PlannedWalk, folder: Path, *, paper: str = "us-letter") -> list[Path]:
    """Write map, PDF, GPX and GeoJSON of a walk into ``folder``; the files written.

    Everything is made before anything is written, so a fault leaves no half set of files.
    """
    texts: dict[str, bytes] = {
        "svg": walk_picture(walk).encode(),
        "pdf": _pdf(walk, paper),
        "gpx": _gpx(walk).encode(),
        "geojson": _geojson(walk).encode(),
    }
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    for ending, text in texts.items():
        path = folder / f"{sheet_name(walk.plan)}.{ending}"
        path.write_bytes(text)
        written.append(path)
    return written


def write_walk_pdf(walk: PlannedWalk, folder: Path, *, paper: str) -> Path:
    """The sheet on one more paper, which is in its name."""
    path = folder / f"{sheet_name(walk.plan)}-{paper}.pdf"
    path.write_bytes(_pdf(walk, paper))
    return path


def _pdf(walk: PlannedWalk, paper: str) -> bytes:
    from underoak.sheets.pdf import checked_paper, compile_typst

    picture = walk_picture(walk, *MAP_MM[checked_paper(paper)])
    return compile_typst("walk", _sheet(walk.plan, picture, paper))


def sheet_name(plan: WalkPlan) -> str:
    """What the files of a walk are called, without ending: its day, its wood and who walks.

    Letters of every script are kept, so that two woods or two cars of one day do not share a name.
    """
    place = _slug(plan.place)[:30] or "walk"
    who = "-".join(_slug(name)[:10] for name in plan.party)
    return f"walk-{plan.day}-{place}-{who}"[:MOST_LETTERS]


def _slug(text: str) -> str:
    return re.sub(r"[\W_]+", "-", text.casefold()).strip("-")


def walk_picture(walk: PlannedWalk, width_mm: float = 178.0, height_mm: float = 158.0) -> str:
    """The map of a planned walk as SVG text; `underoak.sheets.walk_map.walk_frame` has the same size."""
    from underoak.sheets.walk_map import walk_map

    ground = walk.ground
    return walk_map(
        title=f"{ground.place.name}, {walk.plan.day}", place=ground.place, car_parks=[ground.car_park],
        network=ground.network, result=walk.result, turns=[line.turn for line in walk.plan.turns],
        trees=ground.trees, terrain=ground.terrain, exits=ground.exits,
        width_mm=width_mm, height_mm=height_mm,
    )  # fmt: skip


def facts(plan: WalkPlan) -> list[str]:
    """The figures of a plan as short lines."""
    sunset = f", sunset {plan.sunset_at:%H:%M}" if plan.sunset_at else ""
    start = plan.sets_out or plan.car_park
    lines = [
        f"Leave {start} at {plan.leaves_at:%H:%M}, back at {plan.back_at:%H:%M}{sunset}.",
        f"{plan.length_m / 1000:.1f} km, {plan.climb_m:.0f} m of climb, "
        f"{math.floor(plan.minutes)} minutes with looking and picking.",
        f"Turn-back time {plan.turn_back_at:%H:%M}: behind the turn list by then, go straight to the car.",
        f"Who walks: {', '.join(plan.party)}.",
    ]
    if plan.straight_home:
        return [plan.quality, *lines[:2], lines[3]]
    if plan.gathering:
        lines.append(f"Gathering is {plan.permission}.")
        lines.append(f"Expected {plan.kg:.2f} kg of prime mushrooms. {plan.quality}")
    else:
        lines.append(f"Nothing is gathered: {plan.permission}. {plan.quality}")
    return lines


def _sheet(plan: WalkPlan, picture: str, paper: str) -> dict[str, Any]:
    from underoak.sheets.promise_chart import different, promise_chart, promise_lines
    from underoak.sheets.wording import BEARINGS

    many = len(different(plan.promises)) > 1
    homes = {one.turn: f"{one.minutes:.0f} min, by {one.leave_by}" for one in plan.ways_home}
    return {
        "chart": promise_chart(plan.promises, plan.goal) if many else "",
        "promises": promise_lines(plan.promises) if plan.promises else [],
        "title": f"{plan.place}, {plan.day:%A} {plan.day.day} {plan.day:%B %Y}",
        "opening": f"Turn-back time {plan.turn_back_at:%H:%M}. Somebody at home has to know this walk.",
        "facts": facts(plan),
        "cautions_first": list(plan.cautions[:2]),
        "picture": picture,
        "turns": [
            {
                "number": line.turn.number,
                "at": line.at,
                "words": _words(line),
                "walk": f"{line.turn.length_m:.0f} m",
                "expected": f"{1000 * line.kg:.0f} g" if line.kg >= 0.0005 else "",
                "car": homes.get(line.turn.number, ""),
            }
            for line in plan.turns
        ],
        "bearings": BEARINGS,
        "left_out": list(plan.left_out),
        "notes": list(plan.notes),
        "cautions": list(plan.cautions[2:]),
        "paper": paper,
    }


def _words(line: TurnLine) -> str:
    """What is done at a turn, with the spots to look at before the next."""
    return line.turn.words + (f". Look at: {', '.join(line.spots)}" if line.spots else "")


def _whole_line(walk: PlannedWalk) -> list[LonLat]:
    from underoak.walk.turns import line_of

    line: list[LonLat] = []
    for leg in walk.result.legs:
        points = line_of(walk.ground.network, leg)
        line += points if not line else points[1:]
    return line


def _gpx(walk: PlannedWalk) -> str:
    from underoak.export.gpx import walk_gpx

    plan, park = walk.plan, walk.ground.car_park
    turns = [
        (
            (line.turn.longitude_deg, line.turn.latitude_deg),
            f"{line.turn.number:02d} {line.at}",
            _words(line),
        )
        for line in plan.turns
    ]
    line = _whole_line(walk) or [(park.longitude_deg, park.latitude_deg)]
    made_at: datetime = plan.leaves_at
    return walk_gpx(f"{plan.place} {plan.day}", " ".join(facts(plan)), line, turns, made_at)


def _geojson(walk: PlannedWalk) -> str:
    from underoak.export.geojson import collection_text, line_feature, point_feature
    from underoak.walk.turns import line_of

    plan = walk.plan
    features = []
    for number, leg in enumerate(walk.result.legs, start=1):
        edge = walk.ground.network.edges[leg.edge]
        kg = sum(walk.problem.prizes[p].kg for p in leg.prizes) if plan.gathering else 0.0
        told = {
            "leg": number,
            "trail": edge.name,
            "length_m": edge.length_m,
            "begins_min": leg.begins_min,
            "expected_kg": kg,
        }
        features.append(line_feature(line_of(walk.ground.network, leg), told))
    for turn_line in plan.turns:
        turn = turn_line.turn
        told = {"turn": turn.number, "at": turn_line.at, "words": _words(turn_line)}
        features.append(point_feature((turn.longitude_deg, turn.latitude_deg), told))
    return collection_text(features)
