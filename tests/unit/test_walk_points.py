"""Walks over points: what a chain keeps while it changes, and what an annealed walk must obey."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from benchmarks.walk_instances import KINDS, generated_wood, scattered

from underoak.walk.anneal import Anneal
from underoak.walk.chain import Chain, Points, points_of
from underoak.walk.formulation import ground_of
from underoak.walk.point_search import FEW, PointSearch, search_of
from underoak.walk.problem import WalkGraph, WalkProblem
from underoak.walk.solve import Effort, solve
from underoak.walk.tour import Lay, lay_out, tour_minutes


def lay_of(problem: WalkProblem) -> Lay:
    ground = ground_of(problem)
    return lay_out(ground.modes, ground.ways, problem.start, problem.finish, problem.minutes)


def points_in(lay: Lay, must: tuple[int, ...] = ()) -> Points:
    must_modes = np.zeros(len(lay.modes.prize), dtype=bool)
    must_modes[list(must)] = True
    points = points_of(lay, must_modes)
    assert points is not None
    return points


def with_minutes(problem: WalkProblem) -> WalkProblem:
    """The same, with gathering that takes time and a finish elsewhere."""
    prizes = tuple(replace(p, minutes=5.0 * (k % 4)) for k, p in enumerate(problem.prizes))
    return replace(problem, prizes=prizes, finish=7)


@pytest.fixture(scope="module", params=["round", "one way"])
def lay(request: pytest.FixtureRequest) -> Lay:
    problem = scattered(40, 3)
    return lay_of(problem if request.param == "round" else with_minutes(problem))


@pytest.mark.parametrize("seed", range(10))
def test_a_chain_counts_right_and_polishing_never_lengthens(lay: Lay, seed: int) -> None:
    rng = np.random.default_rng(seed)
    chain = Chain(points_in(lay))
    some = rng.permutation(chain.points.count)[: int(rng.integers(0, 30))].tolist()
    chain.load(some)
    assert chain.sequence() == some
    before = chain.length
    chain.polish(some)
    shorter = chain.sequence()
    assert sorted(shorter) == sorted(some)
    assert chain.length <= before + 1e-9
    assert chain.length == pytest.approx(tour_minutes(lay, shorter))
    for c in shorter[::2]:
        chain.take_out(c)
        more, at = chain.gap(c)
        if at >= 0:
            chain.put_in(c, at, more)
    assert chain.length == pytest.approx(tour_minutes(lay, chain.sequence()))
    assert chain.kg == pytest.approx(lay.modes.kg[chain.sequence()].sum())


@pytest.mark.parametrize("seed", range(5))
def test_an_annealed_walk_keeps_its_time_and_what_must_be_seen(lay: Lay, seed: int) -> None:
    anneal = Anneal(points_in(lay, must=(4, 9)), seed)
    walk, price = anneal.cycle([4, 9], [[4, 9, 11, 12, 13]], price=0.1, hot=0.3, rounds=150, stop=bool)
    assert {4, 9} <= set(walk)
    assert len(set(walk)) == len(walk)
    assert tour_minutes(lay, walk) <= lay.minutes + 1e-6
    assert price > 0.0
    again = Anneal(anneal.points, seed)
    assert again.cycle([4, 9], [[4, 9, 11, 12, 13]], price=0.1, hot=0.3, rounds=150, stop=bool)[0] == walk


def test_points_in_clumps_know_the_way_to_each_other() -> None:
    points = points_in(lay_of(scattered(80, 2, kind="clumped", share=2.0)))
    reached, left = {points.count}, [points.count]
    linked: dict[int, set[int]] = {}
    for a, near in enumerate(points.near):
        assert all(one <= other for one, other in pairwise(near))
        for _, c in near:
            linked.setdefault(a, set()).add(c)
            linked.setdefault(c, set()).add(a)
    while left:
        new = linked[left.pop()] - reached
        reached |= new
        left += new
    assert reached >= set(range(points.count))


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_of_points_gives_the_same_walk_in_time_again(kind: str) -> None:
    problem = scattered(FEW + 2, 5, kind=kind)
    results = [solve(problem, effort=Effort(rounds=2, prove=False)) for _ in range(2)]
    assert results[0] == results[1]
    assert results[0].minutes <= problem.minutes + 1e-6
    assert results[0].kg > 0.4 * sum(p.kg for p in problem.prizes)


def test_only_free_points_with_equal_ways_back_are_annealed() -> None:
    free = scattered(20, 1)
    graph = free.graph
    steep = WalkGraph(graph.nodes, graph.start, graph.end, graph.forward_min, 1.2 * graph.backward_min)
    others = [replace(free, carry_kg=50.0), replace(free, graph=steep), generated_wood(40, 1, 90.0)]
    searches = [search_of(p, lay_of(p), ground_of(p).arcs, 0) for p in (free, *others)]
    assert [isinstance(search, PointSearch) for search in searches] == [True, False, False, False]


def test_what_must_be_seen_is_seen() -> None:
    problem = replace(scattered(40, 3), must_see=frozenset({5, 17}))
    result = solve(problem, effort=Effort(rounds=30, prove=False))
    assert {5, 17} <= set(result.gathered)
