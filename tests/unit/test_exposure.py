"""Hosts in view of the trail, their rough age and what they offer."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from underoak.book.hosts import host_groups
from underoak.model.ground import Trail, Tree
from underoak.woods.exposure import hosts_in_view, nearest_edges, share_seen, walk_round
from underoak.woods.geodesy import LocalPlane
from underoak.woods.host_trees import diameter_from_circumference_cm, rough_age, substrate_fit
from underoak.woods.trails import build_network

PLANE = LocalPlane(-74.5, 41.5)
CASES = tomllib.loads((Path(__file__).parents[1] / "published" / "ground.toml").read_text("utf-8"))


def tree(x: float, y: float) -> Tree:
    lon, lat = PLANE.to_degrees([(x, y)])[0]
    return Tree(f"{x},{y}", float(lon), float(lat), "oak", "oak")


def trail(name: str, *xy: tuple[float, float]) -> Trail:
    return Trail(name, name, tuple((float(a), float(b)) for a, b in PLANE.to_degrees(xy)))


def test_both_sides_count_alike_and_farther_counts_less() -> None:
    network = build_network([trail("a", (0, 0), (250, 0))])
    (seen,) = hosts_in_view(
        network, [tree(100, 10), tree(120, -10), tree(140, 20), tree(150, 40), tree(160, 0)]
    )
    shares = dict(seen)
    assert shares[0] == pytest.approx(shares[1], rel=1e-6)
    assert shares[0] == pytest.approx(float(share_seen(10.0)), rel=1e-3)
    assert shares[2] == pytest.approx(float(share_seen(20.0)), rel=1e-3)
    assert 3 not in shares
    assert shares[4] == pytest.approx(1.0)


def test_a_tree_is_never_paid_twice() -> None:
    network = build_network(
        [trail("a", (0, 0), (1000, 0)), trail("b", (500, -200), (500, 200)), trail("c", (0, 15), (1000, 15))]
    )
    rng = np.random.default_rng(1)
    trees = [tree(x, y) for x, y in zip(rng.uniform(0, 1000, 200), rng.uniform(-60, 60, 200), strict=True)]
    total = np.zeros(len(trees))
    for seen in hosts_in_view(network, trees):
        for position, share in seen:
            total[position] += share
    nearest = np.array(
        [
            min(abs(t_y), abs(t_y - 15), abs(t_x - 500) if abs(t_y) < 200 else np.inf)
            for t_x, t_y in (map(float, t.id.split(",")) for t in trees)
        ]
    )
    expected = np.where(nearest <= 36.0, share_seen(nearest), 0.0)
    np.testing.assert_allclose(total, expected, atol=2e-3)


def test_an_edge_that_passes_with_its_end_only_gets_little() -> None:
    network = build_network(
        [trail("a", (0, 0), (200, 0)), trail("b", (0, 0), (-200, 0)), trail("c", (0, 0), (0, 200))]
    )
    shares = {
        round(network.edges[k].points[-1][0] - network.edges[k].points[0][0], 6): dict(seen).get(0, 0.0)
        for k, seen in enumerate(hosts_in_view(network, [tree(30, 5)]))
    }
    assert max(shares.values()) > 0.95 * float(share_seen(5.0))
    assert sum(shares.values()) == pytest.approx(float(share_seen(5.0)), rel=1e-3)


def test_the_nearest_edge_and_how_far_it_is() -> None:
    network = build_network([trail("a", (0, 0), (250, 0)), trail("b", (0, 40), (250, 40))])
    found = nearest_edges(network, [tree(100, 10), tree(100, 25), tree(100, 20), tree(100, 300)])
    names = [None if one is None else (network.edges[one[0]].name, round(one[1], 2)) for one in found]
    assert names == [("a", 10.0), ("b", 15.0), names[2], None]
    assert names[2] is not None
    assert names[2][1] == 20.0


def test_nothing_to_see() -> None:
    network = build_network([trail("a", (0, 0), (200, 0))])
    assert hosts_in_view(network, []) == ((),)
    assert hosts_in_view(build_network([]), [tree(0, 0)]) == ()


def test_walking_round_a_thick_tree_costs_more() -> None:
    thin, thick, far = walk_round(5.0, 30.0), walk_round(5.0, 150.0), walk_round(20.0, 30.0)
    assert thin.minutes < thick.minutes
    assert far.minutes == pytest.approx(thin.minutes + 0.6)
    assert thin.share_seen == 0.9


@pytest.mark.parametrize("case", CASES["tree_age"], ids=lambda case: f"{case['group']} {case['inches']} in")
def test_rough_ages_of_the_teaching_sheets(case: dict[str, Any]) -> None:
    factor = host_groups()[case["group"]].growth
    assert factor is not None
    age = rough_age(case["inches"] * 2.54, factor)
    assert age.years == pytest.approx(case["years"], abs=case["tolerance"])
    assert age.low_years < age.years < age.high_years
    assert "rough" in age.words


def test_girth_to_diameter() -> None:
    assert diameter_from_circumference_cm(254.0) / 2.54 == pytest.approx(31.8, abs=0.05)


def test_a_tree_without_a_trunk_has_no_age() -> None:
    with pytest.raises(ValueError, match="above 0"):
        rough_age(0.0, 5.0)


def test_conditions_offer_what_grows_on_them() -> None:
    assert substrate_fit(["roots"], "living") == 1.0
    assert substrate_fit(["roots"], "stump") == 1.0  # the buried roots of a felled tree
    assert substrate_fit(["stump"], "living") == 0.25
    assert substrate_fit(["standing_trunk"], "dead") == 1.0
    assert substrate_fit([], "unknown") == 1.0
