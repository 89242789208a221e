"""What prizes stand on: the household's own sight, what a tree offers, and the prizes kept for the way."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import time, timedelta

import numpy as np
import pytest

from tests.unit.test_plan_walk import ALLOWED, DAY, WISH, at, fill, invented_wood, plan
from underoak.desk.kept_prizes import prizes_kept, rows_of
from underoak.desk.walk_ground import WalkGround
from underoak.desk.walk_rest import OnTheWay, plan_rest
from underoak.desk.walk_sight import ENOUGH_FINDS, household_sight
from underoak.desk.walk_worth import Worth
from underoak.ledger.answers import GivenAnswer
from underoak.ledger.database import open_ledger, writing
from underoak.ledger.places import store_spots
from underoak.ledger.visits import store_visits
from underoak.model.ground import CarPark, Spot, Trail, Tree
from underoak.model.visits import Find, Visit
from underoak.settings import Home
from underoak.walk.problem import Prize
from underoak.woods.trails import build_network

pytestmark = pytest.mark.usefixtures("plain_kitchen")

HERE = OnTheWay(*at(600, 610), at=time(10, 0), minutes_left=40.0)


def finds(home: Home, count: int, away_m: float) -> None:
    """Spots beside the second row, and one find at each last year."""
    spots = [
        Spot(f"f{k}", "wood", f"find {k}", *at(60 + 60 * (k % 4) + 300 * (k // 4), 300 + away_m))
        for k in range(count)
    ]
    found = tuple(Find(f"x{k}", f"f{k}", "grifola_frondosa", "prime") for k in range(count))
    connection = open_ledger(home.ledger)
    with writing(connection):
        store_spots(connection, spots)
        store_visits(connection, [Visit("v", DAY - timedelta(days=365), "wood", finds=found)])
    connection.close()


def sight_note(home: Home) -> str:
    return next(note for note in plan(home).plan.notes if note.startswith("Six in ten"))


def test_the_sight_is_the_households_own_once_it_has_finds_enough(home: Home) -> None:
    fill(home)
    finds(home, ENOUGH_FINDS - 1, 25.0)
    before = sight_note(home)
    assert f"a first guess until {ENOUGH_FINDS}" in before
    assert "seen 12 m from the trail" in before
    finds(home, ENOUGH_FINDS, 25.0)
    after = sight_note(home)
    assert f"from {ENOUGH_FINDS} of your own finds" in after
    # 8 finds worth of 12 m and 8 finds at 25 m: 19.6 m were all finds counted; the least of
    # 16 ln s + 6152 / (2 s^2) + 8 ln erf(36 / (s sqrt 2)), for none beyond 36 m is, lies at 21.7 m
    assert "seen 22 m from the trail" in after


def test_finds_far_from_any_trail_tell_nothing_of_sight() -> None:
    trails = [Trail("t", "t", (at(0, 0), at(900, 0)))]
    far = [Spot(f"s{k}", "wood", "", *at(50 * k, 120)) for k in range(20)]
    assert "(0 so far)" in household_sight(trails, far)[1]


def worth(*trees: Tree, kg: float = 1.0, chance: float = 0.3) -> Worth:
    network = build_network(
        [Trail("a", "a", (at(0, 0), at(400, 0))), Trail("b", "b", (at(0, 30), at(400, 30)))]
    )
    ground = WalkGround(
        invented_wood(ALLOWED), CarPark("lot", "lot", *at(0, 0)), network, 0, 0.0, trees, (), None
    )
    return Worth(ground, trees, (), np.full(len(trees), kg), np.full(len(trees), chance))


def test_no_tree_pays_more_than_a_close_look_at_it_shows() -> None:
    between = Tree("t", *at(200, 15), "Quercus alba", "white_oak", 60.0, "living")
    prizes = worth(between).prizes(12.0, np.full(9, 5.0))
    assert {prize.edge for prize in prizes if prize.key.startswith("along")} >= {0, 1}
    assert sum(prize.kg for prize in prizes) == pytest.approx(0.9)
    (look,) = [prize for prize in prizes if prize.key == "tree t"]
    # fifteen metres there and back at 50 m a minute, once round at 2.3 m, and the picking
    assert look.minutes == pytest.approx(
        30.0 / 50.0 + 2 * np.pi * 2.3 / (1000 / 60) + 6.0 * look.kg, rel=0.01
    )


def test_a_longer_sight_promises_more_along_the_trail_and_less_beyond() -> None:
    one = worth(Tree("t", *at(200, -20), "Quercus alba", "white_oak", 60.0, "living"))
    near, far = one.kg_by_key(8.0), one.kg_by_key(16.0)
    assert near["along 0"] < far["along 0"]
    assert near["tree t"] > far["tree t"]
    assert sum(near.values()) == pytest.approx(sum(far.values())) == pytest.approx(0.9)


def test_a_living_tree_counts_in_part_for_what_grows_on_logs(
    home: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("underoak.desk.walk_worth.LEAST_KG", 1e-9)
    fill(home)
    wish = {"taxa": ("Laetiporus sulphureus",), "hours": 1.0}
    living = plan(home, **wish).problem.prizes
    connection = open_ledger(home.ledger)
    with writing(connection):
        connection.execute("UPDATE tree SET condition = 'dead'")
    connection.close()
    dead = plan(home, **wish).problem.prizes
    by_key = {prize.key: prize.kg for prize in dead}
    shares = [p.kg / by_key[p.key] for p in living if p.key.startswith("along")]
    assert shares
    assert shares == pytest.approx([0.25] * len(shares))


def test_on_the_way_the_days_plan_lends_its_prizes(home: Home, monkeypatch: pytest.MonkeyPatch) -> None:
    fill(home)
    whole = plan(home)
    fresh = plan_rest(home, replace(WISH, taxa=("Laetiporus sulphureus",)), HERE, today=DAY)
    assert not any("taken from the day's plan" in note for note in fresh.plan.notes)

    def fails(*_: object, **__: object) -> None:
        raise AssertionError("a new outlook on the way")

    monkeypatch.setattr("underoak.desk.place_weather.place_climates", fails)
    rest = plan_rest(home, WISH, HERE, today=DAY)
    assert "What stands along the trails is taken from the day's plan." in rest.plan.notes
    assert [p.key for p in rest.problem.prizes] == [p.key for p in whole.problem.prizes]
    monkeypatch.undo()
    fill(home, closed="Row 3")
    again = plan_rest(home, WISH, HERE, today=DAY)
    assert not any("taken from the day's plan" in note for note in again.plan.notes)


def test_prizes_come_back_as_they_were_kept() -> None:
    prizes = (
        Prize(0.5, 2.0, edge=3, key="along 3"),
        Prize(1.0, 4.0, node=2, name="oak", chance=0.4, key="spot o"),
    )
    kept = json.loads(json.dumps(rows_of(prizes)).replace("NaN", "null"))
    answer = GivenAnswer(DAY, DAY, {}, id="a", book_version="b", inputs={"ground_mark": "m", "prizes": kept})
    back = prizes_kept(answer, "m")
    assert back is not None
    assert back[1] == prizes[1]
    assert (back[0].kg, back[0].edge, back[0].key) == (0.5, 3, "along 3")
    assert np.isnan(back[0].chance)
    assert prizes_kept(answer, "other") is None
    assert prizes_kept(None, "m") is None
