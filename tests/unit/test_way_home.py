"""Cutting a walk short: the choices at each turn, and that each of them is a way that exists."""

from __future__ import annotations

import numpy as np
import pytest

from underoak.walk.problem import Prize, WalkGraph, WalkProblem
from underoak.walk.result import result_of
from underoak.walk.turns import Turn
from underoak.walk.way_home import ways_home

# A square 0-1-2-3 of 10 minutes a side with a diagonal 2-0 of 12 minutes; everything is worth a kilogram.
GRAPH = WalkGraph(4, np.array([0, 1, 2, 3, 2]), np.array([1, 2, 3, 0, 0]), np.full(5, 10.0), np.full(5, 10.0))
PRIZES = (Prize(1.0, 5.0, edge=0), Prize(2.0, 5.0, edge=1), Prize(0.5, 5.0, edge=2), Prize(0.25, 5.0, edge=3))


def _problem() -> WalkProblem:
    forward = np.array([10.0, 10.0, 10.0, 10.0, 12.0])
    graph = WalkGraph(GRAPH.nodes, GRAPH.start, GRAPH.end, forward, forward)
    return WalkProblem(graph, PRIZES, 0, 0, 60.0)


def _turn(number: int, prize: int) -> Turn:
    return Turn(number, 0.0, 0.0, 15.0 * (number - 1), 0.0, "N", 500.0, 10.0, 5.0, "t", "on", (prize,))


def test_every_turn_offers_the_plan_and_the_way_straight_back() -> None:
    problem = _problem()
    steps = [(0, True), (1, True), (2, True), (3, True)]
    result = result_of(problem, steps, [0, 1, 2, 3], bound_kg=9.0, method="")
    table = ways_home(problem, result, [_turn(n + 1, n) for n in range(4)])
    first = table[0].choices
    assert (first[0].minutes, first[0].kg) == pytest.approx((60.0, 3.75))
    assert (first[-1].minutes, first[-1].kg) == pytest.approx((0.0, 0.0))
    third = {choice.to: choice for choice in table[2].choices}
    # At node 2: as planned 30 minutes and 0.75 kg; straight back by the diagonal 12 minutes and nothing.
    assert third[3].minutes == pytest.approx(30.0)
    assert third[3].kg == pytest.approx(0.75)
    assert third[5].minutes == pytest.approx(12.0)
    assert third[5].steps == ((4, True),)


def test_a_choice_that_is_slower_for_no_more_is_left_out() -> None:
    problem = _problem()
    result = result_of(problem, [(0, True), (1, True), (4, True)], [0, 1], bound_kg=3.0, method="")
    turns = [_turn(1, 0), _turn(2, 1)]
    for way in ways_home(problem, result, turns):
        minutes = [choice.minutes for choice in way.choices]
        kilograms = [choice.kg for choice in way.choices]
        assert minutes == sorted(minutes, reverse=True)
        assert kilograms == sorted(kilograms, reverse=True)


def test_no_turn_no_table() -> None:
    result = result_of(_problem(), [], [], bound_kg=1.0, method="")
    assert ways_home(_problem(), result, []) == ()
