"""One run of a method laid into the hours: when each step falls, and what it takes of every limit."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from underoak.kitchen.wishes import Busy, Hours
from underoak.kitchen.yields import CLEANED_SHARE, amounts
from underoak.model.book import Taxon
from underoak.model.household import Kitchen
from underoak.model.kitchen import Dirt, Lot
from underoak.model.method import Method, Step

#: Limits are kept by quarters of an hour; a step claims every quarter it touches.
SLOT_MIN = 15
#: How much longer cleaning takes by how dirty a lot is; own judgement.
DIRT_FACTOR: Mapping[Dirt, float] = {"clean": 0.6, "some": 1.0, "dirty": 1.7}
#: Litres of refrigerator that a kilogram of fresh mushrooms in paper takes overnight; own judgement.
FRESH_L_KG = 6.0
#: The longest that a waiting may be drawn out, minutes.
_LONGEST_WAIT_MIN = 14 * 60

#: (what is limited, which quarter, day, lot or kind of it)
Row = tuple[str, int | str]


@dataclass(frozen=True, slots=True)
class Placed:
    """One step in minutes after the timetable's start, with the trays it takes."""

    step: Step
    start_min: float
    end_min: float
    trays: int = 0


@dataclass(frozen=True, slots=True)
class Run:
    """A candidate: ``size_kg`` of lot number ``lot`` by a method from slot ``start`` on.

    ``needs`` maps each limit it touches to the amount it takes; ``trouble`` is subtracted from its worth.
    """

    lot: int
    method_id: str
    size_kg: float
    start: int
    placed: tuple[Placed, ...]
    needs: Mapping[Row, float]
    containers: int
    product_g: tuple[float, float]
    trouble: float


