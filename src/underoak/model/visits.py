"""What the household did and saw in the woods, and what others report."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal, overload

FlushStage = Literal["young", "prime", "past"]


@dataclass(frozen=True, slots=True)
class Search:
    """One spot looked at on a visit, whether or not anything stood there.

    ``thoroughness`` is the share of what stood there that such a look would show, 0 to 1
    (0.3 a glance from the trail, 0.6 a look around, 0.9 on hands and knees).
    """

    spot_id: str
    thoroughness: float


@dataclass(frozen=True, slots=True)
class Find:
    """Fruit bodies of one taxon at one spot on one visit."""

    id: str
    spot_id: str
    taxon_id: str
    stage: FlushStage
    bodies: int | None = None
    fresh_g: float | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class Visit:
    """A day out at one place; a visit without finds is a record as good as any other."""

    id: str
    day: date
    place_id: str
    minutes: float | None = None
    people: tuple[str, ...] = ()
    searches: tuple[Search, ...] = ()
    finds: tuple[Find, ...] = ()
    note: str = ""


@dataclass(frozen=True, slots=True, eq=False, weakref_slot=True)
class SeasonVisits:
    """Visits of one season (1 March to the end of February) by day.

    Compared by identity: the ledger hands back the same object while nothing of the season has changed, so
    what was worked out of a season that is over can be kept under the object itself.
    """

    season: int
    visits: tuple[Visit, ...]


class SeasonedVisits(Sequence[Visit]):
    """Visits by day that know their seasons (ascending)."""

    def __init__(self, seasons: Sequence[SeasonVisits]) -> None:
        self.seasons = tuple(seasons)
        self._visits = tuple(visit for season in self.seasons for visit in season.visits)

    def of(self, season: int) -> SeasonedVisits:
        """Those of one season, which may be none."""
        return SeasonedVisits([one for one in self.seasons if one.season == season])

    def __len__(self) -> int:
        return len(self._visits)

    def __iter__(self) -> Iterator[Visit]:
        return iter(self._visits)

    @overload
    def __getitem__(self, at: int) -> Visit: ...

    @overload
    def __getitem__(self, at: slice) -> tuple[Visit, ...]: ...

    def __getitem__(self, at: int | slice) -> Visit | tuple[Visit, ...]:
        return self._visits[at]


@dataclass(frozen=True, slots=True)
class Report:
    """Somebody else's dated record. ``taxon_id`` is None when the book does not know the name."""

    id: str
    day: date
    scientific_name: str
    taxon_id: str | None
    longitude_deg: float | None
    latitude_deg: float | None
    uncertainty_m: float | None = None
    present: bool = True
    source: str = ""
