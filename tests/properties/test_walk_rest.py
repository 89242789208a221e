"""On the way no new rest of a walk brings less than going on as planned."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.properties.test_walk import holds_up, planned, problems
from underoak.errors import NoAnswer
from underoak.walk.closure import arcs_of, shortest_ways
from underoak.walk.problem import WalkProblem, usable_kg
from underoak.walk.replan import Whereabouts, replan, rest_of_plan, rest_problem
from underoak.walk.solve import Effort

#: Next to no search.
LAZY = Effort(rounds=0, prove=False)


@settings(max_examples=40, deadline=None)
@given(problems(), st.integers(0, 9), st.sampled_from([1.0, 0.8, 0.5]))
def test_going_on_as_planned_is_never_better(problem: WalkProblem, walked: int, of_the_time: float) -> None:
    whole = planned(problem)
    if whole is None or not whole.legs:
        return
    graph = problem.graph
    begins = [int((graph.start if leg.forward else graph.end)[leg.edge]) for leg in whole.legs]
    done = walked % len(whole.legs)
    passed = frozenset((*whole.at_start, *(p for leg in whole.legs[:done] for p in leg.prizes)))
    here = Whereabouts(
        begins[done], of_the_time * (problem.minutes - whole.legs[done].begins_min), passed,
        tuple(sum(problem.prizes[p].kg for p in passed if problem.prizes[p].place == k) for k in range(2)),
    )  # fmt: skip
    rest = rest_problem(problem, here)
    ways = shortest_ways(graph.nodes, arcs_of(graph)).minutes
    as_planned = []
    for first in range(done, len(whole.legs)):
        ahead = whole.legs[first:]
        minutes = ways[here.node, begins[first]] + sum(leg.walk_min + leg.stop_min for leg in ahead)
        if minutes <= rest.minutes - 1e-4:  # ways of no minutes count a little
            as_planned.append(usable_kg(rest, [p for leg in ahead for p in leg.prizes]))
    try:
        found = replan(problem, here, planned=whole.legs[done:], seed=1, effort=LAZY)
    except NoAnswer:
        assert not as_planned
        return
    kept = rest_of_plan(rest, whole.legs[done:], lambda walk: walk.minutes <= rest.minutes)
    for walk in (found, kept) if kept else (found,):
        holds_up(rest, walk)
    if as_planned:
        assert kept is not None
        assert found.kg >= kept.kg - 1e-6 >= max(as_planned) - 2e-6


@settings(max_examples=10, deadline=None)
@given(problems())
def test_a_plan_that_comes_late_or_misses_what_must_be_seen_is_not_gone_on_with(problem: WalkProblem) -> None:
    whole = planned(problem)
    if whole is None or not whole.legs:
        return
    wanted = replace(problem, must_see=frozenset(range(len(problem.prizes))) - set(whole.gathered))
    try:
        found = replan(wanted, Whereabouts(problem.start, problem.minutes), planned=whole.legs, effort=LAZY)
    except NoAnswer:
        return
    assert wanted.must_see <= set(found.gathered)
    holds_up(wanted, found)
