"""All of it together: the chance of a prime flush for each spot, taxon and day."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from datetime import date
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from underoak.model.outlook import Chance
from underoak.outlook.climatology import climatology_chances
from underoak.outlook.flush_weight import mean_flush_g
from underoak.outlook.knowledge import knowledge_of
from underoak.outlook.reports import report_days
from underoak.outlook.season import day_number, season_of
from underoak.outlook.sightings import Sightings, as_sightings
from underoak.outlook.taxon_outlook import spot_columns, taxon_chances

if TYPE_CHECKING:
    from underoak.model.ground import Spot
    from underoak.model.visits import Report, Visit
    from underoak.outlook.drivers import Climate
    from underoak.outlook.knowledge import Knowledge
    from underoak.outlook.learned import Learned
    from underoak.outlook.reasons import Explanation
    from underoak.outlook.reports import ReportDays
    from underoak.outlook.taxon_outlook import Forecastable

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.intp]

#: Standard normal quantile of 0.95: half-width of a 90 % interval.
_Z95 = 1.6448536269514722


@dataclass(frozen=True, slots=True)
class ChanceTable:
    """Chances as arrays of shape (spots, taxa, days).

    ``prime`` is the chance that a prime flush stands, ``low`` to ``high`` its 90 % interval,
    ``expected_kg`` what of it is to be expected (0 where the book gives no weight, and from the day on which
    the household weighed a prime flush of it there this season: what was weighed was picked), ``found`` the
    chance that a thorough look shows it.
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
    visits: Sequence[Visit] | Sightings = (),
    reports: Sequence[Report] = (),
    learned: Mapping[str, Learned] | None = None,
    region: Climate | None = None,
    with_interval: bool = True,
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
    visits : sequence of Visit, or Sightings
        The household's visits of all seasons, those that found nothing included.
    reports : sequence of Report
        Other people's, up to the last day; only their timing counts, and only for the season.
    learned : taxon id -> Learned
        What was learned from earlier seasons; without it the book alone is used.
    region : Climate
        Where the reports come from; the middle of all places where it is not given.
    with_interval : bool
        Without it ``low`` and ``high`` are the chance itself, in a part of the time.

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
    the first from `memory.recall`, the second from `flush_model.filter_states`, summed over points of the
    timing that the season shares and that place and spot keep (`season_rows.season_belief`). The interval
    is normal on the logit, from the spread of both parts. Weather acts through frost, freezing and warmth,
    and through those terms that `learn` has switched on; where one is on, what gaps in this season's rain
    leave open widens the interval to each side, laid on as if independent (root of the sum of squares).
    """
    season, wanted = _wanted(days)
    columns, seen = spot_columns(spots), as_sightings(visits)
    weighed = seen.until(season, int(wanted[0]))
    # kept by taxon while they are filled, so that each taxon's numbers lie together
    prime, low, high, kilograms, found = np.zeros((5, len(taxa), len(spots), len(days)))
    for t, taxon in enumerate(taxa):
        known = knowledge_of(taxon, (learned or {}).get(taxon.id))
        looks = seen.looks_for(taxon.id, columns.position)
        if known.learned is not None and known.learned.climatology and (looks.season < season).any():
            answer = climatology_chances(known, len(spots), season, wanted, looks=looks)
        else:
            answer = taxon_chances(
                known,
                columns,
                season,
                wanted,
                climates=climates,
                looks=looks,
                reports=_reports(known, reports, region or middle(climates), days[-1]),
                with_interval=with_interval,
            )
        half = _Z95 * np.minimum(answer.logit_sd, 100.0)
        rest = 1.0 - answer.prime
        prime[t] = answer.prime
        low[t] = answer.prime / (answer.prime + rest * np.exp(np.hypot(half, answer.logit_down)))
        high[t] = answer.prime / (answer.prime + rest / np.exp(np.hypot(half, answer.logit_up)))
        standing = wanted < seen.picked_on(taxon.id, columns.position, season, len(spots))[:, None]
        kilograms[t] = standing * answer.prime * _flush_kg(taxon, weighed)
        found[t] = answer.prime * known.detection
    return ChanceTable(*(np.moveaxis(part, 0, 1) for part in (prime, low, high, kilograms, found)))


def _flush_kg(taxon: Forecastable, seen: Sightings) -> float:
    """Mean weight of a prime flush, kg, moved by what the household weighed; 0 where the book has none."""
    if taxon.weight is None:
        return 0.0
    return mean_flush_g(taxon.weight, seen.prime_weights_g(taxon.id)) / 1000.0


@dataclass(frozen=True, slots=True)
class Basis:
    """All that a forecast stands on; see `chance_table`.

    ``elsewhere`` are all known spots: those that were looked at tell of the season of the others too, also
    where they are not asked about.
    """

    climates: Mapping[str, Climate]
    visits: Sequence[Visit] | Sightings = ()
    reports: Sequence[Report] = ()
    learned: Mapping[str, Learned] = field(default_factory=dict)
    elsewhere: Sequence[Spot] = ()
    region: Climate | None = None

    def table(
        self,
        spots: Sequence[Spot],
        taxa: Sequence[Forecastable],
        days: Sequence[date],
        *,
        with_interval: bool = True,
    ) -> ChanceTable:
        """The chance table of the spots on this basis."""
        seen = as_sightings(self.visits)
        table = chance_table(
            [*spots, *self._others(spots, seen)],
            taxa,
            days,
            climates=self.climates,
            visits=seen,
            reports=self.reports,
            learned=self.learned,
            region=self.region,
            with_interval=with_interval,
        )
        return ChanceTable(*(getattr(table, one.name)[: len(spots)] for one in fields(table)))

    def _others(self, spots: Sequence[Spot], seen: Sightings) -> list[Spot]:
        """Spots elsewhere that were ever looked at."""
        looked = {seen.spot_ids[spot] for spot in np.unique(seen.spot).tolist()}
        looked -= {spot.id for spot in spots}
        return [spot for spot in self.elsewhere if spot.id in looked and spot.place_id in self.climates]


def forecast(
    spots: Sequence[Spot],
    taxa: Sequence[Forecastable],
    days: Sequence[date],
    *,
    climates: Mapping[str, Climate],
    visits: Sequence[Visit] = (),
    reports: Sequence[Report] = (),
    learned: Mapping[str, Learned] | None = None,
) -> list[Chance]:
    """The same as `chance_table`, as one record for each spot, taxon and day, each with its reasons."""
    from underoak.outlook.reasons import Explanation

    basis = Basis(climates, visits, reports, learned or {})
    table = basis.table(spots, taxa, days)
    explain = Explanation(spots, taxa, days, basis)
    return [
        chance_record(table, explain, spots[s], taxa[t], days[d], at=(s, t, d))
        for s in range(len(spots))
        for t in range(len(taxa))
        for d in range(len(days))
    ]


def chance_record(
    table: ChanceTable,
    explain: Explanation,
    spot: Spot,
    taxon: Forecastable,
    day: date,
    *,
    at: tuple[int, int, int],
    explained_at: tuple[int, int, int] | None = None,
) -> Chance:
    """One cell of a table as a record; ``explained_at`` is its position in the explanation if it differs."""
    return Chance(
        spot_id=spot.id,
        place_id=spot.place_id,
        taxon_id=taxon.id,
        day=day,
        prime=float(table.prime[at]),
        low=float(table.low[at]),
        high=float(table.high[at]),
        expected_kg=float(table.expected_kg[at]),
        found=float(table.found[at]),
        reasons=explain.reasons(*(explained_at or at)),
    )


def expected_kg(
    spots: Sequence[Spot],
    taxa: Sequence[Forecastable],
    day: date,
    *,
    climates: Mapping[str, Climate],
    visits: Sequence[Visit] = (),
    reports: Sequence[Report] = (),
    learned: Mapping[str, Learned] | None = None,
) -> FloatArray:
    """Expected kilograms (spots, taxa) of prime flush standing on one day; see `chance_table`."""
    basis = Basis(climates, visits, reports, learned or {})
    return basis.table(spots, taxa, [day], with_interval=False).expected_kg[:, :, 0]


def _wanted(days: Sequence[date]) -> tuple[int, IntArray]:
    if not days or list(days) != sorted(set(days)):
        raise ValueError("days must be given, each once, in order")
    season = season_of(days[0])
    if season_of(days[-1]) != season:
        raise ValueError(f"days must lie in one season, {days[0]} and {days[-1]} do not")
    return season, np.array([day_number(day) for day in days], dtype=np.intp)


def middle(climates: Mapping[str, Climate]) -> Climate | None:
    """A place in the middle of all places, with the first one's weather."""
    if not climates:
        return None
    known = list(climates.values())
    return replace(
        known[0],
        latitude_deg=float(np.mean([climate.latitude_deg for climate in known])),
        elevation_m=float(np.mean([climate.elevation_m for climate in known])),
    )


def _reports(
    known: Knowledge, reports: Sequence[Report], region: Climate | None, until: date
) -> ReportDays | None:
    """Report days of a taxon in a region; None without reports."""
    if not reports or region is None:
        return None
    return report_days(
        known.taxon.id,
        known.season,
        reports,
        latitude_deg=region.latitude_deg,
        elevation_m=region.elevation_m,
        frost=region.of(season_of(until)).frost,
        until=until,
    )
