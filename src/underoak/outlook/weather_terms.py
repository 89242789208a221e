"""Weather that may hasten or hold back a flush: standardised terms, each free in sign."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import numpy as np
import numpy.typing as npt

if TYPE_CHECKING:
    from underoak.weather.ground_state import GroundState

FloatArray = npt.NDArray[np.float64]

#: Terms in the order of their columns. Rain of the last five days is left out on purpose: published work
#: found it without effect, 10 to 30 days before with one (salerni_2002, second-hand).
TERMS = ("rain_10_30_days", "litter_wetness_10_days", "cooling_10_days", "soil_warmth_10_days")


#: What a term above and below what is usual for the date is called.
TERM_WORDS = {
    "rain_10_30_days": (
        "more rain than usual 10 to 30 days before",
        "less rain than usual 10 to 30 days before",
    ),
    "litter_wetness_10_days": ("litter wetter than usual", "litter drier than usual"),
    "cooling_10_days": ("nights that cooled more than usual", "nights that cooled less than usual"),
    "soil_warmth_10_days": ("soil warmer than usual", "soil cooler than usual"),
}
#: The ground as it is taken to be, and as dry and as wet as gaps in the rain leave open.
Bound = Literal["", "_low", "_high"]


def term_days(ground: GroundState, bound: Bound = "") -> dict[str, FloatArray]:
    """Daily values (days,) of each term, not yet standardised; NaN before there are days enough.

    ``bound`` asks for the driest or wettest ground that gaps in the rain leave open.

    rain_10_30_days: square root of the mean rain 10 to 30 days before, mm^0.5. litter_wetness_10_days: mean
    over the last ten days. cooling_10_days: mean lowest temperature 11 to 20 days before minus the last
    ten, degrees C. soil_warmth_10_days: mean soil temperature at 10 cm over the last ten days.
    """
    ten = _mean_before(ground.tmin_c, 0, 10)
    rain_mm: FloatArray = getattr(ground, f"rain_mm{bound}")
    wetness: FloatArray = getattr(ground, f"litter_wetness{bound}")
    return {
        "rain_10_30_days": np.sqrt(np.maximum(_mean_before(rain_mm, 10, 30), 0.0)),
        "litter_wetness_10_days": _mean_before(wetness, 0, 10),
        "cooling_10_days": _mean_before(ground.tmin_c, 10, 20) - ten,
        "soil_warmth_10_days": _mean_before(ground.soil_temp_10cm_c, 0, 10),
    }


def departure_sd(table: FloatArray, usual: FloatArray) -> float:
    """Standard deviation of the departures (seasons, 366) from the usual day; 0 where too few are known."""
    apart = table - usual[None, :]
    known = np.isfinite(apart)
    return float(apart[known].std()) if known.sum() >= SEASON_ENOUGH else 0.0


def standardised(row: FloatArray, usual: FloatArray, sd: float) -> FloatArray:
    """Departures (366,) of a season from the usual day over their deviation, within 3; unknown is 0."""
    apart = row - usual
    known = np.isfinite(apart) & (sd > 0.0)
    return np.where(known, np.clip(np.where(known, apart, 0.0) / (sd or 1.0), -3.0, 3.0), 0.0)


#: Fewest days with a departure that make a term.
SEASON_ENOUGH = 500


def _mean_before(values: FloatArray, nearest: int, farthest: int) -> FloatArray:
    """Mean of the days from ``farthest`` - 1 to ``nearest`` days before, today included at 0."""
    total = np.concatenate([[0.0], np.cumsum(values)])
    means = np.full(len(values), np.nan)
    at = np.arange(farthest - 1, len(values))
    means[at] = (total[at + 1 - nearest] - total[at + 1 - farthest]) / (farthest - nearest)
    return means
