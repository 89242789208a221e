"""All seasons of one taxon as arrays, ready to be learned from."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from underoak.outlook.looks import NONE, Looks
from underoak.outlook.parameters import Layout, layout
from underoak.outlook.season_prior import SEASON_SHARE, onset_prior
from underoak.outlook.season_rows import own_points

if TYPE_CHECKING:
    from underoak.model.book import Memory, Season
    from underoak.outlook.drivers import Climate
    from underoak.outlook.knowledge import Knowledge
    from underoak.outlook.reports import ReportDays
    from underoak.outlook.taxon_outlook import Spots

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.intp]

#: Standard deviations of records before the earliest mean onset at which the days begin.
_LEAD = 3.0


@dataclass(frozen=True, slots=True)
class Groups:
    """Every place and season that was visited.

    ``place``, ``season`` (groups,) are positions in the layout; ``onset_mean``, ``anchor_sd`` (groups,)
    are the book's; ``warmth``, ``hard_freeze`` (days, groups) and ``terms`` (days, groups, k) the weather.
    """

    place: IntArray
    season: IntArray
    onset_mean: FloatArray
    anchor_sd: FloatArray
    warmth: FloatArray
    hard_freeze: FloatArray
    terms: FloatArray


@dataclass(frozen=True, slots=True)
class Strands:
    """Chains of the record: a spot in a season, at one point of the spot's own timing.

    A spot that gave the taxon has `season_rows.OWN_POINTS` points; one that never did cannot show when it
    fruits, so one strand of wider spread stands for all. ``group`` (strands,) is a position in `Groups`,
    ``score`` (strands,) the standard score of the spot's timing, ``wide`` (strands,) true where the spread
    holds the spot's. ``case`` (strands,) numbers the pairs of spot and point; ``spot_of_case`` and
    ``log_weight`` (cases,) belong to them; ``spot`` (spots of the record,) are positions among all spots.
    """

    group: IntArray
    score: FloatArray
    wide: npt.NDArray[np.bool_]
    case: IntArray
    spot_of_case: IntArray
    log_weight: FloatArray
    spot: IntArray


@dataclass(frozen=True, slots=True)
class TaxonRecord:
    """The record of one taxon.

    ``inhabited`` (spots of the record,) is the book's chance; days count from ``first``; ``strand_of_look``
    (looks,) belongs to ``looks``, in which every look stands once for each strand of its row;
    ``look_count`` and ``find_count`` are those of the household.
    """

    season_block: Season
    memory: Memory
    layout: Layout
    inhabited: FloatArray
    groups: Groups
    strands: Strands
    first: int
    looks: Looks
    strand_of_look: IntArray
    reports: ReportDays
    look_count: int
    find_count: int

    @property
    def days(self) -> int:
        """Days from the first to the last look."""
        return len(self.groups.warmth)


def taxon_record(
    known: Knowledge,
    *,
    spots: Spots,
    looks: Looks,
    reports: ReportDays,
    climates: Mapping[str, Climate],
    terms: Sequence[str] = (),
) -> TaxonRecord:
    """Compile the looks of some seasons into a record.

    Parameters
    ----------
    known : the taxon; what was learned earlier is not used
    spots : columns of the spots
    looks : Looks, at least one
    reports : ReportDays, may be empty; those of seasons without looks are not used
    climates : place id -> Climate
    terms : names of weather terms to learn, as in `weather_terms.TERMS`
    """
    seasons = tuple(int(year) for year in np.unique(looks.season))
    plan = layout(known.season, places=spots.place_ids, seasons=seasons, terms=terms)
    rows, row_of_look = np.unique(np.column_stack([looks.spot, looks.season]), axis=0, return_inverse=True)
    keys = np.column_stack([spots.place[rows[:, 0]], np.searchsorted(seasons, rows[:, 1])])
    pairs, group = np.unique(keys, axis=0, return_inverse=True)
    strands, strands_of_row = _strands(
        rows[:, 0], group.ravel(), np.unique(looks.spot[looks.outcome != NONE])
    )
    first, last = _first_day(known, pairs, plan, looks, climates), int(looks.day[-1]) + 1
    keep = np.flatnonzero(looks.day >= first)
    copies = [
        (strand, look) for look in keep.tolist() for strand in strands_of_row[row_of_look.ravel()[look]]
    ]
    strand_of_look, of_look = np.array(copies, dtype=np.intp).reshape(-1, 2).T
    return TaxonRecord(
        season_block=known.season,
        memory=known.memory,
        layout=plan,
        inhabited=replace(known, learned=None).inhabited(spots, strands.spot)[strands.spot],
        groups=_groups(known, pairs, plan, climates, slice(first, last)),
        strands=strands,
        first=first,
        looks=looks.at(of_look),
        strand_of_look=strand_of_look,
        reports=reports,
        look_count=len(looks.day),
        find_count=int((looks.outcome != NONE).sum()),
    )


def _strands(spot: IntArray, group: IntArray, gave: IntArray) -> tuple[Strands, list[list[int]]]:
    """Strands of all rows, and the strands of each row."""
    scores, log_weights = own_points()
    known = np.unique(spot)
    cases: dict[tuple[int, int], int] = {}
    columns: list[tuple[int, float, bool, int]] = []
    weights, of_row = [], []
    for s, g in zip(spot.tolist(), group.tolist(), strict=True):
        several = s in gave
        mine = []
        for point in range(len(scores) if several else 1):
            if (s, point) not in cases:
                cases[s, point] = len(cases)
                weights.append(float(log_weights[point]) if several else 0.0)
            mine.append(len(columns))
            columns.append((g, float(scores[point]) if several else 0.0, not several, cases[s, point]))
        of_row.append(mine)
    groups, score, wide, case = zip(*columns, strict=True)
    return Strands(
        group=np.array(groups, dtype=np.intp),
        score=np.array(score),
        wide=np.array(wide, dtype=bool),
        case=np.array(case, dtype=np.intp),
        spot_of_case=np.searchsorted(known, [s for s, _ in cases]),
        log_weight=np.array(weights),
        spot=known,
    ), of_row


def _groups(
    known: Knowledge, pairs: IntArray, plan: Layout, climates: Mapping[str, Climate], days: slice
) -> Groups:
    season_sd = SEASON_SHARE * known.season.sd_days
    onsets, weather = [], []
    for p, y in pairs.tolist():
        climate = climates[plan.places[p]]
        weather.append(climate.of(plan.seasons[y]))
        onsets.append(
            onset_prior(
                known.season,
                latitude_deg=climate.latitude_deg,
                elevation_m=climate.elevation_m,
                frost=weather[-1].frost,
            )
        )
    return Groups(
        place=pairs[:, 0],
        season=pairs[:, 1],
        onset_mean=np.array([o.mean_day for o in onsets]),
        anchor_sd=np.array([max(o.season_sd**2 - season_sd**2, 0.0) ** 0.5 for o in onsets]),
        warmth=np.stack([w.warmth[days] for w in weather], axis=1),
        hard_freeze=np.stack([w.hard_freeze[days] for w in weather], axis=1),
        terms=np.stack([w.terms_named(plan.terms)[days] for w in weather], axis=1),
    )


def _first_day(
    known: Knowledge, pairs: IntArray, plan: Layout, looks: Looks, climates: Mapping[str, Climate]
) -> int:
    """A day before nearly all onsets and all finds; blanks before it say next to nothing."""
    means = _groups(known, pairs, plan, climates, slice(0, 1)).onset_mean
    found = looks.day[looks.outcome != NONE]
    early = min([float(means.min()) - _LEAD * known.season.sd_days, *(found - 10.0).tolist()])
    return int(min(max(early, 0.0), float(looks.day[-1])))
