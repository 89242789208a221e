"""The planner against brute force on every small graph, and what must hold when a problem changes."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.walk_cases import best_by_enumeration, graph_of
from underoak.errors import NoAnswer
from underoak.walk.problem import Prize, WalkProblem
from underoak.walk.result import WalkResult
from underoak.walk.solve import Effort, solve

EFFORT = Effort(rounds=15)
MINUTES = st.integers(1, 20).map(float)
KG = st.integers(0, 30).map(lambda tenths: tenths / 10.0)


@st.composite
def problems(draw: st.DrawFn) -> WalkProblem:
    nodes = draw(st.integers(2, 6))
    edges = [(draw(st.integers(0, k - 1)), k, draw(MINUTES), draw(MINUTES)) for k in range(1, nodes)]
    for _ in range(draw(st.integers(0, 4))):
        a, b = draw(st.lists(st.integers(0, nodes - 1), min_size=2, max_size=2, unique=True))
        edges.append((a, b, draw(MINUTES), draw(st.sampled_from([math.inf, 3.0, 8.0]))))
    prizes = []
    for _ in range(draw(st.integers(1, 6))):
        where: dict[str, Any] = (
            {"edge": draw(st.integers(0, len(edges) - 1))}
            if draw(st.booleans())
            else {"node": draw(st.integers(0, nodes - 1))}
        )
        prizes.append(
            Prize(draw(KG), draw(st.integers(0, 6).map(float)), place=draw(st.integers(0, 1)), **where)
        )
    return WalkProblem(
        graph_of(nodes, edges),
        tuple(prizes),
        start=0,
        finish=draw(st.sampled_from([0, 0, nodes - 1])),
        minutes=draw(st.integers(5, 90).map(float)),
        carry_kg=draw(st.sampled_from([math.inf, math.inf, 3.0])),
        place_limit_kg=(draw(st.sampled_from([math.inf, 2.0])), math.inf),
    )


def planned(problem: WalkProblem) -> WalkResult | None:
    try:
        return solve(problem, seed=1, effort=EFFORT)
    except NoAnswer:
        return None


def holds_up(problem: WalkProblem, result: WalkResult) -> None:
    """The walk hangs together, keeps its time and adds up."""
    here, clock = problem.start, sum(problem.prizes[p].minutes for p in result.at_start)
    graph, seen = problem.graph, list(result.at_start)
    for leg in result.legs:
        tail, head, cost = (
            (graph.start, graph.end, graph.forward_min)
            if leg.forward
            else (graph.end, graph.start, graph.backward_min)
        )
        assert tail[leg.edge] == here
        assert leg.walk_min == cost[leg.edge]
        assert leg.begins_min == pytest.approx(clock)
        here = head[leg.edge]
        for p in leg.prizes:
            assert problem.prizes[p].edge == leg.edge or problem.prizes[p].node == here
        clock += leg.walk_min + sum(problem.prizes[p].minutes for p in leg.prizes)
        seen += leg.prizes
    assert here == problem.finish
    assert clock <= problem.minutes + 1e-5
    assert sorted(seen) == list(result.gathered)
    assert len(set(seen)) == len(seen)


@settings(max_examples=120, deadline=None)
@given(problems())
def test_agrees_with_brute_force(problem: WalkProblem) -> None:
    best, result = best_by_enumeration(problem), planned(problem)
    assert (result is None) == (best is None)
    if result is not None and best is not None:
        holds_up(problem, result)
        assert result.proved
        assert result.kg == pytest.approx(best, abs=1e-5)
        assert result.bound_kg >= best - 1e-5


@settings(max_examples=40, deadline=None)
@given(problems(), st.integers(1, 30).map(float))
def test_more_of_anything_never_lowers_and_closing_never_raises(problem: WalkProblem, more: float) -> None:
    result = planned(problem)
    if result is None:
        return
    graph = problem.graph
    for better in (
        replace(problem, minutes=problem.minutes + more),
        replace(problem, carry_kg=problem.carry_kg + more),
        replace(problem, place_limit_kg=(problem.place_limit_kg[0] + more, math.inf)),
    ):
        answer = planned(better)
        assert answer is not None
        assert answer.kg >= result.kg - 1e-5
    there, back = graph.forward_min.copy(), graph.backward_min.copy()
    there[0] = back[0] = math.inf
    closed = planned(replace(problem, graph=replace(graph, forward_min=there, backward_min=back)))
    assert closed is None or closed.kg <= result.kg + 1e-5


@settings(max_examples=25, deadline=None)
@given(problems())
def test_a_place_without_permission_gives_no_gram(problem: WalkProblem) -> None:
    forbidden = replace(problem, place_limit_kg=(0.0, math.inf))
    result = planned(forbidden)
    if result is not None:
        assert all(problem.prizes[p].place == 1 or problem.prizes[p].kg == 0.0 for p in result.gathered)


@settings(max_examples=25, deadline=None)
@given(problems())
def test_must_see_is_seen(problem: WalkProblem) -> None:
    wanted = replace(problem, must_see=frozenset({0}))
    best, result = best_by_enumeration(wanted), planned(wanted)
    assert (result is None) == (best is None)
    if result is not None and best is not None:
        assert 0 in result.gathered
        assert result.kg == pytest.approx(best, abs=1e-5)
