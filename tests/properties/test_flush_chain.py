"""The filter against plain enumeration of every path, and against a plain matrix forward pass."""

from __future__ import annotations

import itertools
import random

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from underoak.outlook.flush_model import Chains, Evidence, ageing_chance, filter_states, onset_hazard
from underoak.outlook.leaps import leap_likelihood

FloatArray = npt.NDArray[np.float64]
DAYS = 6
chance = st.floats(0.01, 0.99)


@st.composite
def small_chains(draw: st.DrawFn) -> tuple[Chains, Evidence]:
    """Two chains over six days with up to four looks at any days."""
    table = st.lists(st.lists(chance, min_size=2, max_size=2), min_size=DAYS, max_size=DAYS)
    chains = Chains(np.array(draw(table)), np.array([draw(chance), draw(chance)]), np.array(draw(table)))
    looks = sorted(draw(st.lists(st.tuples(st.integers(0, DAYS - 1), st.integers(0, 1)), max_size=4)))
    states = [[draw(chance) for _ in range(4)] for _ in looks]
    return chains, Evidence(
        chain=np.array([c for _, c in looks], dtype=np.intp),
        day=np.array([d for d, _ in looks], dtype=np.intp),
        by_state=np.array(states, dtype=np.float64).reshape(-1, 4),
        idle=np.array([draw(chance) for _ in looks], dtype=np.float64),
    )


def transition(chains: Chains, chain: int, day: int) -> FloatArray:
    """The 4 x 4 matrix of one day, written out in full."""
    h, r, a = chains.onset[day, chain], chains.ripening[chain], chains.ageing[day, chain]
    return np.array([[1 - h, h, 0, 0], [0, 1 - r, r, 0], [0, 0, 1 - a, a], [0, 0, 0, 1]])


def outcome(evidence: Evidence, chain: int, day: int) -> FloatArray:
    """Chance of all that was seen on a chain and day, by state."""
    rows = (evidence.chain == chain) & (evidence.day == day)
    return np.asarray(evidence.by_state[rows].prod(axis=0))


def by_enumeration(chains: Chains, evidence: Evidence, chain: int) -> tuple[float, FloatArray]:
    """Likelihood and last-day state chances, as sums over all 4^6 paths."""
    ends = np.zeros(4)
    moves = [transition(chains, chain, day).tolist() for day in range(DAYS)]
    seen = [outcome(evidence, chain, day).tolist() for day in range(DAYS)]
    for path in itertools.product(range(4), repeat=DAYS):
        weight, before = 1.0, 0
        for day, state in enumerate(path):
            weight *= moves[day][before][state] * seen[day][state]
            before = state
            if weight == 0.0:
                break
        ends[path[-1]] += weight
    return float(ends.sum()), ends / ends.sum()


@settings(max_examples=12, deadline=None)
@given(small_chains())
def test_filter_equals_the_sum_over_all_paths(case: tuple[Chains, Evidence]) -> None:
    chains, evidence = case
    filtered = filter_states(chains, evidence, np.array([DAYS - 1]))
    for chain in range(2):
        likelihood, ends = by_enumeration(chains, evidence, chain)
        assert filtered.fruited[chain, 0] == pytest.approx(np.log(likelihood), abs=1e-9)
        assert filtered.states[chain, 0] == pytest.approx(ends, abs=1e-9)


@settings(max_examples=40, deadline=None)
@given(small_chains())
def test_filter_equals_a_matrix_forward_pass_on_every_day(case: tuple[Chains, Evidence]) -> None:
    chains, evidence = case
    filtered = filter_states(chains, evidence, np.arange(DAYS))
    for chain in range(2):
        alpha = np.array([1.0, 0.0, 0.0, 0.0])
        for day in range(DAYS):
            alpha = alpha @ transition(chains, chain, day) * outcome(evidence, chain, day)
            assert filtered.states[chain, day] == pytest.approx(alpha / alpha.sum(), abs=1e-9)
            assert filtered.fruited[chain, day] == pytest.approx(np.log(alpha.sum()), abs=1e-9)


@settings(max_examples=40, deadline=None)
@given(small_chains(), st.lists(st.integers(0, 1), min_size=2, max_size=5), st.randoms(use_true_random=False))
def test_leaps_from_look_to_look_equal_the_filter_day_by_day(
    case: tuple[Chains, Evidence], kind: list[int], rng: random.Random
) -> None:
    """Rows that share a chain, some of them looked at alike, with one point each."""
    chains, evidence = case
    rows = np.array([rng.randrange(len(kind)) for _ in evidence.day], dtype=np.intp)
    shared = Evidence(rows, evidence.day, evidence.by_state, evidence.idle)
    if len(kind) > 2:  # the last row is looked at just as the first
        copies = np.flatnonzero(rows == 0)
        keep = np.concatenate([np.flatnonzero(rows != len(kind) - 1), copies])
        chain = np.concatenate([rows[rows != len(kind) - 1], np.full(len(copies), len(kind) - 1)])
        shared = Evidence(chain, evidence.day[keep], evidence.by_state[keep], evidence.idle[keep])
    found = leap_likelihood(chains, np.array(kind), shared, points=1)[:, 0]
    each = Chains(chains.onset[:, kind], chains.ripening[kind], chains.ageing[:, kind])
    order = np.argsort(shared.day, kind="stable")
    by_day = Evidence(shared.chain[order], shared.day[order], shared.by_state[order], shared.idle[order])
    assert found == pytest.approx(filter_states(each, by_day, np.array([DAYS - 1])).fruited[:, 0], abs=1e-10)


@settings(max_examples=40, deadline=None)
@given(st.floats(-50.0, 400.0), st.floats(1.0, 40.0), st.floats(1.0, 60.0))
def test_state_chances_stay_chances(mean_day: float, sd_days: float, prime_days: float) -> None:
    onset = onset_hazard(np.array([mean_day]), np.array([sd_days]))
    flat = np.ones_like(onset)
    ageing = ageing_chance(np.array([prime_days]), flat, 0.1 * flat)
    assert np.all((onset >= 0.0) & (onset <= 1.0))
    chains = Chains(onset, np.array([0.5]), ageing)
    none = Evidence(np.zeros(0, np.intp), np.zeros(0, np.intp), np.zeros((0, 4)), np.zeros(0))
    states = filter_states(chains, none, np.arange(len(onset))).states
    assert states.sum(axis=2) == pytest.approx(np.ones((1, len(onset))))
    assert np.all(np.diff(states[0, :, 0]) <= 1e-12)
    assert np.all(np.diff(states[0, :, 3]) >= -1e-12)
