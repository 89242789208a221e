"""Distances and bearings over short ways on the ellipsoid."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]

#: WGS 84 (source wgs84, from memory).
SEMI_MAJOR_M = 6378137.0
FLATTENING = 1.0 / 298.257223563
_E2 = FLATTENING * (2.0 - FLATTENING)


def metres_per_degree(latitude_deg: npt.ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Length of one degree of longitude and of latitude.

    Parameters
    ----------
    latitude_deg : [degrees north], -90 to 90, any shape

    Returns
    -------
    (east_m, north_m) : arrays of that shape [m]

    Method
    ------
    Radii of curvature of the ellipsoid: M = a (1 - e2) / (1 - e2 sin2(lat))^1.5 along the meridian,
    N = a / sqrt(1 - e2 sin2(lat)) across it; east = N cos(lat) pi / 180, north = M pi / 180.
    Source: textbook geodesy, from memory; constants WGS 84. Checked against geographiclib.
    """
    lat = np.radians(np.asarray(latitude_deg, dtype=np.float64))
    w2 = 1.0 - _E2 * np.sin(lat) ** 2
    meridian = SEMI_MAJOR_M * (1.0 - _E2) / w2**1.5
    across = SEMI_MAJOR_M / np.sqrt(w2)
    return np.radians(across * np.cos(lat)), np.radians(meridian)


def offsets_m(
    lon1: npt.ArrayLike, lat1: npt.ArrayLike, lon2: npt.ArrayLike, lat2: npt.ArrayLike
) -> tuple[FloatArray, FloatArray]:
    """How far east and north the second position lies from the first [m], for degrees of any shape.

    Method: local plane at the middle latitude (`metres_per_degree`).
    """
    a, b = np.asarray(lat1, dtype=np.float64), np.asarray(lat2, dtype=np.float64)
    east_m, north_m = metres_per_degree((a + b) / 2.0)
    turn = (np.asarray(lon2, dtype=np.float64) - np.asarray(lon1, dtype=np.float64) + 180.0) % 360.0 - 180.0
    return turn * east_m, (b - a) * north_m


def distance_m(
    lon1: npt.ArrayLike, lat1: npt.ArrayLike, lon2: npt.ArrayLike, lat2: npt.ArrayLike
) -> FloatArray:
    """Distance between positions in degrees [m]; within 1 part in 10,000 up to 50 km, below 66 degrees.

    Source: `offsets_m`; checked against geographiclib.
    """
    east, north = offsets_m(lon1, lat1, lon2, lat2)
    return np.hypot(east, north)


def bearing_deg(
    lon1: npt.ArrayLike, lat1: npt.ArrayLike, lon2: npt.ArrayLike, lat2: npt.ArrayLike
) -> FloatArray:
    """Direction from the first to the second position [degrees clockwise from true north, 0 to 360).

    It is the direction half way; over 2 km it differs from that at the start by less than 0.02 degrees.
    """
    east, north = offsets_m(lon1, lat1, lon2, lat2)
    bearing: FloatArray = np.degrees(np.arctan2(east, north)) % 360.0
    return bearing


def line_length_m(points: npt.ArrayLike) -> FloatArray:
    """Distance along a line from its first point, at each point [m]; ``points`` is (n, 2) (lon, lat)."""
    line = np.asarray(points, dtype=np.float64).reshape(-1, 2)
    steps = distance_m(line[:-1, 0], line[:-1, 1], line[1:, 0], line[1:, 1])
    return np.concatenate([[0.0], np.cumsum(steps)])


class LocalPlane:
    """A plane in metres around one latitude: x east, y north of (0, 0) = (``lon``, ``lat``)."""

    def __init__(self, lon: float, lat: float) -> None:
        self.lon, self.lat = lon, lat
        east_m, north_m = metres_per_degree(lat)
        self.scale = np.array([float(east_m), float(north_m)])

    def to_plane(self, points: npt.ArrayLike) -> FloatArray:
        """Metres (n, 2) of positions (n, 2) in degrees."""
        plane: FloatArray = (
            np.asarray(points, dtype=np.float64).reshape(-1, 2) - [self.lon, self.lat]
        ) * self.scale
        return plane

    def to_degrees(self, xy: npt.ArrayLike) -> FloatArray:
        """Positions (n, 2) in degrees of metres (n, 2)."""
        degrees: FloatArray = np.asarray(xy, dtype=np.float64).reshape(-1, 2) / self.scale + [
            self.lon,
            self.lat,
        ]
        return degrees
