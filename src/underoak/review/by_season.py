"""Work done season by season, and kept for the seasons that come again unchanged."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from threading import Lock
from typing import Any, TypeVar
from weakref import WeakKeyDictionary

from underoak.model.visits import SeasonedVisits, SeasonVisits, Visit

T = TypeVar("T")

_kept: WeakKeyDictionary[SeasonVisits, dict[Callable[..., Any], Any]] = WeakKeyDictionary()
_lock = Lock()


def parts(visits: Sequence[Visit], part: Callable[[Sequence[Visit]], T]) -> list[T]:
    """What ``part`` makes of the visits, season by season; nobody may change it.

    Plain visits are one part. `SeasonedVisits` know their seasons: what was made of a season is kept for as
    long as the season's object lives, and that is the same object while nothing in the season changed.

    Parameters
    ----------
    part : a function of a module, the same object each time; it must not care how visits are split
    """
    if not isinstance(visits, SeasonedVisits):
        return [part(visits)]
    return [_part(season, part) for season in visits.seasons]


def _part(season: SeasonVisits, part: Callable[[Sequence[Visit]], T]) -> T:
    with _lock:
        kept = _kept.setdefault(season, {})
    if part not in kept:
        kept[part] = part(season.visits)
    made: T = kept[part]
    return made
