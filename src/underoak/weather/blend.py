"""Weather of a place from the stations around it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from underoak.errors import NoAnswer
from underoak.model.weather import DAILY_QUANTITIES, Station, WeatherSeries
from underoak.weather.lapse import at_elevation

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy.typing as npt

    FloatArray = npt.NDArray[np.float64]
    BoolArray = npt.NDArray[np.bool_]

EARTH_RADIUS_KM = 6371.0088
#: Nearer than this, distance no longer tells one station from another.
SAME_PLACE_KM = 1.0
#: Weather further away than this is other weather (the developers' judgement).
FARTHEST_KM = 150.0
MOST_STATIONS = 5
#: It rained at the place when stations with at least this share of the weight had rain.
RAIN_SHARE = 0.5


@dataclass(frozen=True, slots=True)
class Source:
    """A station of a blend: how far, how much the place lies above it (None unknown), its weight 0 to 1."""

    station: Station
    distance_km: float
    climb_m: float | None
    share: float


@dataclass(frozen=True, slots=True)
class Blend:
    """Weather of a place, the stations it stands on, and how far they disagree.

    ``spread`` maps a quantity to the weighted standard deviation among stations by day, (days,), NaN
    where fewer than two measured.
    """

    series: WeatherSeries
    sources: tuple[Source, ...]
    spread: Mapping[str, FloatArray]


def distance_km(
    latitude_deg: float, longitude_deg: float, other_latitude_deg: float, other_longitude_deg: float
) -> float:
    """Great-circle distance on the mean sphere, km, to about half a percent.

    Method: haversine. Source: Sinnott 1984, from memory.
    """
    phi, other_phi = np.radians([latitude_deg, other_latitude_deg])
    half_phi = np.radians(other_latitude_deg - latitude_deg) / 2.0
    half_lambda = np.radians(other_longitude_deg - longitude_deg) / 2.0
    chord = np.sin(half_phi) ** 2 + np.cos(phi) * np.cos(other_phi) * np.sin(half_lambda) ** 2
    return float(2.0 * EARTH_RADIUS_KM * np.arcsin(np.sqrt(chord)))


def blend(
    stations: Sequence[WeatherSeries],
    *,
    latitude_deg: float,
    longitude_deg: float,
    elevation_m: float,
    name: str = "this place",
    farthest_km: float = FARTHEST_KM,
) -> Blend:
    """Weather of a place from its nearest stations, at most five.

    Each station is brought to the place's elevation (`at_elevation`), then weighted by the inverse
    square of its distance, day by day and quantity by quantity over those that measured. Rain: it
    rained when stations with half the weight had rain, and then as much as the mean of those. A day
    that no station observed takes the forecasts. Stations of unknown position serve only where no
    station has one, and are then taken for the place's own.

    Parameters
    ----------
    stations      series of any span, gaps as NaN; their days are joined
    latitude_deg, longitude_deg, elevation_m   of the place
    name          of the place, for messages and the answer's station
    farthest_km   stations further away are left out

    Method: inverse distance weights; rain by occurrence first, amount second.
    Source: Shepard 1968 and Thornton, Running and White 1997, from memory; limits are the developers'
    judgement.

    Raises NoAnswer without a station near enough. **Fails towards** no weather rather than far weather.
    """
    near = _near(stations, latitude_deg, longitude_deg, name, farthest_km)
    weights = np.array([1.0 / max(km, SAME_PLACE_KM) ** 2 for _, km in near])
    weights /= weights.sum()
    lifted = [at_elevation(series, elevation_m) for series, _ in near]
    first = min(s.first_day for s in lifted)
    days = (max(s.last_day for s in lifted) - first).days + 1
    place = [(s.first_day - first).days for s in lifted]
    observed = _observed(lifted, place, days)
    seen = np.asarray(observed.any(axis=0))
    values: dict[str, FloatArray] = {}
    spread: dict[str, FloatArray] = {}
    for quantity in DAILY_QUANTITIES:
        stack = _stack(lifted, place, days, quantity)
        if stack is None:
            continue
        stack = np.where(seen & ~observed, np.nan, stack)
        mix = _rain if quantity == "rain_mm" else _mean
        values[quantity] = mix(stack, weights)
        spread[quantity] = _spread(stack, weights)
    _hold_order(values)
    station = Station("place", name, latitude_deg, longitude_deg, elevation_m)
    sources = tuple(
        Source(series.station, km, _climb(series.station, elevation_m), float(share))
        for (series, km), share in zip(near, weights, strict=True)
    )
    return Blend(WeatherSeries(station, first, values, ~seen, {}), sources, spread)


def _near(
    stations: Sequence[WeatherSeries],
    latitude_deg: float,
    longitude_deg: float,
    name: str,
    farthest_km: float,
) -> list[tuple[WeatherSeries, float]]:
    if not stations:
        raise NoAnswer(f"no weather is known for {name}", remedy="load a station's file")
    placed = [
        (s, distance_km(latitude_deg, longitude_deg, s.station.latitude_deg, s.station.longitude_deg))
        for s in stations
        if s.station.latitude_deg is not None and s.station.longitude_deg is not None
    ]
    if not placed:
        return [(s, 0.0) for s in stations[:MOST_STATIONS]]
    placed.sort(key=lambda pair: (pair[1], pair[0].station.id))
    near = [pair for pair in placed if pair[1] <= farthest_km][:MOST_STATIONS]
    if not near:
        series, km = placed[0]
        raise NoAnswer(
            f"the nearest station, {series.station.name}, is {km:.0f} km from {name}",
            expected=f"a station within {farthest_km:.0f} km",
            remedy="load a nearer station; season and own visits still answer",
        )
    return near


def _climb(station: Station, elevation_m: float) -> float | None:
    return None if station.elevation_m is None else elevation_m - station.elevation_m


def _observed(series: Sequence[WeatherSeries], place: Sequence[int], days: int) -> BoolArray:
    """Days on which a station measured something, (stations, days)."""
    seen = np.zeros((len(series), days), dtype=bool)
    for row, (one, start) in enumerate(zip(series, place, strict=True)):
        known = np.logical_or.reduce([np.isfinite(v) for v in one.values.values()])
        seen[row, start : start + one.days] = known & ~one.forecast
    return seen


def _stack(
    series: Sequence[WeatherSeries], place: Sequence[int], days: int, quantity: str
) -> FloatArray | None:
    """Values of a quantity, (stations, days), or None where nobody measures it."""
    if not any(quantity in one.values for one in series):
        return None
    stack = np.full((len(series), days), np.nan)
    for row, (one, start) in enumerate(zip(series, place, strict=True)):
        if quantity in one.values:
            stack[row, start : start + one.days] = one.values[quantity]
    return stack


def _shares(stack: FloatArray, weights: FloatArray, among: BoolArray) -> tuple[FloatArray, FloatArray]:
    """Weighted mean of the values ``among``, and the weight that stood behind it; NaN and 0 for none."""
    behind = np.where(among, weights[:, None], 0.0)
    total = behind.sum(axis=0)
    mean = (behind * np.where(among, stack, 0.0)).sum(axis=0) / np.where(total > 0.0, total, 1.0)
    return np.where(total > 0.0, mean, np.nan), total


def _mean(stack: FloatArray, weights: FloatArray) -> FloatArray:
    return _shares(stack, weights, np.isfinite(stack))[0]


def _rain(stack: FloatArray, weights: FloatArray) -> FloatArray:
    known = np.isfinite(stack)
    amount, wet = _shares(stack, weights, known & (np.nan_to_num(stack) > 0.0))
    measured = np.where(known, weights[:, None], 0.0).sum(axis=0)
    rained = wet >= RAIN_SHARE * measured
    return np.where(measured > 0.0, np.where(rained & (wet > 0.0), amount, 0.0), np.nan)


def _spread(stack: FloatArray, weights: FloatArray) -> FloatArray:
    known = np.isfinite(stack)
    mean, _ = _shares(stack, weights, known)
    square, _ = _shares((stack - mean) ** 2, weights, known)
    return np.where(known.sum(axis=0) > 1, np.sqrt(square), np.nan)


def _hold_order(values: dict[str, FloatArray]) -> None:
    """Extremes of different stations may cross; the lower one is the minimum."""
    if "tmin_c" in values and "tmax_c" in values:
        low, high = values["tmin_c"], values["tmax_c"]
        values["tmin_c"], values["tmax_c"] = np.fmin(low, high), np.fmax(low, high)
        values["tmin_c"][np.isnan(low)] = np.nan
        values["tmax_c"][np.isnan(high)] = np.nan
