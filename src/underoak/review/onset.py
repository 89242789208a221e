"""When each season began for the household: from its own finds, spot by spot."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from statistics import median

from underoak.model.visits import Visit
from underoak.outlook.season import day_number, season_of
from underoak.review.by_season import parts


@dataclass(frozen=True, slots=True)
class SeasonOnset:
    """Median over spots of the first day a taxon was found there, as a season day number."""

    season: int
    day: float
    spots: int


def season_onsets(visits: Sequence[Visit]) -> dict[str, tuple[SeasonOnset, ...]]:
    """Onset of each season by taxon id, seasons in order.

    The median of the spots' first days moves less with the number of visits than the first day of all.
    It still cannot lie on a day nobody was out.
    """
    first = {key: days for part in parts(visits, _first_days) for key, days in part.items()}
    onsets: dict[str, list[SeasonOnset]] = defaultdict(list)
    for (taxon_id, season), days in sorted(first.items()):
        middle = float(median(day_number(day) for day in days.values()))
        onsets[taxon_id].append(SeasonOnset(season, middle, len(days)))
    return {taxon_id: tuple(rows) for taxon_id, rows in onsets.items()}


def _first_days(visits: Sequence[Visit]) -> dict[tuple[str, int], dict[str, date]]:
    """(taxon id, season) -> the first day of a find at each spot."""
    first: dict[tuple[str, int], dict[str, date]] = defaultdict(dict)
    for visit in visits:
        season = season_of(visit.day)
        for find in visit.finds:
            days = first[find.taxon_id, season]
            days[find.spot_id] = min(visit.day, days.get(find.spot_id, visit.day))
    return dict(first)


_DaysOfSeason = Mapping[tuple[str, int, str | None], tuple[int, ...]]


def find_days(
    visits: Sequence[Visit], place_id: str | None = None
) -> Mapping[tuple[str, int], tuple[int, ...]]:
    """(taxon id, season) -> season day numbers of finds in prime, one for each day and spot.

    Of all visits, or of those to one place.
    """
    found = {key: days for part in parts(visits, _prime_days) for key, days in part.items()}
    return {
        key[:2]: found[key] for key in sorted((k for k in found if k[2] == place_id), key=lambda k: k[:2])
    }


def _prime_days(visits: Sequence[Visit]) -> _DaysOfSeason:
    """The same by (taxon id, season, place id); the place is None for all of them together."""
    days: dict[tuple[str, int, str | None], set[tuple[int, str]]] = defaultdict(set)
    for visit in visits:
        season, day = season_of(visit.day), day_number(visit.day)
        for find in visit.finds:
            if find.stage == "prime":
                for place in (None, visit.place_id):
                    days[find.taxon_id, season, place].add((day, find.spot_id))
    return {key: tuple(sorted(day for day, _ in pairs)) for key, pairs in days.items()}
