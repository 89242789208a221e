"""What each tree gave over the years: seasons fruited of seasons looked at, weight, days, side."""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from underoak.model.book import Memory
from underoak.model.visits import Find, Visit
from underoak.outlook.memory import PSEUDO_SEASONS
from underoak.outlook.season import day_number, day_of_season, season_of
from underoak.review.by_season import parts
from underoak.review.intervals import Estimate, chance_of_return
from underoak.review.noted import noted
from underoak.review.side_of_tree import SideOfTree, side_of_tree

#: A look counts this many days outside the span in which the household ever found the taxon.
AROUND_DAYS = 7
#: Chance of return where the book has none.
NO_PRIOR = 0.5


@dataclass(frozen=True, slots=True)
class TreeMemory:
    """One taxon at one spot over all seasons.

    ``looked`` are seasons in which the spot was searched while the taxon could stand; ``fruited`` those
    with a find in any stage. ``returns`` is the chance that it fruits in a season: the book's value
    (``book_returns``) moved by these seasons. ``first`` and ``last`` are the earliest and latest day of a
    find in any season, as (month, day). ``sides_deg`` are the noted sides, one a find.
    """

    spot_id: str
    taxon_id: str
    looked: tuple[int, ...]
    fruited: tuple[int, ...]
    returns: Estimate
    book_returns: float | None
    finds: int
    kg: float
    first: tuple[int, int] | None
    last: tuple[int, int] | None
    side: SideOfTree | None


def tree_memories(visits: Sequence[Visit], memories: Mapping[str, Memory | None]) -> tuple[TreeMemory, ...]:
    """Memory of every spot and taxon that the household ever found there or looked for there in vain.

    Parameters
    ----------
    visits : all visits, those that found nothing included
    memories : what the book says by taxon id; taxa that were never found anywhere are left out

    Returns
    -------
    one `TreeMemory` for each spot and taxon with at least one season looked at; most kilograms first.

    Method
    ------
    A season counts as looked at for a taxon when the spot was searched between the earliest and latest day
    (of any season) on which the household ever found that taxon, 7 days more on either side: a look in
    August says nothing of a late kind. Return: `chance_of_return` with the book's value as 4 seasons.
    A look that found nothing may have missed it; the figure counts it as a miss.
    """
    found, searched = _by_spot(visits)
    spans = _spans(found)
    results = []
    for spot_id, seasons in searched.items():
        for taxon_id, (opens, closes) in spans.items():
            here = found.get((spot_id, taxon_id), [])
            looked = {season for season, days in seasons.items() if _any_within(days, opens, closes)}
            looked |= {season for one in here for season in one.seasons}
            if looked:
                results.append(_memory(spot_id, taxon_id, looked, here, memories.get(taxon_id)))
    return tuple(sorted(results, key=lambda m: (-m.kg, -len(m.fruited), m.spot_id, m.taxon_id)))


@dataclass(frozen=True, slots=True)
class _Given:
    """Finds of one taxon at one spot in some seasons; ``days`` are the first and last season day number."""

    seasons: frozenset[int]
    days: tuple[int, int]
    weights_g: tuple[float, ...]
    sides_deg: tuple[float, ...]
    finds: int


#: By spot and taxon.
_Found = dict[tuple[str, str], list[_Given]]
#: Day numbers of looks, ascending, by spot and season.
_Searched = dict[str, dict[int, tuple[int, ...]]]


def _by_spot(visits: Sequence[Visit]) -> tuple[_Found, _Searched]:
    """All finds, in the order of their days, and the days of every look at each spot."""
    found: _Found = defaultdict(list)
    searched: _Searched = defaultdict(dict)
    for given, looks in parts(visits, _of_visits):
        for key, one in given.items():
            found[key].append(one)
        for (spot_id, season), days in looks.items():
            searched[spot_id][season] = days
    return dict(found), dict(searched)


def _of_visits(
    visits: Sequence[Visit],
) -> tuple[dict[tuple[str, str], _Given], dict[tuple[str, int], tuple[int, ...]]]:
    found: dict[tuple[str, str], list[tuple[int, int, Find]]] = defaultdict(list)
    searched: dict[tuple[str, int], set[int]] = defaultdict(set)
    for visit in visits:
        season, day = season_of(visit.day), day_number(visit.day)
        for search in visit.searches:
            searched[search.spot_id, season].add(day)
        for find in visit.finds:
            searched[find.spot_id, season].add(day)
            found[find.spot_id, find.taxon_id].append((season, day, find))
    looks = {key: tuple(sorted(days)) for key, days in searched.items()}
    return {key: _given(here) for key, here in found.items()}, looks


def _given(here: Sequence[tuple[int, int, Find]]) -> _Given:
    sides = (noted(find.note).side_deg for _, _, find in here)
    numbers = [day for _, day, _ in here]
    return _Given(
        seasons=frozenset(season for season, _, _ in here),
        days=(min(numbers), max(numbers)),
        weights_g=tuple(find.fresh_g for _, _, find in here if find.fresh_g),
        sides_deg=tuple(side for side in sides if side is not None),
        finds=len(here),
    )


def _any_within(days: Sequence[int], opens: int, closes: int) -> bool:
    """Whether any of the ascending days lies within both ends."""
    at = bisect_left(days, opens)
    return at < len(days) and days[at] <= closes


def _spans(found: _Found) -> dict[str, tuple[int, int]]:
    days: dict[str, list[int]] = defaultdict(list)
    for (_, taxon_id), here in found.items():
        days[taxon_id] += [day for one in here for day in one.days]
    return {t: (min(d) - AROUND_DAYS, max(d) + AROUND_DAYS) for t, d in sorted(days.items())}


def _memory(
    spot_id: str, taxon_id: str, looked: set[int], here: Sequence[_Given], book: Memory | None
) -> TreeMemory:
    fruited = {season for one in here for season in one.seasons}
    numbers = [day for one in here for day in one.days]
    sides = [side for one in here for side in one.sides_deg]
    prior = book.returns if book else NO_PRIOR
    return TreeMemory(
        spot_id=spot_id,
        taxon_id=taxon_id,
        looked=tuple(sorted(looked)),
        fruited=tuple(sorted(fruited)),
        returns=chance_of_return(len(fruited), len(looked), prior, PSEUDO_SEASONS),
        book_returns=book.returns if book else None,
        finds=sum(one.finds for one in here),
        kg=sum(grams for one in here for grams in one.weights_g) / 1000.0,
        first=_month_day(min(numbers)) if numbers else None,
        last=_month_day(max(numbers)) if numbers else None,
        side=side_of_tree(sides) if sides else None,
    )


def _month_day(number: int) -> tuple[int, int]:
    day = day_of_season(2001, number)  # a season without a leap day
    return day.month, day.day


def next_looks(memory: TreeMemory, season: int) -> tuple[date, date] | None:
    """First and last day of a season between which this tree is worth a look, a week wider than its finds."""
    if memory.first is None or memory.last is None:
        return None
    first, last = (
        date(season + (month < 3), month, min(day, 28) if month == 2 else day)
        for month, day in (memory.first, memory.last)
    )
    return first - timedelta(days=AROUND_DAYS), last + timedelta(days=AROUND_DAYS)
