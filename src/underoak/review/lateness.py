"""Whether this household's woods run early or late: against other people's reports and the first frost."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from underoak.model.visits import Report, Visit
from underoak.outlook.season import day_number, season_of
from underoak.review.association import holm
from underoak.review.intervals import Estimate, mean_of
from underoak.review.onset import find_days, season_onsets
from underoak.review.shift import shift_of

#: Seasons under which nothing is claimed of the difference.
FEWEST_SEASONS = 3
#: Reports of a season under which it is not compared.
FEWEST_REPORTS = 3


@dataclass(frozen=True, slots=True)
class SeasonLateness:
    """One season: days by which own finds came later (+) than the reports, from so many of each."""

    season: int
    days_late: Estimate
    own_finds: int
    reports: int


@dataclass(frozen=True, slots=True)
class Lateness:
    """One taxon against its region: each season, and their mean (None with fewer than two seasons).

    ``place_id`` is None for all the household's woods together. ``adjusted_p`` is that of no difference,
    everything the review compared considered.
    """

    taxon_id: str
    place_id: str | None
    seasons: tuple[SeasonLateness, ...]
    days_late: Estimate | None
    adjusted_p: float = 1.0

    @property
    def shown(self) -> bool:
        """Whether enough seasons agree that the woods run early or late."""
        return _shown(self.days_late, self.adjusted_p)


@dataclass(frozen=True, slots=True)
class FromFrost:
    """One taxon against the first frost: days from it to the onset (negative: before), by season.

    ``adjusted_p`` is that of an onset on the frost's day, all taxa of the review considered.
    """

    taxon_id: str
    seasons: tuple[tuple[int, float], ...]
    days_after: Estimate
    adjusted_p: float = 1.0

    @property
    def shown(self) -> bool:
        """Whether enough seasons agree on which side of the frost it begins."""
        return _shown(self.days_after, self.adjusted_p)


def lateness(visits: Sequence[Visit], reports: Sequence[Report]) -> tuple[Lateness, ...]:
    """Own prime finds against other people's reports of the same season, by taxon, together and by place.

    Parameters
    ----------
    visits : the household's
    reports : dated records of others; absences and names the book does not know are left out

    Returns
    -------
    for each taxon all woods together, then each wood with at least two seasons to compare, if there are
    several.

    Method
    ------
    Each season: Hodges and Lehmann's shift of the days of own prime finds (one a spot and day) against the
    days of reports, where there are at least 3 of them. Over seasons: mean with Student's interval, for
    records of one season share its weather and count as one; Holm's correction over all that is compared.
    Both kinds of days depend on who was out when: a household that goes late in the year looks late.
    """
    others: dict[tuple[str, int], list[int]] = defaultdict(list)
    for report in reports:
        if report.present and report.taxon_id:
            others[report.taxon_id, season_of(report.day)].append(day_number(report.day))
    found = _compared(visits, None, others)
    places = sorted({visit.place_id for visit in visits if visit.finds})
    for place in places if len(places) > 1 else ():
        here = _compared(visits, place, others)
        found += [row for row in here if row.days_late is not None]
    p = holm([row.days_late.p_against(0.0) if row.days_late else 1.0 for row in found])
    rows = [replace(row, adjusted_p=one) for row, one in zip(found, p, strict=True)]
    return tuple(sorted(rows, key=lambda row: (row.taxon_id, row.place_id or "")))


def _compared(
    visits: Sequence[Visit], place_id: str | None, others: Mapping[tuple[str, int], Sequence[int]]
) -> list[Lateness]:
    rows: dict[str, list[SeasonLateness]] = defaultdict(list)
    for (taxon_id, season), own in find_days(visits, place_id).items():
        theirs = others.get((taxon_id, season), [])
        if len(theirs) >= FEWEST_REPORTS:
            rows[taxon_id].append(SeasonLateness(season, shift_of(own, theirs), len(own), len(theirs)))
    return [Lateness(taxon_id, place_id, tuple(r), _over_seasons(r)) for taxon_id, r in rows.items()]


def _over_seasons(rows: Sequence[SeasonLateness]) -> Estimate | None:
    return mean_of([row.days_late.value for row in rows]) if len(rows) > 1 else None


def from_frost(visits: Sequence[Visit], first_frosts: Mapping[int, date]) -> tuple[FromFrost, ...]:
    """Days from the first frost of each season to the onset of each taxon.

    ``first_frosts`` maps a season to the day of its first frost; seasons without one are left out, so a
    taxon whose season runs in spring gives large negative days and no more meaning than that.
    """
    results = []
    for taxon_id, onsets in season_onsets(visits).items():
        days = [
            (o.season, o.day - day_number(first_frosts[o.season])) for o in onsets if o.season in first_frosts
        ]
        if days:
            results.append(FromFrost(taxon_id, tuple(days), mean_of([gap for _, gap in days])))
    p = holm([row.days_after.p_against(0.0) for row in results])
    return tuple(replace(row, adjusted_p=one) for row, one in zip(results, p, strict=True))


def _shown(estimate: Estimate | None, adjusted_p: float) -> bool:
    return estimate is not None and estimate.n >= FEWEST_SEASONS and adjusted_p <= 0.05
