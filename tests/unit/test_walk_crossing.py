"""Two walks crossed: what is kept of each, and that no order of the same prizes gets longer by shortening."""

from __future__ import annotations

import numpy as np
import pytest
from benchmarks.walk_instances import generated_wood

from underoak.walk.crossing import crossed
from underoak.walk.formulation import ground_of
from underoak.walk.shorten import shorten
from underoak.walk.solve import Effort, Progress, solve
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


def test_a_first_walk_is_told_before_the_search_goes_on() -> None:
    told: list[Progress] = []
    problem = generated_wood(60, 1, 90.0)
    result = solve(problem, effort=Effort(rounds=60, prove=False), tell=told.append)
    assert 0.8 * result.kg <= told[0].kg <= result.kg
