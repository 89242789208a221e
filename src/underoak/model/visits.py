"""What the household did and saw in the woods, and what others report."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal

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
