"""The interval of a shift stands on all orders of two groups: counted out here where that is possible."""

from __future__ import annotations

from itertools import combinations

import pytest

from underoak.review.shift import shift_of


@pytest.mark.parametrize(("m", "n"), [(3, 4), (4, 3), (5, 5), (2, 9), (7, 4)])
def test_bounds_leave_out_no_more_than_the_tail_of_all_orders(m: int, n: int) -> None:
    every = list(combinations(range(m + n), m))
    u = sorted(sum(place - at for at, place in enumerate(places)) for places in every)
    one, other = [10.0**k for k in range(m)], [3.0 * 10.0**-k for k in range(n)]
    gaps = sorted(a - b for a in one for b in other)
    found = shift_of(one, other)
    # the largest k of which U <= k - 1 is no likelier than 2.5 %
    k = max((k for k in range(m * n) if sum(x <= k - 1 for x in u) <= 0.025 * len(u)), default=0)
    assert (found.low, found.high) == ((gaps[k - 1], gaps[-k]) if k else (None, None))
