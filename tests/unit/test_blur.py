"""The grid: nested, never smaller than asked, and its stated uncertainty holds every spot."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from underoak.export.blur import LADDER_KM, cell_of, ladder_size_km, shared_cell
from underoak.model.ground import Permission, Place, Spot

LONS = st.floats(-180.0, 179.999999)
LATS = st.floats(-66.0, 66.0)
SIZES = st.sampled_from(LADDER_KM)


def test_asked_sizes_go_up_to_the_ladder() -> None:
    assert [ladder_size_km(km) for km in (0.2, 1, 1.01, 10, 100, 500)] == [1, 1, 2, 16, 128, 128]


@settings(max_examples=100)
@given(LONS, LATS, SIZES)
def test_cells_hold_their_position_and_are_nested(lon: float, lat: float, size: int) -> None:
    cell = cell_of(lon, lat, size)
    assert cell.west_deg - 1e-9 <= lon <= cell.east_deg + 1e-9
    assert cell.south_deg - 1e-9 <= lat <= cell.north_deg + 1e-9
    wider = cell_of(lon, lat, min(size * 2, 128))
    assert wider.west_deg - 1e-9 <= cell.west_deg
    assert cell.east_deg <= wider.east_deg + 1e-9
    assert wider.south_deg - 1e-9 <= cell.south_deg
    assert cell.north_deg <= wider.north_deg + 1e-9


@settings(max_examples=100)
@given(LONS, LATS, SIZES)
def test_sides_and_half_diagonal_by_geodesics(lon: float, lat: float, size: int) -> None:
    """Against Karney's geodesics on WGS 84 (geographiclib)."""
    geodesic = pytest.importorskip("geographiclib.geodesic").Geodesic.WGS84
    cell = cell_of(lon, lat, size)
    along = geodesic.Inverse(cell.south_deg, lon, cell.north_deg, lon)["s12"]
    across = [
        geodesic.Inverse(edge, cell.west_deg, edge, cell.east_deg)["s12"]
        for edge in (cell.south_deg, cell.north_deg)
    ]
    assert along >= size * 1000.0 - 1.0
    assert min(across) >= size * 1000.0 - 1.0
    x, y = cell.centre
    corners = [
        geodesic.Inverse(y, x, b, a)["s12"]
        for a in (cell.west_deg, cell.east_deg)
        for b in (cell.south_deg, cell.north_deg)
    ]
    assert max(corners) <= cell.half_diagonal_m
    assert cell.half_diagonal_m <= max(corners) * 1.02 + 11.0


def _wood(lon: float, lat: float, half_deg: float) -> Place:
    ring = tuple(
        (lon + x * half_deg, lat + y * half_deg) for x, y in ((-1, -1), (1, -1), (1, 1), (-1, 1), (-1, -1))
    )
    return Place("p", "Wood", ((ring,),), Permission("unknown"))


@settings(max_examples=100)
@given(
    st.floats(-170, 170), LATS, SIZES, st.floats(0.001, 0.4), st.tuples(st.floats(-1, 1), st.floats(-1, 1))
)
def test_the_stated_uncertainty_holds_every_spot_of_a_wood(
    lon: float, lat: float, size: int, half: float, at: tuple[float, float]
) -> None:
    geodesic = pytest.importorskip("geographiclib.geodesic").Geodesic.WGS84
    spot = Spot("s", "p", "Oak", lon + at[0] * half, lat + at[1] * half)
    cell = shared_cell(spot, _wood(lon, lat, half), size)
    centre = cell.centre
    far = geodesic.Inverse(centre[1], centre[0], spot.latitude_deg, spot.longitude_deg)["s12"]
    assert far <= cell.uncertainty_m


def test_two_spots_of_one_wood_share_a_cell_across_an_edge() -> None:
    edge = cell_of(-74.5, 41.5, 16).east_deg
    wood = _wood(edge - 0.001, 41.55, 0.01)
    west, east = (Spot(n, "p", n, edge + x, 41.55) for n, x in (("a", -0.005), ("b", 0.005)))
    assert cell_of(west.longitude_deg, 41.55, 16) != cell_of(east.longitude_deg, 41.55, 16)
    assert shared_cell(west, wood, 10) == shared_cell(east, wood, 10)
