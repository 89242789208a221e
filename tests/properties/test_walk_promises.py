"""Of all walks met, whatever they were searched for, each goal shows the best that obeys the rules."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from tests.properties.test_walk import holds_up, problems
from underoak.desk.walk_plan import WalkWish
from underoak.desk.walk_search import GOALS, WalkSearch
from underoak.errors import NoAnswer
from underoak.walk.closure import arcs_of, shortest_ways
from underoak.walk.growing_load import Carrier, loaded_minutes
from underoak.walk.problem import WalkProblem, usable_kg
from underoak.walk.robust import Goal, promise
from underoak.walk.shortest_enough import is_full
from underoak.walk.solve import Effort, solve
from underoak.walk.spare_minutes import filled_up

CARRIERS = (Carrier(4.0, 8.0),)


@st.composite
def with_chances(draw: st.DrawFn) -> WalkProblem:
    problem = draw(problems())
    chance = st.integers(0, 20).map(lambda twentieths: twentieths / 20.0)
    prizes = tuple(replace(prize, chance=draw(chance)) for prize in problem.prizes)
    return replace(problem, prizes=prizes)


@settings(max_examples=25, deadline=None)
@given(with_chances(), st.sampled_from(GOALS))
def test_no_walk_shown_is_better_in_anothers_goal(problem: WalkProblem, goal: Goal) -> None:
    wish = WalkWish(date(2026, 10, 3), goal=goal, seed=3, seconds=math.inf, rounds=3)
    search = WalkSearch(wish, problem, CARRIERS, lambda: 0.0, lambda _: None)
    try:
        shown, promises = search.shown()
    except NoAnswer:
        assume(False)
    told = {one.goal: one for one in promises}
    assert set(told) == set(GOALS)
    average, surest, poor = (told[one] for one in GOALS)
    assert average.expected_kg >= max(one.expected_kg for one in promises) - 1e-5
    assert surest.something >= max(one.something for one in promises) - 1e-4
    assert poor.poor_kg >= max(one.poor_kg for one in promises) - 1e-4
    for one in promises:
        assert one.home_kg <= one.expected_kg + 1e-9
    for walk in search.met:
        if loaded_minutes(problem, walk, CARRIERS, 4.0) <= problem.minutes:
            assert average.expected_kg >= usable_kg(problem, list(walk.gathered)) - 1e-5
            assert surest.something >= promise(problem, walk, "something", seed=3).something - 1e-4
    assert loaded_minutes(problem, shown, CARRIERS, 4.0) <= problem.minutes + 1e-5
    assert shown.kg == pytest.approx(usable_kg(problem, list(shown.gathered)), abs=1e-5)
    assert shown.bound_kg >= shown.kg - 1e-9
    assert promise(problem, shown, goal, seed=3).expected_kg == pytest.approx(told[goal].expected_kg)


@settings(max_examples=30, deadline=None)
@given(problems(), st.integers(0, 30).map(float))
def test_nothing_that_fits_beside_the_way_is_left_standing(problem: WalkProblem, more: float) -> None:
    try:
        result = solve(problem, seed=1, effort=Effort(rounds=0, prove=False))
    except NoAnswer:
        assume(False)
    longer = replace(problem, minutes=problem.minutes + more)
    filled = filled_up(longer, result, lambda walk: walk.minutes <= longer.minutes)
    holds_up(longer, filled)
    assert set(result.gathered) <= set(filled.gathered)
    assert filled.kg >= result.kg - 1e-9
    graph, ways = problem.graph, shortest_ways(problem.graph.nodes, arcs_of(problem.graph)).minutes
    passed = {problem.start, *(int((graph.end if g.forward else graph.start)[g.edge]) for g in filled.legs)}
    for position, prize in enumerate(problem.prizes):
        if (
            prize.node >= 0
            and prize.kg > 0.0
            and position not in filled.gathered
            and not is_full(longer, filled)
        ):
            aside = min(ways[node, prize.node] + ways[prize.node, node] for node in passed)
            assert filled.minutes + aside + prize.minutes > longer.minutes - 1e-4
