"""The sweep over the watch: what it finds on small graphs, what it never does."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.walk_cases import best_by_enumeration, complete_problem, graph_of
from underoak.walk.afresh import Afresh
from underoak.walk.formulation import Ground, ground_of
from underoak.walk.problem import Prize, WalkProblem
from underoak.walk.solve import Effort, solve
from underoak.walk.sweep import Sweep, nearest_arcs, on_the_way
from underoak.walk.tour import lay_out, tour_minutes


def ring_and_spur(minutes: float) -> WalkProblem:
    """A ring of four edges of 5 minutes with a blind spur of 4, a prize on each and an oak at its end."""
    edges = [(0, 1, 5.0, 5.0), (1, 2, 5.0, 5.0), (2, 3, 5.0, 5.0), (3, 0, 5.0, 5.0), (1, 4, 4.0, 4.0)]
    prizes = [Prize(0.1 * (k + 1), 1.0, edge=k) for k in range(5)]
    return WalkProblem(graph_of(5, edges), (*prizes, Prize(0.7, 2.0, node=4)), 0, 0, minutes)


def swept(ground: Ground, minutes: float, without: list[int] | None = None) -> list[int]:
    problem, modes = ground.problem, ground.modes
    to, back = ground.ways.minutes[problem.start], ground.ways.minutes[:, problem.finish]
    arcs, chosen = on_the_way(to, back, ground.arcs, modes, minutes)
    chosen = chosen[~np.isin(modes.prize[chosen], modes.prize[without or []])]
    sweep = Sweep(np.minimum(to, back), arcs, modes, chosen, 1.0)
    return sweep.best(modes.kg, problem.start, problem.finish, minutes)


@pytest.mark.parametrize("minutes", [12.0, 21.0, 23.0, 30.0])
def test_whole_ticks_on_a_small_wood_give_the_best_walk(minutes: float) -> None:
    """All minutes are whole, so that ticks of one minute round nothing; enumeration is the judge."""
    problem = ring_and_spur(minutes)
    ground = ground_of(problem)
    sequence = swept(ground, minutes)
    assert ground.modes.kg[sequence].sum() == pytest.approx(best_by_enumeration(problem))
    lay = lay_out(ground.modes, ground.ways, 0, 0, minutes)
    assert tour_minutes(lay, sequence) <= minutes
    assert len(set(ground.modes.prize[sequence])) == len(sequence)


@pytest.mark.parametrize("minutes", [36.0, 40.0, 60.0])
def test_one_label_for_each_node_and_tick_is_no_proof(minutes: float) -> None:
    """The sweep may miss the best walk, but never counts more than there is."""
    problem = ring_and_spur(minutes)
    ground = ground_of(problem)
    kg, best = ground.modes.kg[swept(ground, minutes)].sum(), best_by_enumeration(problem)
    assert best is not None
    assert 0.7 * best <= kg <= best + 1e-9


def test_what_is_left_out_is_not_gathered() -> None:
    ground = ground_of(ring_and_spur(40.0))
    first = swept(ground, 40.0)
    assert first
    second = swept(ground, 40.0, first)
    assert not set(ground.modes.prize[first]) & set(ground.modes.prize[second])


def test_a_finish_out_of_reach_gives_nothing() -> None:
    ground = ground_of(ring_and_spur(40.0))
    near = np.minimum(ground.ways.minutes[0], ground.ways.minutes[:, 2])
    sweep = Sweep(near, ground.arcs, ground.modes, np.arange(len(ground.modes.prize)), 1.0)
    assert sweep.best(ground.modes.kg, 0, 2, 9.0) == []
    assert sweep.best(ground.modes.kg, 0, 2, 12.0) != []


@pytest.mark.parametrize("minutes", [12.0, 23.0, 31.0])
def test_looking_only_at_what_is_on_the_way_loses_nothing(minutes: float) -> None:
    """With whole minutes the sweep over everything at every tick is the judge."""
    ground = ground_of(ring_and_spur(minutes))
    everything = Sweep(np.zeros(5), ground.arcs, ground.modes, np.arange(len(ground.modes.prize)), 1.0)
    kg = ground.modes.kg
    assert kg[swept(ground, minutes)].sum() == pytest.approx(kg[everything.best(kg, 0, 0, minutes)].sum())


def test_only_the_quickest_arcs_into_each_node_stay() -> None:
    rng = np.random.default_rng(3)
    arcs = ground_of(complete_problem([(*rng.random(2), 1.0) for _ in range(20)], 5.0)).arcs
    few = nearest_arcs(arcs, 20, 4)
    for node in range(20):
        assert sorted(few.minutes[few.head == node]) == sorted(arcs.minutes[arcs.head == node])[:4]


@pytest.mark.parametrize("seed", range(3))
def test_swept_walks_keep_their_time(seed: int) -> None:
    rng = np.random.default_rng(seed)
    problem = complete_problem([(*rng.random(2), float(rng.integers(1, 9))) for _ in range(40)], 2.5)
    ground = ground_of(problem)
    lay = lay_out(ground.modes, ground.ways, problem.start, problem.finish, problem.minutes)
    afresh = Afresh(lay, ground.arcs, np.zeros(len(ground.modes.prize), dtype=bool), rng)
    walk = afresh.whole(ground.modes.kg)
    again = afresh.stretch(walk, ground.modes.kg)
    for sequence in (walk, again):
        assert tour_minutes(lay, sequence) <= problem.minutes + 1e-6
        assert len(set(ground.modes.prize[sequence])) == len(sequence)
        assert ground.modes.kg[sequence].sum() > 0.15 * ground.modes.kg.sum()


def test_a_far_patch_is_seen_at_once() -> None:
    """Many small prizes near by hide a rich loop far away, which no single insertion shows to pay."""
    edges = [(k, k + 1, 4.0, 4.0) for k in range(10)]
    edges += [(10 + k, 11 + k if k < 5 else 10, 3.0, 3.0) for k in range(6)]
    near = [(0, 16 + k, 2.0, 2.0) for k in range(25)]
    prizes = [Prize(0.6, 1.0, edge=10 + k) for k in range(6)]
    prizes += [Prize(0.1, 1.0, edge=16 + k) for k in range(25)]
    problem = WalkProblem(graph_of(41, edges + near), tuple(prizes), 0, 0, 110.0)
    few = Effort(rounds=8, prove=False)
    assert solve(problem, seed=1, effort=few).kg == pytest.approx(3.7)


def test_the_same_seed_sweeps_the_same_walk() -> None:
    problem = ring_and_spur(31.0)
    effort = Effort(rounds=30, seconds=math.inf, prove=False)
    first, second = (solve(problem, seed=5, effort=effort) for _ in range(2))
    assert first == second
