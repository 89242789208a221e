"""What the household wants out of tonight, and who is there when."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta

from underoak.errors import UserMistake
from underoak.model.household import Settings
from underoak.model.method import Resource

#: Fresh grams of a known kind a person eats in one meal, and of a kind they never had; own judgement.
PORTION_G = 250.0
FIRST_PORTION_G = 60.0


@dataclass(frozen=True, slots=True)
class Hours:
    """One person in the kitchen from ``start`` to ``end``, local time."""

    person: str
    start: datetime
    end: datetime


@dataclass(frozen=True, slots=True)
class Busy:
    """Equipment that something earlier still occupies until ``until``."""

    resource: Resource
    count: int
    until: datetime


@dataclass(frozen=True, slots=True)
class Wishes:
    """Preferences of the household; every field has a plain default.

    ``liking`` multiplies the worth of a method or taxon (1 is indifferent, 0 is never). ``enough_kg`` is how
    much of one product, as fresh kilograms of one kind, counts in full; more counts half.
    ``left_kg`` is what is left of earlier years, by (taxon, method), in fresh kilograms.
    ``known`` are kinds that everybody who eats has had before without trouble; ``first_tastes`` says whether
    a new one may be tried, which it may not where children or guests eat. ``eater_names`` are those who eat;
    ``abstaining`` those of them who were asked and keep the alcohol interval of coprine kinds.
    """

    liking: Mapping[str, float] = field(default_factory=dict)
    enough_kg: float = 2.5
    left_kg: Mapping[tuple[str, str], float] = field(default_factory=dict)
    eaters: int = 2
    eater_names: tuple[str, ...] = ()
    abstaining: frozenset[str] = frozenset()
    known: frozenset[str] = frozenset()
    first_tastes: bool = True
    give_to: tuple[str, ...] = ()
    canners: int = 0


def usual_hours(settings: Settings, evening: date, now: datetime | None = None) -> tuple[Hours, ...]:
    """Every adult who cooks, tonight from the start of the evening (or ``now``) to bedtime, tomorrow 9 to 12.

    Raises
    ------
    UserMistake   when bedtime is not after the start of the evening, or nobody cooks
    """
    begins, ends = (
        datetime.combine(evening, time.fromisoformat(text))
        for text in (settings.kitchen.evening_starts, settings.kitchen.bedtime)
    )
    if ends <= begins:
        raise UserMistake(
            f"bedtime {settings.kitchen.bedtime} is not after {settings.kitchen.evening_starts}",
            where="kitchen",
            expected="an evening that goes forward",
        )
    cooks = [p.name for p in settings.people if p.cooks and not p.child]
    if not cooks:
        raise UserMistake("nobody cooks", where="people", expected="cooks = true for an adult")
    start = max(begins, now) if now else begins
    tonight = [Hours(name, start, ends) for name in cooks if start < ends]
    morning = datetime.combine(evening + timedelta(days=1), time(9))
    return (*tonight, *(Hours(name, morning, morning + timedelta(hours=3)) for name in cooks))


def checked_hours(hours: Sequence[Hours]) -> tuple[Hours, ...]:
    """The same hours; UserMistake for none at all or for a clock that goes backwards."""
    if not hours:
        raise UserMistake("nobody is in the kitchen", expected="at least one person with hours")
    for one in hours:
        if one.end <= one.start:
            raise UserMistake(
                f"{one.person} is there from {one.start:%H:%M} to {one.end:%H:%M}",
                expected="an end after the start",
                remedy="swap the two, or give the next day",
            )
    return tuple(hours)
