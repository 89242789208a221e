"""Review figures against printed tables and a reference library."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest
from scipy import stats

from underoak.review.catch_rate import poisson_interval

CASES = tomllib.loads(Path(__file__).with_name("review.toml").read_text("utf-8"))


@pytest.mark.parametrize("case", CASES["poisson_interval"], ids=lambda case: f"count {case['count']}")
def test_poisson_interval_matches_the_table(case: dict[str, Any]) -> None:
    low, high = poisson_interval(case["count"])
    assert low == pytest.approx(case["low"], abs=case["tolerance"])
    assert high == pytest.approx(case["high"], abs=case["tolerance"])


@pytest.mark.parametrize("count", range(1, 60, 7))
def test_poisson_interval_leaves_the_stated_tails(count: int) -> None:
    """Reference: scipy.stats.poisson, with the definition of an exact interval."""
    low, high = poisson_interval(count, confidence=0.9)
    assert stats.poisson.sf(count - 1, low) == pytest.approx(0.05)
    assert stats.poisson.cdf(count, high) == pytest.approx(0.05)
