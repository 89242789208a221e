"""All of it together: the chance of a prime flush for each spot, taxon and day."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from underoak.model.outlook import Chance
from underoak.outlook.flush_weight import mean_flush_g
from underoak.outlook.season import day_number, season_of
from underoak.outlook.taxon_outlook import spot_columns, taxon_chances

if TYPE_CHECKING:
    from underoak.model.ground import Spot
    from underoak.model.visits import Visit
    from underoak.outlook.drivers import Climate
    from underoak.outlook.taxon_outlook import Forecastable

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.intp]

#: Standard normal quantile of 0.95: half-width of a 90 % interval.
_Z95 = 1.6448536269514722


@dataclass(frozen=True, slots=True)
class ChanceTable:
    """Chances as arrays of shape (spots, taxa, days).

    ``prime`` is the chance that a prime flush stands, ``low`` to ``high`` its 90 % interval,
    ``expected_kg`` what of it is to be expected (0 where the book gives no weight), ``found`` the chance
    that a thorough look shows it.
    """

    prime: FloatArray
    low: FloatArray
    high: FloatArray
    expected_kg: FloatArray
    found: FloatArray


def chance_table(
    spots: Sequence[Spot],
    taxa: Sequence[Forecastable],
    days: Sequence[date],
    *,
    climates: Mapping[str, Climate],
    visits: Sequence[Visit] = (),
) -> ChanceTable:
    """Chances for every spot, taxon and day.

    Parameters
    ----------
    spots : sequence of Spot
        Known spots, or inventoried trees as spots nobody has looked at: those cost next to nothing.
    taxa : sequence of taxa of the book
        Each with its season and memory blocks.
    days : ascending days of one season (1 March to the end of February)
        Looks after a day do not change its chance; looks up to it do.
    climates : place id -> Climate
        For every place that a spot belongs to.
    visits : sequence of Visit
        The household's visits of all seasons, those that found nothing included.

    Returns
    -------
    ChanceTable

    Raises
    ------
    NoAnswer     when a taxon has no season or memory in the book
    ValueError   when days are empty, not ascending or of two seasons

    Method
    ------
    chance = P(fruits this season | all visits) * P(prime on the day | fruits, visits of this season):
    the first from `memory.recall`, the second from `flush_model.filter_states`, summed over five points of
    the timing that season, place and spot share. The interval is normal on the logit, from the spread of
    both parts. Weather acts through frost, freezing and warmth only.
    """
    season, wanted = _wanted(days)
    columns = spot_columns(spots)
    shape = (len(spots), len(taxa), len(days))
    prime, low, high, kilograms, found = (np.zeros(shape) for _ in range(5))
    for t, taxon in enumerate(taxa):
        prime[:, t], spread = taxon_chances(taxon, columns, season, wanted, climates=climates, visits=visits)
        middle = np.log(prime[:, t]) - np.log1p(-prime[:, t])
        low[:, t] = 1.0 / (1.0 + np.exp(_Z95 * spread - middle))
        high[:, t] = 1.0 / (1.0 + np.exp(-_Z95 * spread - middle))
        kilograms[:, t] = prime[:, t] * mean_flush_g(taxon.weight) / 1000.0 if taxon.weight else 0.0
        found[:, t] = prime[:, t] * taxon.memory.detection if taxon.memory else 0.0
    return ChanceTable(prime, low, high, kilograms, found)


def forecast(
    spots: Sequence[Spot],
    taxa: Sequence[Forecastable],
    days: Sequence[date],
    *,
    climates: Mapping[str, Climate],
    visits: Sequence[Visit] = (),
) -> list[Chance]:
    """The same as `chance_table`, as one record for each spot, taxon and day, each with its reasons."""
    from underoak.outlook.reasons import Explanation

    table = chance_table(spots, taxa, days, climates=climates, visits=visits)
    explain = Explanation(spots, taxa, days, climates=climates, visits=visits)
    return [
        Chance(
            spot_id=spot.id,
            place_id=spot.place_id,
            taxon_id=taxon.id,
            day=day,
            prime=float(table.prime[s, t, d]),
            low=float(table.low[s, t, d]),
            high=float(table.high[s, t, d]),
            expected_kg=float(table.expected_kg[s, t, d]),
            found=float(table.found[s, t, d]),
            reasons=explain.reasons(s, t, d),
        )
        for s, spot in enumerate(spots)
        for t, taxon in enumerate(taxa)
        for d, day in enumerate(days)
    ]


def expected_kg(
    spots: Sequence[Spot],
    taxa: Sequence[Forecastable],
    day: date,
    *,
    climates: Mapping[str, Climate],
    visits: Sequence[Visit] = (),
) -> FloatArray:
    """Expected kilograms (spots, taxa) of prime flush standing on one day; see `chance_table`."""
    return chance_table(spots, taxa, [day], climates=climates, visits=visits).expected_kg[:, :, 0]


def _wanted(days: Sequence[date]) -> tuple[int, IntArray]:
    if not days or list(days) != sorted(set(days)):
        raise ValueError("days must be given, each once, in order")
    season = season_of(days[0])
    if season_of(days[-1]) != season:
        raise ValueError(f"days must lie in one season, {days[0]} and {days[-1]} do not")
    return season, np.array([day_number(day) for day in days], dtype=np.intp)
