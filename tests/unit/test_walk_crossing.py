"""Two walks crossed: what is kept of each, and that no order of the same prizes gets longer by shortening."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from benchmarks.walk_instances import generated_wood

from underoak.walk.crossing import crossed
from underoak.walk.formulation import ground_of
from underoak.walk.problem import Prize
from underoak.walk.result import legs_of
from underoak.walk.shorten import shorten
from underoak.walk.solve import Effort, Progress, solve
from underoak.walk.steps import steps_of_sequence
from underoak.walk.tour import Lay, lay_out, tour_minutes


@pytest.fixture(scope="module")
def lay() -> Lay:
    problem = generated_wood(60, 1, 90.0)
    ground = ground_of(problem)
    return lay_out(ground.modes, ground.ways, problem.start, problem.finish, problem.minutes)


def some(lay: Lay, rng: np.random.Generator, count: int) -> list[int]:
    """Modes of ``count`` different prizes in random order and direction."""
    prizes = np.unique(lay.modes.prize)
    chosen = rng.choice(prizes, count, replace=False)
    return [int(rng.choice(np.flatnonzero(lay.modes.prize == prize))) for prize in chosen]


@pytest.mark.parametrize("seed", range(20))
def test_a_crossed_walk_gathers_a_stretch_of_the_other_and_nothing_twice(lay: Lay, seed: int) -> None:
    rng = np.random.default_rng(seed)
    one, other = some(lay, rng, int(rng.integers(0, 12))), some(lay, rng, int(rng.integers(1, 12)))
    child = crossed(lay, list(one), list(other), rng)
    prizes = lay.modes.prize[child].tolist()
    assert len(set(prizes)) == len(prizes)
    assert set(lay.modes.prize[one].tolist()) <= set(prizes)
    taken = [p for p in lay.modes.prize[other].tolist() if p in set(prizes)]
    assert len(taken) >= min(2, len(other))


@pytest.mark.parametrize("seed", range(20))
def test_shortening_keeps_the_prizes_and_never_lengthens(lay: Lay, seed: int) -> None:
    rng = np.random.default_rng(seed)
    sequence = some(lay, rng, int(rng.integers(1, 14)))
    before = tour_minutes(lay, sequence)
    shorter, minutes = shorten(lay, list(sequence))
    assert sorted(lay.modes.prize[shorter].tolist()) == sorted(lay.modes.prize[sequence].tolist())
    assert minutes == pytest.approx(tour_minutes(lay, shorter))
    assert minutes <= before + 1e-9


@pytest.mark.parametrize("seed", range(10))
def test_what_lies_on_one_edge_is_walked_to_once(seed: int) -> None:
    """The search's own minutes are never fewer than those of the walk, counted step by step."""
    rng = np.random.default_rng(seed)
    wood = generated_wood(60, 1, 1e4)
    more = tuple(Prize(0.1, 2.0, edge=prize.edge) for prize in wood.prizes if prize.edge >= 0)
    problem = replace(wood, prizes=wood.prizes + more)
    ground = ground_of(problem)
    lay = lay_out(ground.modes, ground.ways, problem.start, problem.finish, problem.minutes)
    sequence, _ = shorten(lay, some(lay, rng, 20))
    doubled = [m for mode in sequence for m in (mode, *_beside(lay, mode, sequence))]
    steps = steps_of_sequence(problem, lay, ground.arcs, doubled)
    prizes = lay.modes.prize[doubled].tolist()
    assert legs_of(problem, steps, prizes)[2] <= tour_minutes(lay, doubled) + 1e-6
    gathering = sum(problem.prizes[p].minutes for p in set(prizes) - set(lay.modes.prize[sequence].tolist()))
    assert tour_minutes(lay, doubled) == pytest.approx(tour_minutes(lay, sequence) + gathering)


def _beside(lay: Lay, mode: int, sequence: list[int]) -> list[int]:
    """What else can be gathered on a mode's edge in its direction and is not gathered yet."""
    modes = lay.modes
    same = (modes.edge == modes.edge[mode]) & (modes.entry == modes.entry[mode]) & (modes.edge >= 0)
    return np.flatnonzero(same & ~np.isin(modes.prize, modes.prize[sequence])).tolist()


def test_a_first_walk_is_told_before_the_search_goes_on() -> None:
    told: list[Progress] = []
    problem = generated_wood(60, 1, 90.0)
    result = solve(problem, effort=Effort(rounds=60, prove=False), tell=told.append)
    assert 0.8 * result.kg <= told[0].kg <= result.kg
