"""What must hold of the review's figures for any records."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy import stats

from underoak.review.association import contingency, holm, rank_correlation, two_groups
from underoak.review.intervals import chance_of_return, difference, mean_of, ratio_of, share_of
from underoak.review.own_yields import joined_range
from underoak.review.side_of_tree import side_of_tree

FEW = settings(max_examples=40, deadline=None)
NUMBERS = st.floats(-100.0, 100.0).map(lambda x: round(x, 2))
HOURS = st.floats(0.1, 10.0)


@FEW
@given(st.lists(NUMBERS, min_size=2, max_size=12))
def test_a_mean_is_students(values: list[float]) -> None:
    found = mean_of(values)
    assert found.value == pytest.approx(np.mean(values), abs=1e-9)
    if np.std(values) > 1e-6:
        interval = stats.ttest_1samp(values, 0.0).confidence_interval(0.95)
        assert found.low == pytest.approx(interval.low, rel=1e-6, abs=1e-9)
        assert found.p_against(1.0) == pytest.approx(stats.ttest_1samp(values, 1.0).pvalue, abs=1e-9)


@FEW
@given(st.lists(NUMBERS, min_size=3, max_size=9), st.lists(NUMBERS, min_size=3, max_size=9))
def test_a_difference_is_welchs(one: list[float], other: list[float]) -> None:
    assume(np.std(one) > 1e-3 and np.std(other) > 1e-3)
    found = difference(mean_of(one), mean_of(other))
    test = stats.ttest_ind(one, other, equal_var=False)
    assert found.p_against(0.0) == pytest.approx(test.pvalue, abs=1e-9)
    assert found.low == pytest.approx(test.confidence_interval(0.95).low, rel=1e-6, abs=1e-6)


@FEW
@given(st.lists(st.tuples(st.floats(0.0, 20.0), HOURS), min_size=2, max_size=10), st.floats(0.1, 9.0))
def test_a_ratio_does_not_depend_on_the_unit_of_time(pairs: list[tuple[float, float]], unit: float) -> None:
    kg, hours = [k for k, _ in pairs], [h for _, h in pairs]
    found, other = ratio_of(kg, hours), ratio_of(kg, [unit * h for h in hours])
    assert found.low is not None
    assert found.high is not None
    assert found.low <= found.value <= found.high
    assert other.value * unit == pytest.approx(found.value, abs=1e-9)
    assert (other.high or 0.0) * unit == pytest.approx(found.high, abs=1e-9)


@FEW
@given(st.integers(0, 40), st.integers(0, 40))
def test_a_share_lies_in_its_interval_and_is_the_reference_librarys(count: int, more: int) -> None:
    assume(count + more > 0)
    found = share_of(count, count + more)
    expected = stats.binomtest(count, count + more).proportion_ci(0.95, method="exact")
    assert (found.low, found.high) == pytest.approx((expected.low, expected.high), abs=1e-9)


@FEW
@given(st.integers(0, 12), st.integers(0, 12), st.floats(0.05, 0.95))
def test_a_season_that_fruits_never_lowers_the_chance_of_return(k: int, blank: int, prior: float) -> None:
    before = chance_of_return(k, k + blank, prior, 4.0)
    after = chance_of_return(k + 1, k + blank + 1, prior, 4.0)
    assert 0.0 <= (before.low or 0.0) <= before.value <= (before.high or 0.0) <= 1.0
    assert after.value > before.value
    assert (after.low or 0.0) >= (before.low or 0.0)


@FEW
@given(st.lists(st.floats(0.0, 359.0), min_size=1, max_size=30), st.floats(0.0, 360.0))
def test_turning_the_tree_turns_the_mean_and_nothing_else(bearings: list[float], turn: float) -> None:
    found = side_of_tree(bearings, 40.0)
    turned = side_of_tree([b + turn for b in bearings], 40.0 + turn)
    assert 0.0 <= found.resultant <= 1.0
    assert turned.resultant == pytest.approx(found.resultant, abs=1e-9)
    assert turned.v_p == pytest.approx(found.v_p, abs=1e-9)
    if found.resultant > 1e-6:
        gap = (turned.mean_deg - found.mean_deg - turn + 180.0) % 360.0 - 180.0
        assert gap == pytest.approx(0.0, abs=1e-4)


@FEW
@given(st.lists(st.integers(0, 4), min_size=3, max_size=6), st.data())
def test_tau_is_the_reference_librarys_also_with_ties(x: list[int], data: st.DataObject) -> None:
    y = data.draw(st.lists(st.integers(0, 4), min_size=len(x), max_size=len(x)))
    assume(len(set(x)) > 1 and len(set(y)) > 1)
    found = rank_correlation([float(v) for v in x], [float(v) for v in y])
    assert found.statistic == pytest.approx(stats.kendalltau(x, y).statistic)
    assert found.least_p <= found.p <= 1.0
    if len(set(x)) == len(x) and len(set(y)) == len(y):
        assert found.p == pytest.approx(stats.kendalltau(x, y, method="exact").pvalue)


@FEW
@given(st.lists(NUMBERS, min_size=1, max_size=5), st.lists(NUMBERS, min_size=1, max_size=5))
def test_two_groups_are_the_reference_librarys(one: list[float], other: list[float]) -> None:
    found = two_groups(one, other)
    assert found.statistic == pytest.approx(stats.mannwhitneyu(one, other).statistic)
    if len({*one, *other}) == len(one) + len(other):
        assert found.p == pytest.approx(stats.mannwhitneyu(one, other, method="exact").pvalue)


@FEW
@given(st.lists(st.integers(0, 7), min_size=4, max_size=4))
def test_small_tables_are_the_reference_librarys(cells: list[int]) -> None:
    a, b, c, d = cells
    assume((a + b) * (c + d) * (a + c) * (b + d) > 0)
    found = contingency([[a, b], [c, d]])
    assert found.p == pytest.approx(stats.fisher_exact(np.array([[a, b], [c, d]])).pvalue, abs=1e-9)
    assert found.least_p <= found.p + 1e-12


@FEW
@given(st.lists(st.floats(0.0, 1.0), min_size=1, max_size=9))
def test_holm_never_lowers_a_p_and_keeps_the_order(p: list[float]) -> None:
    adjusted = holm(p)
    assert all(a >= b and a <= 1.0 for a, b in zip(adjusted, p, strict=True))
    order = np.argsort(p, kind="stable")
    assert all(x <= y for x, y in pairwise(np.array(adjusted)[order]))


@FEW
@given(st.floats(50.0, 150.0), st.floats(1.0, 2.0), st.floats(50.0, 400.0))
def test_own_batches_lead_the_yield_to_their_own(low: float, times: float, own: float) -> None:
    book = (low, low * times)
    gaps = []
    for n in (0, 1, 3, 300):
        least, most = joined_range(book, [own] * n)
        gaps.append(abs(math.log(math.sqrt(least * most) / own)))
    assert all(later <= earlier + 1e-9 for earlier, later in pairwise(gaps))
    assert gaps[-1] <= 0.011 * gaps[0] + 1e-9