@dataclass(frozen=True)
class Timetable:
    """Quarters of an hour from ``begins`` on: who is there in which, and when the next day starts.

    ``present[s]`` names the people who are there for the whole of slot ``s``.
    """

    begins: datetime
    present: tuple[tuple[str, ...], ...]
    busy: tuple[Busy, ...] = ()

    @classmethod
    def of(cls, hours: Sequence[Hours], now: datetime, busy: Sequence[Busy] = ()) -> Timetable:
        """The timetable of these hours; what lies before ``now`` is gone."""
        first = max(min(one.start for one in hours), now)
        begins = first.replace(minute=first.minute // SLOT_MIN * SLOT_MIN, second=0, microsecond=0)
        slots = math.ceil((max(one.end for one in hours) - begins).total_seconds() / 60.0 / SLOT_MIN)
        present = []
        for slot in range(max(slots, 0)):
            start = begins + timedelta(minutes=slot * SLOT_MIN)
            end = start + timedelta(minutes=SLOT_MIN)
            names = {one.person for one in hours if one.start <= start and end <= one.end and start >= now}
            present.append(tuple(sorted(names)))
        return cls(begins, tuple(present), tuple(busy))

    @property
    def staffed_slots(self) -> list[int]:
        """Slots in which somebody is there."""
        return [slot for slot, names in enumerate(self.present) if names]

    def moment(self, minutes: float) -> datetime:
        """The time so many minutes after the start."""
        return self.begins + timedelta(minutes=minutes)

    def day(self, minutes: float) -> int:
        """0 for the first day, 1 for every later one."""
        return min((self.moment(minutes).date() - self.begins.date()).days, 1)

    def day_of_slot(self, slot: int) -> int:
        """0 for slots of the first day, 1 for every later one."""
        return self.day(slot * SLOT_MIN)

    def staffed(self, start_min: float, end_min: float) -> bool:
        """Whether somebody is there in every slot touched."""
        return all(slot < len(self.present) and self.present[slot] for slot in touched(start_min, end_min))

    def limits(self, equipment: Mapping[str, int]) -> dict[Row, float]:
        """People and free equipment in every slot."""
        limits: dict[Row, float] = {}
        for slot, names in enumerate(self.present):
            limits["people", slot] = len(names)
            for resource, count in equipment.items():
                until = self.moment(slot * SLOT_MIN)
                taken = sum(b.count for b in self.busy if b.resource == resource and b.until > until)
                limits[resource, slot] = max(count - taken, 0)
        return limits


def touched(start_min: float, end_min: float) -> range:
    """Slots that an interval of minutes touches."""
    return range(math.floor(start_min / SLOT_MIN + 1e-9), math.ceil(end_min / SLOT_MIN - 1e-9))


def place_steps(
    steps: Sequence[Step], size_kg: float, start: int, *, dirt: Dirt, kitchen: Kitchen, timetable: Timetable
) -> tuple[Placed, ...] | None:
    """The steps of one run from slot ``start`` on, one after the other; None where they do not fit.

    Hands-on steps and everything on a burner fall into slots in which somebody is there. A waiting that may
    go on (the dryer overnight) is drawn out until its next step fits.
    """
    trays = math.ceil(size_kg / kitchen.tray_holds_kg - 1e-9)
    placed: list[Placed] = []
    clock = float(start * SLOT_MIN)
    for step in steps:
        minutes = step.minutes + step.minutes_per_kg * size_kg
        minutes *= DIRT_FACTOR[dirt] if step.grows_with_dirt else 1.0
        minutes = float(math.ceil(minutes - 1e-9))
        watched = step.hands_on or bool(step.uses)
        if watched and not timetable.staffed(clock, clock + minutes):
            moved = _drawn_out(placed, clock, minutes, timetable)
            if moved is None:
                return None
            clock = moved
        placed.append(Placed(step, clock, clock + minutes, trays if step.on_trays else 0))
        clock += minutes
    if touched(0.0, clock).stop > len(timetable.present):
        return None
    return tuple(placed)


def _drawn_out(placed: list[Placed], clock: float, minutes: float, timetable: Timetable) -> float | None:
    """Lengthen the last step until a watched one of ``minutes`` fits after it; the new time or None."""
    if not placed or not placed[-1].step.may_wait:
        return None
    for slot in timetable.staffed_slots:
        later = float(slot * SLOT_MIN)
        if clock < later <= clock + _LONGEST_WAIT_MIN and timetable.staffed(later, later + minutes):
            last = placed[-1]
            placed[-1] = Placed(last.step, last.start_min, later, last.trays)
            return later
    return None


def hands_on_hours(placed: Sequence[Placed]) -> float:
    """Hours of somebody's work in a run."""
    return sum(p.end_min - p.start_min for p in placed if p.step.hands_on) / 60.0


def rows_of(
    lot: Lot,
    taxon: Taxon | None,
    method: Method,
    *,
    index: int,
    size_kg: float,
    placed: tuple[Placed, ...],
    timetable: Timetable,
) -> tuple[dict[Row, float], int, tuple[float, float]]:
    """What a run takes of every limit, the containers it fills and its grams of product."""
    needs: dict[Row, float] = {("lot", index): size_kg}
    for step in placed:
        uses: dict[str, int] = {}
        for name, count in step.step.uses.items():
            uses[name] = count
        if step.step.hands_on:
            uses["people"] = 1
        if step.trays:
            uses["tray"] = step.trays
        for slot in touched(step.start_min, step.end_min):
            for resource, count in uses.items():
                needs[resource, slot] = max(needs.get((resource, slot), 0.0), float(count))
    share = taxon.kitchen.cleaned_share if taxon and taxon.kitchen else CLEANED_SHARE
    product_g = amounts(method, size_kg * 1000.0, taxon_id=lot.taxon_id, cleaned_share=share).product_g
    day = timetable.day(placed[-1].end_min)
    containers = _storage_rows(needs, method, product_g[1], day)
    if method.outcome == "eat":
        needs["meal", day] = size_kg
    if timetable.day(placed[0].start_min) > 0:
        _add(needs, ("litres", "refrigerator"), size_kg * FRESH_L_KG)
    return needs, containers, product_g


def _storage_rows(needs: dict[Row, float], method: Method, most_g: float, day: int) -> int:
    if method.packing is None or method.outcome != "keep":
        return 0
    containers = max(1, math.ceil(most_g / method.packing.holds_g - 1e-9))
    if method.packing.container in ("half_pint_jar", "pint_jar", "freezer_bag"):
        needs["stock", method.packing.container] = float(containers)
    if method.product_stands in ("freezer", "refrigerator"):
        _add(needs, ("litres", method.product_stands), containers * method.packing.volume_l)
    if method.product_stands == "freezer":
        needs["freezer load", day] = most_g / 1000.0
    return containers


def _add(needs: dict[Row, float], row: Row, amount: float) -> None:
    needs[row] = needs.get(row, 0.0) + amount
