"""Review figures against printed tables, a real map and reference libraries."""

from __future__ import annotations

import math
import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy import stats

from tests.outside_data import spatstat
from underoak.review.association import contingency, rank_correlation, two_groups
from underoak.review.intervals import poisson_interval, share_of
from underoak.review.shift import shift_of
from underoak.review.side_of_tree import half_width_deg, rayleigh_p, side_of_tree

CASES = tomllib.loads(Path(__file__).with_name("review.toml").read_text("utf-8"))


def named(case: dict[str, Any]) -> str:
    return str(case.get("name") or case.get("taxon") or next(iter(case.values())))


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


@pytest.mark.parametrize("case", CASES["share"], ids=lambda case: f"{case['count']} of {case['of']}")
def test_share_matches_the_table(case: dict[str, Any]) -> None:
    share = share_of(case["count"], case["of"])
    assert share.low == pytest.approx(case["low"], abs=case["tolerance"])
    assert share.high == pytest.approx(case["high"], abs=case["tolerance"])


@pytest.mark.parametrize("case", CASES["contingency"], ids=named)
def test_contingency_matches_the_printed_p(case: dict[str, Any]) -> None:
    result = contingency(case["table"])
    assert result.p == pytest.approx(case["p"], abs=case["tolerance"])
    assert result.exact is case["exact"]


@pytest.mark.parametrize("case", CASES["two_groups"], ids=named)
def test_two_groups_match_the_printed_p(case: dict[str, Any]) -> None:
    result = two_groups(case["one"], case["other"])
    assert result.statistic == pytest.approx(case["statistic"])
    assert result.p == pytest.approx(case["p"], abs=case["tolerance"])
    assert shift_of(case["one"], case["other"]).value == pytest.approx(case["shift"])


@pytest.mark.parametrize("case", CASES["rank_correlation"], ids=named)
def test_rank_correlation_matches_the_printed_p(case: dict[str, Any]) -> None:
    result = rank_correlation(case["x"], case["y"])
    assert result.statistic == pytest.approx(case["statistic"], abs=case["tolerance"])
    assert result.p == pytest.approx(case["p"], abs=case["tolerance"])


@pytest.mark.parametrize("case", CASES["directions"], ids=named)
def test_directions_match_the_reference_library(case: dict[str, Any]) -> None:
    found = side_of_tree(case["bearings"], case["toward"])
    assert found.mean_deg == pytest.approx(case["mean"], rel=1e-12)
    assert found.resultant == pytest.approx(case["resultant"], rel=1e-12)
    assert found.rayleigh_p == pytest.approx(case["rayleigh_p"], rel=1e-9)
    assert found.v_p == pytest.approx(case["v_p"], rel=1e-9)


@pytest.mark.parametrize("case", CASES["rayleigh_critical"], ids=named)
def test_rayleigh_matches_the_printed_critical_value(case: dict[str, Any]) -> None:
    """Zar 1999, Table B.34; from memory."""
    assert rayleigh_p(case["z"], case["n"]) == pytest.approx(case["p"], abs=0.0003)


def test_rayleigh_errs_as_often_as_it_says() -> None:
    """Reference: 20,000 seeded samples of ten directions without any favoured side; three standard errors."""
    turns = np.random.default_rng(1).uniform(0.0, 2.0 * np.pi, (20_000, 10))
    z = (np.cos(turns).sum(axis=1) ** 2 + np.sin(turns).sum(axis=1) ** 2) / 10.0
    errs = np.mean([rayleigh_p(float(one), 10) <= 0.05 for one in z])
    assert errs == pytest.approx(0.05, abs=3.0 * np.sqrt(0.05 * 0.95 / 20_000))


@pytest.mark.parametrize(("kappa", "n"), [(0.8, 30), (1.5, 15), (6.0, 12)])
def test_the_interval_of_a_mean_direction_holds_as_often_as_it_says(kappa: float, n: int) -> None:
    """Reference: 4,000 seeded samples of numpy's von Mises directions about a known mean; 95 % within 2 %.

    Samples so spread that no interval is given count as held: all round holds every mean.
    """
    drawn = np.random.default_rng(7).vonmises(1.0, kappa, (4000, n))
    held = 0
    for sample in np.degrees(drawn):
        found = side_of_tree([float(one) for one in sample])
        off = abs((found.mean_deg - math.degrees(1.0) + 180.0) % 360.0 - 180.0)
        held += found.within_deg is None or off <= found.within_deg
    assert held / 4000 == pytest.approx(0.95, abs=0.02)


def test_the_interval_of_a_mean_direction_is_the_handbook_s() -> None:
    """Zar 1999, example 26.6: eight directions, r 0.825, mean 99, limits 68 and 130 degrees; from memory."""
    assert half_width_deg(0.82522, 8) == pytest.approx(31.0, abs=0.5)
    assert side_of_tree([0.0, 10.0] * 4).within_deg is None  # the review speaks from ten directions on


def test_directions_all_round_get_no_interval() -> None:
    assert side_of_tree([30.0 * k for k in range(12)]).within_deg is None
    narrow = side_of_tree([80.0, 85.0, 90.0, 95.0, 100.0] * 3).within_deg
    assert narrow is not None
    assert 1.0 < narrow < 8.0


@pytest.mark.parametrize("case", CASES["ford_1980"], ids=named)
def test_fruit_bodies_around_a_real_birch_give_the_reference_figures(case: dict[str, Any]) -> None:
    """Figures: astropy.stats 8.0.2, run once on the same map."""
    stand = spatstat("sporophores")
    bearings = [
        math.degrees(math.atan2(x, y)) % 360.0
        for x, y, kind in zip(stand["x"], stand["y"], stand["marks"], strict=True)
        if kind == case["taxon"]
    ]
    assert len(bearings) == case["bodies"]
    found = side_of_tree(bearings, 0.0)
    assert found.mean_deg == pytest.approx(case["mean"], rel=1e-12)
    assert found.resultant == pytest.approx(case["resultant"], rel=1e-12)
    assert found.rayleigh_p == pytest.approx(case["rayleigh_p"], rel=1e-9)
    assert found.v_p == pytest.approx(case["v_p"], rel=1e-9)
