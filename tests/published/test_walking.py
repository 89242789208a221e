"""Walking speed, time and effort against published rules; a real hike for sanity."""

from __future__ import annotations

import math
import tomllib
from pathlib import Path
from typing import Any

import pytest

from underoak.intake.trails_gpx import read_gpx_trails
from underoak.model.ground import Trail
from underoak.walk.travel_time import (
    Pace,
    directed_minutes,
    langmuir_descent_minutes,
    naismith_minutes,
    pandolf_watts,
    profile_minutes,
    tobler_speed_km_h,
)
from underoak.woods.trails import build_network

CASES: dict[str, Any] = tomllib.loads((Path(__file__).parent / "walking.toml").read_text("utf-8"))
HIKE = Path(__file__).parents[1] / "data" / "korita-zbevnica.gpx"


@pytest.mark.parametrize("case", CASES["tobler"])
def test_tobler(case: dict[str, Any]) -> None:
    for slope, speed in zip(case["slope"], case["speed_km_h"], strict=True):
        assert tobler_speed_km_h(slope) == pytest.approx(speed, abs=case["tolerance"])


def test_on_very_steep_ground_the_climb_counts() -> None:
    """Tobler 1993 gives 304 m up and 432 m down in an hour at 0.7; DIN 33466 (from memory) 300 and 500 m."""
    for slope, metres_an_hour in ((0.7, 304.0), (1.0, 304.0), (2.0, 304.0), (-1.0, 432.0), (-3.0, 432.0)):
        minutes = profile_minutes([(0.0, 500.0), (100.0, 500.0 + 100.0 * slope)])
        assert 60.0 * 100.0 * abs(slope) / minutes == pytest.approx(metres_an_hour, rel=0.01)
    below = profile_minutes([(0.0, 0.0), (100.0, 69.0)])
    assert below == pytest.approx(6.0 / tobler_speed_km_h(0.69))


@pytest.mark.parametrize("case", CASES["naismith"])
def test_naismith(case: dict[str, Any]) -> None:
    assert naismith_minutes(case["distance_m"], case["climb_m"]) == pytest.approx(
        case["minutes"], abs=case["tolerance"]
    )


@pytest.mark.parametrize("case", CASES["langmuir"])
def test_langmuir(case: dict[str, Any]) -> None:
    slope = -math.tan(math.radians(case["angle_deg"]))
    assert langmuir_descent_minutes(slope, case["descent_m"]) == pytest.approx(case["minutes"])


@pytest.mark.parametrize("row", CASES["pandolf"][0]["cases"])
def test_pandolf(row: list[float]) -> None:
    body, load, speed, grade, terrain, watts = row
    tolerance = CASES["pandolf"][0]["tolerance"]
    assert pandolf_watts(body, load, speed, grade, terrain) == pytest.approx(watts, abs=tolerance)


def test_pandolf_refuses_descent() -> None:
    with pytest.raises(ValueError, match="downhill"):
        pandolf_watts(70.0, 0.0, 1.3, -5.0)


def test_a_recorded_hike_is_timed_within_reason() -> None:
    """Croatian hike of gpxpy's source distribution: both rules lie near the time on the walker's watch."""
    if not HIKE.exists():
        pytest.skip("tests/data/korita-zbevnica.gpx is missing")
    import gpxpy

    segments = [
        s for t in gpxpy.parse(HIKE.read_text("utf-8")).tracks for s in t.segments if len(s.points) > 20
    ]
    watched = [s for s in segments if s.get_moving_data().moving_time > 0]
    assert len(watched) == 2
    network = build_network([one for one in read_gpx_trails(HIKE).records if isinstance(one, Trail)])
    there, _ = directed_minutes(network, Pace())
    for segment in watched:
        points, at, profile = segment.points, 0.0, []
        for k, point in enumerate(points):
            at += point.distance_2d(points[k - 1]) if k else 0.0
            profile.append((at, float(point.elevation)))
        moving_min = segment.get_moving_data().moving_time / 60.0
        for rule in ("tobler", "naismith"):
            assert profile_minutes(profile, rule) == pytest.approx(moving_min, rel=0.25), rule
    by_trail: dict[str, float] = {}
    for edge, minutes in zip(network.edges, there.tolist(), strict=True):
        by_trail[edge.name] = by_trail.get(edge.name, 0.0) + minutes
    for segment, name in zip(watched, ("ACTIVE LOG", "ACTIVE LOG #2"), strict=True):
        moving_min = segment.get_moving_data().moving_time / 60.0
        assert by_trail[name] == pytest.approx(moving_min, rel=0.25), name
