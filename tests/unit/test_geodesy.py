"""Distances and bearings against geographiclib."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic
from hypothesis import given, settings
from hypothesis import strategies as st

from underoak.woods.geodesy import LocalPlane, bearing_deg, distance_m, line_length_m, metres_per_degree


def test_a_distance_in_new_york() -> None:
    """geographiclib gives 2020.665 m (research note on oracles)."""
    assert float(distance_m(-73.97, 40.78, -73.95, 40.79)) == pytest.approx(2020.665, abs=0.001)


@settings(max_examples=60, deadline=None)
@given(
    lon=st.floats(-180, 180),
    lat=st.floats(-65, 65),
    away_m=st.floats(1.0, 50_000.0),
    towards_deg=st.floats(0.0, 359.999),
)
def test_distance_within_one_part_in_ten_thousand(
    lon: float, lat: float, away_m: float, towards_deg: float
) -> None:
    there = Geodesic.WGS84.Direct(lat, lon, towards_deg, away_m)
    assert float(distance_m(lon, lat, there["lon2"], there["lat2"])) == pytest.approx(away_m, rel=1e-4)


@settings(max_examples=60, deadline=None)
@given(lat=st.floats(-60, 60), away_m=st.floats(10.0, 2000.0), towards_deg=st.floats(0.0, 359.999))
def test_bearing_of_a_trail_edge(lat: float, away_m: float, towards_deg: float) -> None:
    there = Geodesic.WGS84.Direct(lat, -74.5, towards_deg, away_m)
    got = float(bearing_deg(-74.5, lat, there["lon2"], there["lat2"]))
    assert abs((got - towards_deg + 180.0) % 360.0 - 180.0) < 0.02


def test_across_the_date_line() -> None:
    assert float(distance_m(179.99, 10.0, -179.99, 10.0)) == pytest.approx(
        Geodesic.WGS84.Inverse(10.0, 179.99, 10.0, -179.99)["s12"], rel=1e-6
    )


def test_a_degree_of_latitude_at_equator_and_pole() -> None:
    """Textbook values 110.574 km and 111.694 km (from memory)."""
    assert float(metres_per_degree(0.0)[1]) == pytest.approx(110_574, abs=1)
    assert float(metres_per_degree(90.0)[1]) == pytest.approx(111_694, abs=1)


def test_the_plane_there_and_back_and_a_line() -> None:
    plane = LocalPlane(-74.5, 41.5)
    points = [(-74.5, 41.5), (-74.49, 41.505), (-74.48, 41.49)]
    np.testing.assert_allclose(plane.to_degrees(plane.to_plane(points)), points, atol=1e-12)
    along = line_length_m(points)
    assert along[0] == 0.0
    assert along[-1] == pytest.approx(sum(float(distance_m(*a, *b)) for a, b in itertools.pairwise(points)))
