"""Trails become one network: ends snapped, crossings split, chains contracted, long edges cut."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.outside_data import beside
from underoak.intake.terrain import read_terrain
from underoak.intake.trails_geojson import read_geojson_trails
from underoak.model.ground import CarPark, Spot, Terrain, Trail
from underoak.model.network import Network
from underoak.woods.drape import smoothed
from underoak.woods.geodesy import LocalPlane, line_length_m
from underoak.woods.network_report import components, report, start_problem
from underoak.woods.trails import build_network, nearest_node

PLANE = LocalPlane(-74.5, 41.5)


def trail(name: str, *xy: tuple[float, float], **more: object) -> Trail:
    """A trail through points in metres from the middle of an invented wood."""
    return Trail(name, name, tuple((float(a), float(b)) for a, b in PLANE.to_degrees(xy)), **more)  # type: ignore[arg-type]


def lonlat(x: float, y: float) -> tuple[float, float]:
    lon, lat = PLANE.to_degrees([(x, y)])[0]
    return float(lon), float(lat)


def shape(network: Network) -> tuple[int, int]:
    return len(network.nodes), len(network.edges)


def test_two_trails_that_cross_become_four_edges() -> None:
    network = build_network([trail("a", (-100, 0), (100, 0)), trail("b", (0, -100), (0, 100))])
    assert shape(network) == (5, 4)
    assert sorted(round(e.length_m) for e in network.edges) == [100] * 4
    assert nearest_node(network, -74.5, 41.5)[1] == pytest.approx(0.0, abs=1e-3)


def test_an_end_near_another_trail_is_joined_and_a_far_one_is_not() -> None:
    through = trail("a", (-100, 0), (100, 0))
    near = build_network([through, trail("b", (0, 5), (0, 100))])
    assert shape(near) == (4, 3)
    far = build_network([through, trail("b", (0, 12), (0, 100))])
    assert shape(far) == (4, 2)
    assert len(components(far)) == 2


def test_ends_near_each_other_become_one_node() -> None:
    network = build_network(
        [trail("a", (-100, 0), (0, 0)), trail("b", (4, 3), (100, 50)), trail("c", (3, -4), (60, -90))]
    )
    assert shape(network) == (4, 3)


def test_a_chain_of_one_trail_is_contracted_but_a_change_of_surface_stays() -> None:
    parts = [trail("t", (k * 50, 0), (k * 50 + 50, 0)) for k in range(4)]
    assert shape(build_network(parts)) == (2, 1)
    parts[2] = trail("t", (100, 0), (150, 0), surface="gravel")
    assert shape(build_network(parts)) == (4, 3)


def test_one_way_chains_join_only_in_one_sense() -> None:
    a, b = trail("t", (0, 0), (50, 0), oneway=True), trail("t", (50, 0), (100, 0), oneway=True)
    (edge,) = build_network([a, b]).edges
    assert edge.oneway
    assert edge.points[0] == pytest.approx(lonlat(0, 0))
    against = trail("t", (100, 0), (50, 0), oneway=True)
    network = build_network([a, against])
    assert shape(network) == (3, 2)


def test_the_direction_of_a_one_way_trail_survives_all_cuts() -> None:
    network = build_network([trail("one", (0, 0), (900, 0), oneway=True), trail("b", (450, -50), (450, 50))])
    for edge in network.edges:
        if edge.oneway:
            assert edge.points[-1][0] > edge.points[0][0]


def test_the_same_trail_twice_counts_once_and_closed_wins() -> None:
    wobble = trail("b", (0, 1), (60, -1), (120, 1), closed=True)
    network = build_network([trail("a", (0, 0), (60, 2), (120, 0)), wobble])
    assert sum(e.length_m for e in network.edges) == pytest.approx(120, abs=3)
    assert all(edge.closed for edge in network.edges if edge.length_m > 20)


def test_two_recordings_that_other_trails_cross_count_once() -> None:
    """The second recording weaves 2 to 4 m beside the first; trails cross both or end at either of them."""
    first = trail("a", (0, 0), (560, 0))
    second = trail("b", (0, 3), (130, -2), (260, 4), (390, -3), (560, 3))
    over, ends = trail("c", (280, -200), (280, 200)), trail("d", (150, 5), (150, 200))
    once, twice = build_network([first, over, ends]), build_network([first, second, over, ends])
    assert shape(twice) == shape(once)
    assert report(twice).length_m == pytest.approx(report(once).length_m, abs=4.0)
    lengths = [sum(e.length_m for e in net.edges if e.name in "ab") for net in (once, twice)]
    assert lengths == pytest.approx([560.0, 560.0], abs=2.0)


def test_a_track_there_and_back_counts_once() -> None:
    """500 m there and 3 m beside it back, as a receiver wavers; another trail crosses both."""
    rng = np.random.default_rng(1)
    x = np.arange(0.0, 501.0, 10.0)
    there, back = rng.normal(0, 1.5, len(x)), 3.0 + rng.normal(0, 1.5, len(x))
    track = trail("t", *zip(x, there, strict=True), *zip(x[::-1], back, strict=True))
    alone = build_network([track])
    assert report(alone).length_m == pytest.approx(500.0, rel=0.03)
    assert len(report(alone).dead_ends) == 2
    crossed = build_network([track, trail("x", (250, -100), (250, 100))])
    assert shape(crossed) == (5, 4)
    assert report(crossed).length_m == pytest.approx(700.0, rel=0.03)


def test_switchbacks_that_stand_apart_stay() -> None:
    zigzag = trail("z", (0, 0), (100, 20), (0, 40), (100, 60))
    assert report(build_network([zigzag])).length_m == pytest.approx(3 * np.hypot(100, 20), rel=1e-3)


def test_recorded_heights_are_smoothed_but_an_even_slope_is_not() -> None:
    along = np.arange(0.0, 1001.0, 10.0)
    even = 300.0 + 0.2 * along
    np.testing.assert_allclose(smoothed(along, even), even, atol=1e-9)
    noisy = even + np.random.default_rng(3).normal(0, 4.0, len(along))
    calm = smoothed(along, noisy)
    assert np.abs(np.diff(noisy) / 10.0).max() > 0.8
    assert np.abs(np.diff(calm) / 10.0)[5:-5].max() < 0.45
    assert (calm[0], calm[-1]) == (noisy[0], noisy[-1])
    assert np.isnan(smoothed(along, np.full(len(along), np.nan))).all()


def test_trails_that_part_slowly_stay_two() -> None:
    fork = build_network([trail("a", (0, 0), (400, 0)), trail("b", (0, 0), (400, 60))])
    assert report(fork).length_m == pytest.approx(400.0 + np.hypot(400, 60), rel=1e-3)


def test_of_two_recordings_the_one_way_wins_and_two_opposite_ways_stay() -> None:
    plain, one = trail("a", (0, 0), (200, 0)), trail("b", (0, 2), (200, 2), oneway=True)
    back = trail("c", (200, 3), (0, 3), oneway=True)
    for pair in ([plain, one], [one, plain]):
        (edge,) = build_network(pair).edges
        assert edge.oneway
        assert edge.points[0][0] < edge.points[-1][0]
    assert shape(build_network([one, back])) == (2, 2)


def test_a_loop_trail_has_no_edge_that_is_a_loop() -> None:
    ring = [(100 * np.cos(a), 100 * np.sin(a)) for a in np.linspace(0, 2 * np.pi, 40)]
    network = build_network([trail("ring", *ring), trail("in", (-300, 0), (-100, 0))])
    assert all(edge.start != edge.end for edge in network.edges)
    assert sum(e.length_m for e in network.edges) == pytest.approx(2 * np.pi * 100 + 200, rel=0.01)


def test_a_trail_that_returns_to_its_own_middle() -> None:
    lollipop = trail("p", (0, 0), (100, 0), (150, 50), (200, 0), (150, -50), (100, 3))
    network = build_network([lollipop])
    ends = report(network).dead_ends
    assert len(ends) == 1
    assert all(edge.start != edge.end for edge in network.edges)


def test_long_edges_are_cut_into_equal_parts() -> None:
    network = build_network([trail("a", (0, 0), (1000, 0))])
    assert [round(e.length_m) for e in network.edges] == [250] * 4


def test_car_parks_and_spots_get_nodes_within_their_reach() -> None:
    through = trail("a", (0, 0), (280, 0))
    lot = CarPark("c", "Lot", *lonlat(100, 60))
    oak = Spot("s", "p", "Oak", *lonlat(200, -40))
    network = build_network([through], [lot], [oak])
    assert shape(network) == (4, 3)
    node, gap = nearest_node(network, lot.longitude_deg, lot.latitude_deg)
    assert gap == pytest.approx(60, abs=0.1)
    assert (network.nodes[node].longitude_deg, network.nodes[node].latitude_deg) == pytest.approx(
        lonlat(100, 0)
    )
    away = build_network(
        [through], [CarPark("c", "Lot", *lonlat(100, 400))], [Spot("s", "p", "O", *lonlat(200, 200))]
    )
    assert shape(away) == (2, 1)


def test_elevation_is_draped_from_the_grid_else_from_the_trail_else_level() -> None:
    west, north = lonlat(-100, 100)
    x = np.arange(60) * 10.0
    grid = Terrain(
        "t", "t", west, north, 10 / PLANE.scale[0], 10 / PLANE.scale[1], np.tile(200.0 + x, (30, 1))
    )
    recorded = trail("a", (0, 0), (200, 0), elevations_m=(50.0, 70.0))
    draped = build_network([recorded], terrain=grid).edges[0].profile
    assert draped[0] == pytest.approx((0.0, 295.0), abs=0.5)
    assert draped[-1] == pytest.approx((200.0, 495.0), abs=0.5)
    own = build_network([recorded]).edges[0]
    assert own.profile[0] == pytest.approx((0.0, 50.0), abs=0.01)
    assert own.profile[4] == pytest.approx((100.0, 60.0), abs=0.01)
    beyond = build_network([recorded, trail("b", (-5000, 0), (-4900, 0))], terrain=grid)
    assert {round(beyond.nodes[e.start].elevation_m) for e in beyond.edges} == {0, 295}


def test_profiles_meet_at_the_nodes() -> None:
    rng = np.random.default_rng(3)
    trails = [
        trail(str(k), *rng.uniform(-500, 500, (6, 2)).tolist(), elevations_m=tuple(rng.uniform(100, 200, 6)))
        for k in range(6)
    ]
    network = build_network(trails)
    for edge in network.edges:
        assert edge.profile[0] == (0.0, network.nodes[edge.start].elevation_m)
        assert edge.profile[-1] == pytest.approx((edge.length_m, network.nodes[edge.end].elevation_m))
        assert edge.points[0] == (
            network.nodes[edge.start].longitude_deg,
            network.nodes[edge.start].latitude_deg,
        )
        assert np.isfinite(edge.profile).all()


def test_a_disconnected_network_and_a_far_start_are_said(tmp_path: object) -> None:
    network = build_network([trail("Big Loop", (0, 0), (3000, 0)), trail("Stub", (0, 500), (100, 500))])
    parts = components(network)
    assert [part.name for part in parts] == ["part 1, around Big Loop", "part 2, around Stub"]
    assert parts[0].length_m == pytest.approx(3000, rel=1e-3)
    words = "\n".join(report(network).sentences())
    assert "2 parts that do not meet" in words
    assert start_problem(network, *lonlat(0, 10)) == ""
    assert "3.0 km from the nearest trail" in start_problem(network, *lonlat(0, -3000))
    assert "do not meet the rest" in start_problem(network, *lonlat(50, 510))
    assert "load trails" in start_problem(build_network([]), -74.5, 41.5)
    shut = build_network([trail("a", (0, 0), (100, 0), closed=True)])
    assert "closed" in start_problem(shut, *lonlat(0, 0))


def test_closed_trails_join_nothing() -> None:
    network = build_network(
        [
            trail("a", (0, 0), (100, 0)),
            trail("b", (100, 0), (200, 0), closed=True),
            trail("c", (200, 0), (300, 0)),
        ]
    )
    assert [round(part.length_m) for part in components(network) if part.edges] == [100, 100]


def test_a_dead_end_short_of_another_trail_is_told() -> None:
    network = build_network(
        [trail("a", (-100, 0), (100, 0)), trail("b", (0, 14), (0, 150)), trail("c", (0, 60), (80, 60))]
    )
    (miss,) = report(network).near_misses
    assert miss.gap_m == pytest.approx(14, abs=0.01)
    assert "a trail ends 14 m short of another one, at 41.50013, -74.50000" in report(network).sentences()


def test_no_trails_give_no_network() -> None:
    assert shape(build_network([])) == (0, 0)
    with pytest.raises(ValueError, match="no node"):
        nearest_node(build_network([]), 0.0, 0.0)


@settings(max_examples=25, deadline=None)
@given(
    st.lists(
        st.lists(
            st.tuples(st.integers(-400, 400), st.integers(-400, 400)), min_size=2, max_size=5, unique=True
        ),
        min_size=1,
        max_size=5,
    )
)
def test_any_trails_give_a_sound_network(lines: Sequence[Sequence[tuple[int, int]]]) -> None:
    trails = [trail(str(k), *line) for k, line in enumerate(lines)]
    network = build_network(trails)
    longest = sum(float(line_length_m(t.points)[-1]) for t in trails)
    assert sum(e.length_m for e in network.edges) <= longest + 20.0 * len(network.edges)
    for edge in network.edges:
        assert edge.start != edge.end
        assert 0.0 < edge.length_m <= 310.0
        assert edge.length_m == pytest.approx(float(line_length_m(edge.points)[-1]), rel=1e-6)
    used = {n for e in network.edges for n in (e.start, e.end)}
    assert used == set(range(len(network.nodes)))
    assert build_network(trails) == network


@pytest.mark.outside
def test_a_real_wood_hangs_together() -> None:
    """The research prototype found 116 km in the largest part of this extract, two tracks beside it apart."""
    found = read_geojson_trails(beside("bayreuth_woods", "bayreuth_woods.geojson")).records
    trails = [t for t in found if isinstance(t, Trail)]
    car_parks = [c for c in found if isinstance(c, CarPark)]
    (terrain,) = read_terrain(beside("bayreuth_woods", "bayreuth_woods_srtm3.asc")).records
    network = build_network(trails, car_parks, (), terrain)
    parts = components(network)
    assert parts[0].length_m / 1000 == pytest.approx(116, abs=3)
    assert parts[1].length_m < 1000
    heights = [n.elevation_m for n in network.nodes]
    assert 320 <= min(heights) < max(heights) <= 475
