"""Spots to see, spots and trails to avoid, ground to stay off, and what the kitchen takes."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.unit.test_plan_walk import DAY, at, fill, plan
from underoak.book.load import load_book
from underoak.desk.kitchen_capacity import capacity_tonight
from underoak.desk.walk_limits import no_go_areas
from underoak.desk.walk_plan import PlannedWalk
from underoak.desk.walk_problem import kitchen_takes_kg
from underoak.errors import BadData, NoAnswer, UserMistake
from underoak.ledger.database import open_ledger
from underoak.settings import Home


def square(east_m: float, north_m: float, side_m: float) -> tuple[tuple[float, float], ...]:
    far_e, far_n = east_m + side_m, north_m + side_m
    corners = ((east_m, north_m), (far_e, north_m), (far_e, far_n), (east_m, far_n), (east_m, north_m))
    return tuple(at(*corner) for corner in corners)


def spots_seen(walk: PlannedWalk) -> set[str]:
    return {name for line in walk.plan.turns for name in line.spots}


def trails_walked(walk: PlannedWalk) -> set[str]:
    return {walk.ground.network.edges[leg.edge].name for leg in walk.result.legs}


def test_what_must_be_seen_is_seen(home: Home) -> None:
    fill(home)
    assert spots_seen(plan(home, hours=1.2, must_see=("Far Oak",))) == {"far oak"}
    with pytest.raises(NoAnswer, match="must be seen"):
        plan(home, hours=0.4, must_see=("far oak",))


def test_what_is_avoided_is_not_walked(home: Home) -> None:
    fill(home)
    free = plan(home, hours=1.2)
    assert "Row 1" in trails_walked(free)
    kept = plan(home, hours=1.2, avoid=("row 1", "far oak"))
    assert "Row 1" not in trails_walked(kept)
    assert spots_seen(kept) == set()
    assert kept.plan.kg <= free.plan.kg + 1e-6
    assert "Avoided as you asked: row 1, far oak." in kept.plan.notes


def test_nobody_walks_where_nobody_is_to_walk(home: Home) -> None:
    fill(home)
    off = square(250, 250, 400)
    walk = plan(home, hours=1.2, no_go=((off,),))
    assert walk.result.legs
    for leg in walk.result.legs:
        for lon, lat in walk.ground.network.edges[leg.edge].points:
            assert not (off[0][0] <= lon <= off[1][0] and off[0][1] <= lat <= off[2][1])
    assert any("Ground to stay off takes" in note for note in walk.plan.notes)


@pytest.mark.parametrize(
    ("changes", "error", "words"),
    [
        ({"must_see": ("lost oak",)}, UserMistake, "no spot at Invented Wood is called 'lost oak'.*far oak"),
        ({"avoid": ("Row 9", "far oak", "Row 8")}, UserMistake, "called 'Row 9', 'Row 8'.*Column 0"),
        ({"must_see": ("far oak",), "avoid": ("far oak",)}, UserMistake, "to be seen and to be stayed away"),
        ({"avoid": ("Row 0", "Column 0")}, NoAnswer, "leaves no trail at Lower lot"),
        ({"no_go": ((square(-50, -50, 100),),)}, UserMistake, "Lower lot lies in ground to stay off"),
    ],
)
def test_wishes_that_cannot_be_met_are_told(
    home: Home, changes: dict[str, object], error: type[Exception], words: str
) -> None:
    fill(home)
    with pytest.raises(error, match=words):
        plan(home, **changes)


def test_areas_come_from_polygons_only(tmp_path: Path) -> None:
    ring = [list(point) for point in square(0, 0, 50)]
    good = {"type": "Feature", "properties": {}, "geometry": {"type": "Polygon", "coordinates": [ring]}}
    bad = {"type": "Feature", "properties": {}, "geometry": {"type": "Point", "coordinates": ring[0]}}
    path = tmp_path / "off.geojson"
    path.write_text(json.dumps({"type": "FeatureCollection", "features": [good]}), "utf-8")
    assert [len(rings[0]) for rings in no_go_areas(path)] == [5]
    path.write_text(json.dumps({"type": "FeatureCollection", "features": [good, bad, bad]}), "utf-8")
    with pytest.raises(BadData) as told:
        no_go_areas(path)
    assert [problem.where for problem in told.value.problems] == [
        "off.geojson, feature 2",
        "off.geojson, feature 3",
    ]


def test_the_walk_stops_at_what_the_kitchen_takes(home: Home) -> None:
    fill(home)
    book = load_book()
    connection = open_ledger(home.ledger)
    gathered = [t for t in book.taxa.values() if t.gathered and t.season and t.memory and t.weight]
    room = capacity_tonight(connection, home.settings, book, DAY, gathered)
    connection.close()
    walk = plan(home)
    assert walk.problem.kitchen_kg == room.kg
    assert room.sentence in walk.plan.notes


def test_without_a_plan_of_the_kitchen_the_rough_figure_stands(
    home: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    fill(home)

    def fails(*_: object) -> None:
        raise NoAnswer("the stove is out")

    monkeypatch.setattr("underoak.desk.kitchen_capacity.capacity_tonight", fails)
    walk = plan(home)
    assert walk.problem.kitchen_kg == kitchen_takes_kg(home.settings.kitchen)
    assert any("the stove is out" in note and "roughly" in note for note in walk.plan.notes)
