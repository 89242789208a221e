"""The lie of the invented land: where its parks are and how high it stands."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

METRES_PER_DEGREE = 111_195.0
HOME_LATITUDE_DEG = 41.62
HOME_LONGITUDE_DEG = -74.58
HOME_ELEVATION_M = 210.0


@dataclass(frozen=True, slots=True)
class Park:
    """One invented park: its centre, half-axes of its rough oval, and what its keeper allows."""

    name: str
    longitude_deg: float
    latitude_deg: float
    east_m: float
    north_m: float
    car_park: str
    permission: dict[str, object]
    oak_share: float
    days_late: float


PARKS = (
    Park(
        name="Fiddler's Hollow",
        longitude_deg=-74.552,
        latitude_deg=41.640,
        east_m=1150.0,
        north_m=850.0,
        car_park="Hollow Road lot",
        permission={
            "status": "allowed",
            "who": "Invented Valley Parks, park office",
            "limit_kg_person_day": 4.5,
            "season": ["08-15", "11-30"],
            "source": "rules board at the car park (invented)",
            "checked_on": "2026-08-30",
            "expires_on": "2026-12-31",
        },
        oak_share=0.7,
        days_late=0.0,
    ),
    Park(
        name="Cold Spring Ridge",
        longitude_deg=-74.625,
        latitude_deg=41.668,
        east_m=950.0,
        north_m=1000.0,
        car_park="Ridge lot",
        permission={
            "status": "allowed",
            "who": "Invented Valley Parks, ranger station",
            "limit_kg_person_day": 3.0,
            "source": "letter from the ranger (invented)",
            "checked_on": "2026-09-02",
            "expires_on": "2027-03-31",
        },
        oak_share=0.5,
        days_late=6.0,
    ),
    Park(
        name="Old Quarry Woods",
        longitude_deg=-74.568,
        latitude_deg=41.592,
        east_m=700.0,
        north_m=550.0,
        car_park="Quarry gate",
        permission={"status": "unknown", "who": "town hall (not asked yet)"},
        oak_share=0.8,
        days_late=-3.0,
    ),
)

#: Invented hills: east and north of the home (m), height (m), width (m).
_HILLS = (
    (2300.0, 2600.0, 95.0, 900.0),
    (1200.0, 3400.0, 60.0, 700.0),
    (-3700.0, 5300.0, 190.0, 1300.0),
    (-2600.0, 4300.0, 70.0, 600.0),
    (900.0, -3100.0, 80.0, 800.0),
    (4200.0, 800.0, 120.0, 1600.0),
)


def east_north_m(longitude_deg: float, latitude_deg: float) -> tuple[float, float]:
    """Metres east and north of the home, on a plane good enough for one valley."""
    shrink = math.cos(math.radians(HOME_LATITUDE_DEG))
    east = (longitude_deg - HOME_LONGITUDE_DEG) * METRES_PER_DEGREE * shrink
    return east, (latitude_deg - HOME_LATITUDE_DEG) * METRES_PER_DEGREE


def longitude_latitude(east_m: float, north_m: float) -> tuple[float, float]:
    """The inverse of `east_north_m`, rounded to about a decimetre."""
    shrink = math.cos(math.radians(HOME_LATITUDE_DEG))
    longitude = HOME_LONGITUDE_DEG + east_m / (METRES_PER_DEGREE * shrink)
    return round(longitude, 6), round(HOME_LATITUDE_DEG + north_m / METRES_PER_DEGREE, 6)


def elevation_m(east_m: npt.NDArray[np.float64], north_m: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Height of the invented ground, m: a gentle tilt, six hills and some ripples."""
    ground = HOME_ELEVATION_M + 0.004 * north_m - 0.002 * east_m
    for hill_east, hill_north, height, width in _HILLS:
        away = (east_m - hill_east) ** 2 + (north_m - hill_north) ** 2
        ground = ground + height * np.exp(-away / (2.0 * width**2))
    return ground + 4.0 * np.sin(east_m / 170.0) * np.cos(north_m / 210.0)
