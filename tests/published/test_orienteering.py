"""Published orienteering instances: scores reached, and bounds never below a known optimum.

Tsiligirides 1984, J. Oper. Res. Soc. 35; Chao, Golden, Wasil 1996, Eur. J. Oper. Res. 88. Best known
and proved scores from best_known.csv beside the sets. All of them: ``python -m
benchmarks.bench_walk published``.
"""

from __future__ import annotations

import pytest
from benchmarks.walk_instances import ORIENTEERING, Case, published_cases

from underoak.walk.bound import Tightening
from underoak.walk.formulation import formulate, ground_of
from underoak.walk.solve import Effort, solve

CASES = {case.name: case for case in published_cases()}
pytestmark = [
    pytest.mark.outside,
    pytest.mark.skipif(not ORIENTEERING.exists(), reason="../shared/data/orienteering is missing"),
]

#: Instances that the search closes within a few rounds; seeds and rounds make the outcome the same anywhere.
EASY = ("T1/25", "T1/46", "T1/73", "T2/20", "T2/38", "T2/45", "T3/30", "T3/65", "T3/100", "C66/35", "C66/65")


@pytest.mark.parametrize("name", EASY)
def test_search_reaches_the_best_known(name: str) -> None:
    case = CASES[name]
    result = solve(case.problem, seed=1, effort=Effort(rounds=600, prove=False, enough_kg=case.best))
    assert result.kg == pytest.approx(case.best)


def _bound(case: Case) -> float:
    return Tightening(formulate(ground_of(case.problem))).advance(0.0, rounds=6).bound_kg


@pytest.mark.parametrize("name", ["T1/30", "T2/27", "T2/38", "T3/45", "C64/25", "C66/15"])
def test_bound_is_not_below_the_optimum(name: str) -> None:
    case = CASES[name]
    assert case.proved
    assert _bound(case) >= case.best - 1e-6
