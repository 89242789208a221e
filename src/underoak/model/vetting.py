"""What was looked at on a find, and what the vetting answers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Literal

from pydantic import Field

from underoak.model.strict import Strict

Look = Literal["not_looked", "cant_tell", "absent", "seen"]
Answer = Literal["yes", "no", "not_looked"]
State = Literal["refused", "open", "consistent", "confirmed"]
Age = Literal["button", "young", "mature", "old"]

#: From worst to best; a verdict over several bodies is the worst of them.
STATES: tuple[State, ...] = ("refused", "open", "consistent", "confirmed")


class Observation(Strict):
    """One character of one body: what was looked at and what was seen.

    ``states`` holds more than one state when the observer cannot choose between them; ``value`` is a
    measure in the character's unit. ``stems`` is how many stems of a cluster were looked at for this
    (None: all of a single body; for a cluster, unknown). What a photo alone shows ranks, but never
    excludes anything. ``absent`` means: looked, and there is none.
    """

    look: Look
    states: Annotated[tuple[str, ...], Field(max_length=12)] = ()
    value: float | None = None
    stems: Annotated[int, Field(ge=1)] | None = None
    by: Literal["hand", "photo"] = "hand"
    note: Annotated[str, Field(max_length=2000)] = ""


class Condition(Strict):
    """In which state one body is, each asked by itself."""

    wormy: Answer = "not_looked"
    soaked: Answer = "not_looked"
    frozen: Answer = "not_looked"
    rotten: Answer = "not_looked"


class Body(Strict):
    """One fruit body, or one cluster whose stems are joined at the foot.

    ``stems`` is 1 for a single body. ``age`` is that of its youngest sound part when in doubt.
    """

    id: Annotated[str, Field(min_length=1, max_length=60)]
    kind: Literal["single", "cluster"] = "single"
    stems: Annotated[int, Field(ge=1, le=500)] = 1
    age: Age | None = None
    condition: Condition = Condition()
    observations: Mapping[str, Observation] = {}


class Ground(Strict):
    """What is known of the place it comes from."""

    treated: Answer = "not_looked"
    roadside: Answer = "not_looked"
    flooded_or_dumped: Answer = "not_looked"


class Observations(Strict):
    """Everything that was looked at on one find: the document that vetting reads.

    ``target`` is the name somebody has in mind; without it the name
    that goes best is tried. ``bodies_in_lot``
    counts all bodies and stems that would go into the basket; those not described below keep it open.
    """

    format: Literal["underoak observations 1"]
    target: str | None = None
    day_of_year: Annotated[int, Field(ge=1, le=366)] | None = None
    bodies_in_lot: Annotated[int, Field(ge=1, le=100_000)]
    ground: Ground = Ground()
    bodies: Annotated[tuple[Body, ...], Field(min_length=1, max_length=500)]


ReasonKind = Literal[
    "mismatch",
    "danger",
    "missing",
    "unclear",
    "contradiction",
    "never_gather",
    "age",
    "condition",
    "ground",
    "count",
    "fit",
    "earlier",
    "person",
    "not_a_target",
]


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a verdict is no better than ``state``, in words, with the characters behind it.

    ``at_home`` says whether it can still be settled at home; None where that makes no sense. ``weight`` is
    the weight of an open danger.
    """

    kind: ReasonKind
    state: State
    words: str
    characters: tuple[str, ...] = ()
    taxon_id: str | None = None
    at_home: bool | None = None
    weight: float = 0.0


@dataclass(frozen=True, slots=True)
class Evidence:
    """One observation that rules a look-alike out, and by which means it was won."""

    character: str
    group: str
    means: str
    words: str


@dataclass(frozen=True, slots=True)
class Double:
    """A dangerous taxon and what stands against it so far."""

    taxon_id: str
    scientific_name: str
    danger: str
    excluded: bool
    evidence: tuple[Evidence, ...]
    missing: str = ""


@dataclass(frozen=True, slots=True)
class Candidate:
    """How well a taxon goes with what was seen; 0 to 1 over the book and "none of these" (id None)."""

    taxon_id: str | None
    scientific_name: str
    share: float


@dataclass(frozen=True, slots=True)
class NextCheck:
    """What to look at next, what it would settle, and what it costs."""

    character: str
    question: str
    how: str
    minutes: float
    at_home: bool
    danger_weight: float
    settles: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class BodyVerdict:
    """The verdict on one body or joined cluster."""

    body_id: str
    state: State
    reasons: tuple[Reason, ...]
    doubles: tuple[Double, ...]
    fit: float


@dataclass(frozen=True, slots=True)
class Verdict:
    """The answer on one find. ``state`` is the worst of its bodies; only a person makes it confirmed."""

    state: State
    target: str | None
    scientific_name: str
    words: str
    reasons: tuple[Reason, ...]
    bodies: tuple[BodyVerdict, ...]
    candidates: tuple[Candidate, ...]
    next_checks: tuple[NextCheck, ...]
    cautions: tuple[str, ...]
    bodies_in_lot: int
    book_version: str
    reviewed: str
    confirmed_by: str | None = None
    confirmed_on: str | None = None


@dataclass(frozen=True, slots=True)
class Opinion:
    """What a named person who knows said about a find, on a day."""

    person: str
    day: str
    taxon_id: str
    agrees: bool
    words: str = ""
    saw: Literal["hand", "photo"] = "hand"
