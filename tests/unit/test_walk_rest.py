"""The rest of a walk from where the party stands, and what the sheet says of other walks."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import time, timedelta
from itertools import pairwise

import pytest
from click.testing import CliRunner
from defusedxml.ElementTree import fromstring

from tests.unit.test_plan_walk import DAY, WISH, at, fill, plan
from underoak.cli.main import underoak
from underoak.desk.walk_plan import PlannedWalk
from underoak.desk.walk_rest import OnTheWay, plan_rest
from underoak.desk.walk_sheets import facts
from underoak.errors import NoAnswer, UserMistake
from underoak.settings import Home
from underoak.sheets.promise_chart import GOAL_WORDS, promise_chart, promise_lines, trade_off
from underoak.sheets.wording import WALK_CAUTIONS
from underoak.walk.robust import Promise
from underoak.walk.solve import Effort

pytestmark = pytest.mark.usefixtures("plain_kitchen")

HERE = OnTheWay(*at(600, 610), at=time(10, 0), minutes_left=40.0)


def rest(home: Home, here: OnTheWay, **changes: object) -> PlannedWalk:
    return plan_rest(home, replace(WISH, **changes), here, today=DAY)  # type: ignore[arg-type]


def test_the_rest_begins_here_and_ends_in_time(home: Home) -> None:
    fill(home)
    walk = rest(home, HERE)
    first = walk.plan.turns[0].turn
    assert (first.longitude_deg, first.latitude_deg) == pytest.approx(at(600, 600), abs=1e-6)
    assert walk.plan.leaves_at.time() == time(10, 0)
    assert walk.plan.back_at <= walk.plan.leaves_at + timedelta(minutes=40)
    assert walk.plan.kg > 0.0
    assert walk.plan.cautions == WALK_CAUTIONS
    assert walk.plan.answer_id == ""


def test_what_was_passed_pays_no_more(home: Home) -> None:
    fill(home)
    whole = plan(home)
    turns = whole.plan.turns
    here = replace(HERE, done=len(turns) - 1, minutes_left=60.0)
    passed = {p for line in turns[:-1] for p in line.turn.prizes}
    walk = rest(home, here)
    assert passed
    assert not {p for p in walk.result.gathered if walk.problem.prizes[p].kg > 0.0} & passed
    assert walk.plan.kg <= rest(home, replace(here, done=0)).plan.kg + 1e-6
    with pytest.raises(UserMistake, match=f"the plan has {len(turns)} turns"):
        rest(home, replace(here, done=99))


def test_going_on_as_planned_is_never_better(home: Home, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("underoak.walk.replan.ON_THE_WAY", Effort(rounds=0, prove=False))
    fill(home)
    whole = plan(home)
    for done in range(1, len(whole.plan.turns), 3):
        turn = whole.plan.turns[done].turn
        here = OnTheWay(
            turn.longitude_deg, turn.latitude_deg, time(10, 0), 45.2 - turn.begins_min,
            bag_kg=sum(line.kg for line in whole.plan.turns[:done]), done=done,
        )  # fmt: skip
        walk = rest(home, here)
        assert walk.plan.kg >= sum(line.kg for line in whole.plan.turns[done:]) - 1e-6
        assert walk.plan.back_at <= walk.plan.leaves_at + timedelta(minutes=here.minutes_left)


def test_the_rest_is_planned_without_reading_the_book(home: Home, monkeypatch: pytest.MonkeyPatch) -> None:
    fill(home)
    plan(home)

    def unread() -> None:
        raise AssertionError("the book was read")

    monkeypatch.setattr("underoak.book.load.load_book", unread)
    assert rest(home, HERE).plan.kg > 0.0
    with pytest.raises(AssertionError, match="the book was read"):
        rest(home, HERE, taxa=("Laetiporus sulphureus",))


def test_a_fuller_bag_takes_less(home: Home) -> None:
    fill(home)
    assert rest(home, replace(HERE, bag_kg=1e6)).plan.kg == 0.0
    with pytest.raises(UserMistake, match="-1 kg"):
        rest(home, replace(HERE, bag_kg=-1.0))


@pytest.mark.parametrize(
    ("here", "words"),
    [
        (replace(HERE, minutes_left=3.0), "minutes late"),
        (replace(HERE, at=time(21, 0)), "It is dark"),
    ],
)
def test_there_is_always_a_way_home(home: Home, here: OnTheWay, words: str) -> None:
    fill(home)
    walk = rest(home, here)
    assert words in facts(walk.plan)[0]
    assert not any("Turn-back" in line for line in facts(walk.plan))
    assert walk.plan.turns
    assert not walk.plan.left_out
    assert walk.plan.kg == 0.0
    assert sum(line.turn.length_m for line in walk.plan.turns) == pytest.approx(1200.0, rel=0.02)


def test_far_from_any_trail_nothing_is_invented(home: Home) -> None:
    fill(home)
    with pytest.raises(NoAnswer, match="km away"):
        rest(home, replace(HERE, longitude_deg=-74.0))


def test_the_command_plans_the_rest(home: Home) -> None:
    fill(home)
    lon, lat = at(600, 600)
    words = ["walk", "--home", str(home.folder), "--today", str(DAY), "--start", "10:00"]
    here = ["--here", str(lon), str(lat), "--left", "40", "--bag", "0.2"]
    answer = CliRunner().invoke(underoak, [*words, *here, "--json"])
    assert answer.exit_code == 0, answer.output
    assert json.loads(answer.stdout)["sets_out"] == "where you are"
    told = CliRunner().invoke(underoak, [*words, *here[:3]])
    assert isinstance(told.exception, UserMistake)
    assert "--left MINUTES" in str(told.exception)


def test_the_chart_shows_every_walk_and_the_words_say_what_surety_costs() -> None:
    walks = (
        Promise("expected", 2.0, 0.90, 0.5, 1.8, 3.5),
        Promise("something", 1.4, 0.97, 0.6, 1.3, 2.0),
    )
    picture = fromstring(promise_chart(walks, "something"))
    marks = [one for one in picture.iter() if one.get("class") == "walk"]
    assert [mark.get("fill") for mark in marks] == ["white", "black"]
    assert float(marks[0].get("cy") or 0) < float(marks[1].get("cy") or 0)
    assert trade_off(walks) == (
        "The surest walk brings something on 7 days in a hundred more, and 0.60 kg less is expected."
    )
    assert "something on 97 % of days" in promise_lines(walks)[2]
    assert "on 1 day in a hundred more" in trade_off((walks[0], replace(walks[1], something=0.91)))


def test_marks_of_walks_that_are_nearly_alike_stand_beside_each_other_on_the_chart() -> None:
    one = Promise("expected", 8.7, 0.978, 7.3, 8.0, 10.0)
    walks = (one, replace(one, goal="something", something=0.989), replace(one, goal="poor_day", poor_kg=7.4))
    picture = fromstring(promise_chart(walks, "expected"))
    across = sorted(float(mark.get("cx") or 0) for mark in picture.iter() if mark.get("class") == "walk")
    assert len(across) == 3
    assert all(right - left >= 4.9 for left, right in pairwise(across))
    assert across[-1] <= 110.0 - 1.1


def test_goals_that_lead_to_the_same_promise_share_a_mark_and_a_line() -> None:
    one = Promise("expected", 8.7, 0.9, 0.0, 8.0, 10.0)
    sure = replace(one, goal="something", something=0.9996, poor_kg=1.0)
    walks = (one, sure, replace(sure, goal="poor_day", something=0.9994))
    marks = [m for m in fromstring(promise_chart(walks, "poor_day")).iter() if m.get("class") == "walk"]
    assert [mark.get("fill") for mark in marks] == ["white", "black"]
    first, poor, surest = promise_lines(walks)
    assert "on 10 days in a hundred more" in first
    assert poor.startswith("1, most expected: 8.70 kg expected, something on 90 % of days, nothing on")
    assert surest.startswith("2, most surely something and best poor day: ")
    assert "over 99 % of days" in surest
    alike = [replace(one, goal=goal, poor_kg=10.0) for goal in GOAL_WORDS]
    assert promise_lines(alike) == [
        "The same for every goal (most expected, most surely something and best poor day): "
        "8.70 kg expected, something on 90 % of days, 10.00 kg on at least four days in five"
    ]
