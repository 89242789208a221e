"""The haul on the kitchen table, what is planned for it and what came of it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal

from underoak.model.method import Container, Resource, Where

Dirt = Literal["clean", "some", "dirty"]
VerdictState = Literal["refused", "open", "consistent", "confirmed"]
JarState = Literal["kept", "eaten", "given", "thrown"]

#: Verdict states that let a lot be kept as food; every other, and none, is set aside.
LETS_THROUGH: tuple[VerdictState, ...] = ("consistent", "confirmed")


@dataclass(frozen=True, slots=True)
class Keeping:
    """So many hours at one temperature, degrees Celsius."""

    hours: float
    temperature_c: float


@dataclass(frozen=True, slots=True)
class Lot:
    """Bodies of one taxon from one find that are kept together.

    ``state`` is the verdict's, None where there is none. ``picked_at`` is local time.
    ``kept`` is the temperature history since picking; hours it does not cover count at 20 °C.
    ``cultivated`` marks bought mushrooms that were grown; only those may take the published canning
    processes. ``shop`` says where they were bought: such a lot has no find and gets no verdict.
    """

    id: str
    taxon_id: str
    state: VerdictState | None
    fresh_g: float
    picked_at: datetime
    find_id: str | None = None
    verdict_id: str | None = None
    kept: tuple[Keeping, ...] = ()
    dirt: Dirt = "some"
    cultivated: bool = False
    shop: str = ""


@dataclass(frozen=True, slots=True)
class Deadline:
    """Until when a lot has to be worked up, and why."""

    lot_id: str
    by: datetime
    used_share: float
    reason: str


@dataclass(frozen=True, slots=True)
class TaskStep:
    """One step of a planned run, from ``start`` to ``end``, and who does it (nobody: it waits)."""

    name: str
    words: str
    start: datetime
    end: datetime
    hands_on: bool
    people: tuple[str, ...] = ()
    uses: tuple[tuple[Resource, int], ...] = ()


@dataclass(frozen=True, slots=True)
class Task:
    """One run of a method on part of one lot, with its steps in order and what it needs."""

    id: str
    lot_id: str
    taxon_id: str
    method_id: str
    fresh_g: float
    product_g: tuple[float, float]
    container: Container
    containers: int
    steps: tuple[TaskStep, ...]

    @property
    def start(self) -> datetime:
        """When work on it begins."""
        return self.steps[0].start

    @property
    def end(self) -> datetime:
        """When its last step, waiting included, is over."""
        return self.steps[-1].end


@dataclass(frozen=True, slots=True)
class Leftover:
    """What the plan does not keep: how much, what becomes of it and why."""

    lot_id: str
    taxon_id: str
    fresh_g: float
    goes: Literal["give_away", "leave", "set_aside"]
    reason: str


@dataclass(frozen=True, slots=True)
class Schedule:
    """A plan for tonight and tomorrow.

    ``value`` is what the plan keeps in the household's own scale; ``bound`` is what no plan can exceed
    under the same rules (None for the quick rule), ``gap`` = (bound - value) / bound.
    """

    tasks: tuple[Task, ...]
    leftovers: tuple[Leftover, ...]
    value: float
    bound: float | None
    gap: float | None
    made_by: str
    kept_g: float


@dataclass(frozen=True, slots=True)
class Batch:
    """What was really made: a method, its lots with fresh grams, and the moment.

    ``weighed`` says that somebody weighed the product; otherwise its grams are the plan's.
    """

    id: str
    method_id: str
    made_on: date
    book_version: str
    lots: tuple[tuple[str, float], ...]
    against_advice: tuple[str, ...] = ()
    ready_at: datetime | None = None
    trays: int = 0
    note: str = ""
    weighed: bool = False


@dataclass(frozen=True, slots=True)
class Jar:
    """One unit of a batch: jar, bag or box, with the code on its label."""

    id: str
    batch_id: str
    code: str
    container: str
    net_g: float
    made_on: date
    use_by: date | None
    stands: Where | None
    cautions: tuple[str, ...]
    state: JarState = "kept"
    state_on: date | None = None
    state_note: str = ""
