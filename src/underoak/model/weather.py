"""Daily weather of one station as contiguous arrays."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy as np
    import numpy.typing as npt

    FloatArray = npt.NDArray[np.float64]
    BoolArray = npt.NDArray[np.bool_]

#: Every daily quantity the ledger keeps: name -> (unit, lowest and highest plausible value).
#: The limits are world records with a margin, from memory; they catch wrong units, not rare weather.
DAILY_QUANTITIES: Mapping[str, tuple[str, float, float]] = {
    "rain_mm": ("mm", 0.0, 1900.0),
    "tmin_c": ("degree Celsius", -70.0, 45.0),
    "tmax_c": ("degree Celsius", -65.0, 58.0),
    "dewpoint_c": ("degree Celsius", -75.0, 36.0),
    "wind_m_s": ("m/s at 2 m", 0.0, 60.0),
    "radiation_mj_m2": ("MJ/m2 a day", 0.0, 45.0),
}


@dataclass(frozen=True, slots=True)
class Station:
    """Where weather is measured. Elevation and position may be unknown."""

    id: str
    name: str
    latitude_deg: float | None = None
    longitude_deg: float | None = None
    elevation_m: float | None = None


@dataclass(frozen=True, slots=True)
class WeatherSeries:
    """Daily weather of one station, one value a day from ``first_day`` on.

    ``values`` maps a name of `DAILY_QUANTITIES` to a float array of shape (days,); NaN is a gap.
    ``forecast`` (days,) is true where the day was forecast, not observed.
    ``filled`` maps a name to a boolean array (days,), true where a gap was filled by the stated rule.
    """

    station: Station
    first_day: date
    values: Mapping[str, FloatArray]
    forecast: BoolArray
    filled: Mapping[str, BoolArray]

    @property
    def days(self) -> int:
        """Number of days."""
        return len(self.forecast)

    @property
    def last_day(self) -> date:
        """Last day of the series."""
        return self.first_day + timedelta(days=self.days - 1)

    def index(self, day: date) -> int:
        """Position of ``day``; raises IndexError outside the series."""
        position = (day - self.first_day).days
        if not 0 <= position < self.days:
            raise IndexError(f"{day} is outside {self.first_day} to {self.last_day}")
        return position
