"""How far from the trail things are seen, fitted to finds."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.optimize import minimize_scalar
from scipy.stats import halfnorm, truncnorm

from tests.outside_data import spatstat
from underoak.model.ground import Spot, Trail
from underoak.woods.decay import find_distances_m, fit_sight
from underoak.woods.exposure import SIGHT_M, hosts_in_view
from underoak.woods.geodesy import LocalPlane
from underoak.woods.trails import build_network

PLANE = LocalPlane(-74.5, 41.5)
CASES = tomllib.loads((Path(__file__).parents[1] / "published" / "ground.toml").read_text("utf-8"))


def test_without_finds_the_prior_stands_and_with_many_it_fades() -> None:
    assert fit_sight([]).sight_m == pytest.approx(SIGHT_M)
    assert "first guess" in fit_sight([]).words
    rng = np.random.default_rng(7)
    few, many = fit_sight(np.abs(rng.normal(0, 25, 5))), fit_sight(np.abs(rng.normal(0, 25, 2000)))
    assert SIGHT_M < few.sight_m < 25
    assert many.sight_m == pytest.approx(25, rel=0.05)
    assert many.high_m - many.low_m < few.high_m - few.low_m
    assert "2000 of your own finds" in many.words


def test_without_a_prior_it_is_the_maximum_likelihood_of_the_reference_library() -> None:
    x = np.abs(np.random.default_rng(3).normal(0, 9, 60))
    assert fit_sight(x, prior_finds=0.0).sight_m == pytest.approx(halfnorm.fit(x, floc=0)[1], rel=1e-9)


def test_the_range_holds_the_truth_nine_times_in_ten() -> None:
    rng = np.random.default_rng(11)
    fits = [fit_sight(np.abs(rng.normal(0, 15, 20)), prior_finds=0.0) for _ in range(400)]
    inside = np.mean([fit.low_m <= 15 <= fit.high_m for fit in fits])
    assert 0.86 <= inside <= 0.94


def test_finds_that_were_left_out_do_not_shorten_the_sight() -> None:
    """Half-normal distances of scale 25 m, those beyond 36 m left out: 18 m if nobody thought of these."""
    x = np.abs(np.random.default_rng(5).normal(0, 25, 4000))
    x = x[x <= 36.0]
    assert fit_sight(x).sight_m == pytest.approx(18.0, abs=0.7)
    fit = fit_sight(x, within_m=36.0)
    assert fit.sight_m == pytest.approx(25.0, abs=2.0)
    assert fit.low_m < 25.0 < fit.high_m


def test_a_truncated_fit_is_the_maximum_likelihood_of_the_reference_library() -> None:
    """scipy's truncnorm between 0 and w, and without truncation the same as the closed form."""
    x = np.abs(np.random.default_rng(8).normal(0, 14, 80))
    x = x[x <= 20.0]
    best = minimize_scalar(
        lambda s: -truncnorm.logpdf(x, 0.0, 20.0 / s, scale=s).sum(), bounds=(2.0, 60.0), method="bounded"
    )
    assert fit_sight(x, within_m=20.0, prior_finds=0.0).sight_m == pytest.approx(best.x, rel=2e-3)
    near, plain = fit_sight(x, within_m=1e6), fit_sight(x)
    for ours, theirs in (
        (near.sight_m, plain.sight_m),
        (near.low_m, plain.low_m),
        (near.high_m, plain.high_m),
    ):
        assert ours == pytest.approx(theirs, rel=2e-3)


def test_the_range_holds_what_the_prior_allows_nine_times_in_ten_where_finds_were_left_out() -> None:
    """Scales drawn from the prior, s^2 = 8 x 12^2 / chi-square(8), twenty finds each, cut at 36 m."""
    rng = np.random.default_rng(12)
    inside = []
    for scale in np.sqrt(8.0 * SIGHT_M**2 / rng.chisquare(8, 500)):
        x = np.abs(rng.normal(0, scale, 20))
        fit = fit_sight(x[x <= 36.0], within_m=36.0)
        inside.append(fit.low_m <= scale <= fit.high_m)
    assert 0.86 <= np.mean(inside) <= 0.94


@pytest.mark.parametrize("distances", [[-1.0], [np.nan]])
def test_impossible_distances(distances: list[float]) -> None:
    with pytest.raises(ValueError, match="at least 0"):
        fit_sight(distances)


def test_nothing_at_all() -> None:
    with pytest.raises(ValueError, match="neither"):
        fit_sight([], prior_finds=0.0)


def test_finds_are_measured_to_the_nearest_open_trail() -> None:
    def line(name: str, y: float, *, closed: bool = False) -> Trail:
        points = PLANE.to_degrees([(0, y), (500, y)])
        return Trail(name, name, tuple((float(a), float(b)) for a, b in points), closed=closed)

    def spot(name: str, y: float) -> Spot:
        lon, lat = PLANE.to_degrees([(250, y)])[0]
        return Spot(name, "p", name, float(lon), float(lat))

    network = build_network([line("a", 0), line("b", 40, closed=True)])
    spots = [spot("s10", 10), spot("s30", 30), spot("far", -200), spot("empty", 5)]
    found = [one for one in spots if one.id != "empty"]
    assert sorted(find_distances_m(network.edges, found)) == pytest.approx([10.0, 30.0], abs=0.05)
    assert len(find_distances_m(network.edges, [])) == 0
    assert len(find_distances_m([], found)) == 0


def test_a_wider_sight_shows_more_hosts() -> None:
    from underoak.model.ground import Tree

    lon, lat = PLANE.to_degrees([(100, 25)])[0]
    points = PLANE.to_degrees([(0, 0), (250, 0)])
    network = build_network([Trail("a", "a", tuple((float(a), float(b)) for a, b in points))])
    oak = Tree("t", float(lon), float(lat), "oak", "oak")
    (near,), (wide,) = (
        hosts_in_view(network, [oak]),
        hosts_in_view(network, [oak], fit_sight([30.0] * 50).sight_m),
    )
    assert dict(wide)[0] > 2 * dict(near)[0]


@pytest.mark.outside
@pytest.mark.parametrize("case", CASES["sporophores"], ids=lambda case: case["name"])
def test_fruit_bodies_around_a_birch(case: dict[str, Any]) -> None:
    """Ford, Mason & Pelham 1980, map of sporophores round a birch; means second-hand."""
    wood = spatstat("sporophores")
    mine = np.asarray(wood["marks"]) == case["name"]
    away_cm = np.hypot(np.asarray(wood["x"])[mine], np.asarray(wood["y"])[mine])
    assert len(away_cm) == case["count"]
    assert away_cm.mean() == pytest.approx(case["mean_distance_cm"], abs=0.05)
    ours = fit_sight(away_cm / 100.0, prior_finds=0.0)
    assert ours.sight_m == pytest.approx(halfnorm.fit(away_cm / 100.0, floc=0)[1], rel=1e-9)
    assert ours.low_m < ours.sight_m < ours.high_m
