"""What telephones noted in the woods, and where two of them noted different things."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Annotated, Literal

from pydantic import AwareDatetime, Field

from underoak.model.strict import Strict
from underoak.model.vetting import Age, Answer, Observation
from underoak.model.visits import FlushStage

PACK_FORMAT = "underoak pack log 1"

Name = Annotated[str, Field(min_length=1, max_length=120)]
Bag = Annotated[str, Field(pattern=r"^\w{1,12}$")]
Degrees = Annotated[float, Field(ge=-180.0, le=180.0)]


class _Entry(Strict):
    """What every entry carries: its own id, its number on its telephone, and when it was noted."""

    id: Annotated[str, Field(min_length=3, max_length=60)]
    number: Annotated[int, Field(ge=1)]
    at: AwareDatetime

    @property
    def about(self) -> str:
        """The thing this entry is about; the last entry of one telephone about it counts."""
        raise NotImplementedError


class FindEntry(_Entry):
    """One bag: what somebody takes it for, where it stood, how much. ``gone`` strikes it out."""

    kind: Literal["find"]
    bag: Bag
    spot_id: Name
    taxon_id: str | None
    stage: FlushStage
    bodies: Annotated[int, Field(ge=1, le=500)] | None
    fresh_g: Annotated[float, Field(gt=0.0, lt=100_000.0)] | None
    photos: tuple[Name, ...] = ()
    note: Annotated[str, Field(max_length=2000)] = ""
    gone: bool = False

    @property
    def about(self) -> str:
        """The bag."""
        return f"find:{self.bag}"


class SearchEntry(_Entry):
    """A spot that was searched and held nothing. ``thoroughness`` as in `underoak.model.visits.Search`."""

    kind: Literal["search"]
    spot_id: Name
    thoroughness: Annotated[float, Field(ge=0.0, le=1.0)]

    @property
    def about(self) -> str:
        """The spot."""
        return f"search:{self.spot_id}"


class SpotEntry(_Entry):
    """A spot nobody knew before. ``within_m`` is how exactly its position is known."""

    kind: Literal["spot"]
    spot_id: Name
    name: Annotated[str, Field(min_length=1, max_length=60)]
    lon: Degrees
    lat: Annotated[float, Field(ge=-90.0, le=90.0)]
    within_m: Annotated[float, Field(ge=0.0)] = 60.0

    @property
    def about(self) -> str:
        """The new spot, by its name."""
        return f"spot:{self.spot_id}"


class AnswerValue(Strict):
    """The answer to one question of the vetting; exactly the field that the question asks for."""

    observation: Observation | None = None
    answer: Answer | None = None
    age: Age | None = None
    stems: Annotated[int, Field(ge=0, le=500)] | None = None


class AnswerEntry(_Entry):
    """One answered question on a body of a bag (``body`` empty: on the place it comes from).

    ``name`` is a character of the book, ``age``, ``stems``, ``condition.…`` or ``ground.…``.
    """

    kind: Literal["answer"]
    bag: Bag
    body: Annotated[str, Field(pattern=r"^\d{0,3}$")]
    name: Annotated[str, Field(pattern=r"^[a-z_.0-9]{2,60}$")]
    value: AnswerValue

    @property
    def about(self) -> str:
        """The question on that body."""
        return f"answer:{self.bag}:{self.body}:{self.name}"


class WalkEntry(_Entry):
    """Who holds the telephone, who walks along, and how long they were out."""

    kind: Literal["walk"]
    holder: Annotated[str, Field(min_length=1, max_length=60)]
    people: Annotated[tuple[Name, ...], Field(max_length=30)] = ()
    minutes: Annotated[float, Field(gt=0.0, le=1440.0)] | None = None

    @property
    def about(self) -> str:
        """The telephone itself: never the same for two of them."""
        return f"walk:{self.id.split('-')[0]}"


Entry = Annotated[FindEntry | SearchEntry | SpotEntry | AnswerEntry | WalkEntry, Field(discriminator="kind")]


class PackHead(Strict):
    """Which page the entries were noted on."""

    id: Annotated[str, Field(pattern=r"^[0-9a-f]{12}$")]
    place_id: Name
    day: date
    book_version: str


class PackLog(Strict):
    """The file that leaves a telephone."""

    format: Literal["underoak pack log 1"]
    pack: PackHead
    device: Annotated[str, Field(pattern=r"^[a-z0-9]{4,20}$")]
    entries: Annotated[tuple[Entry, ...], Field(max_length=20_000)]


@dataclass(frozen=True, slots=True)
class Noted:
    """An entry with the pack and the telephone it comes from."""

    pack: PackHead
    device: str
    entry: Entry


@dataclass(frozen=True, slots=True)
class Conflict:
    """Two telephones, or one id twice, say different things about one thing."""

    pack_id: str
    about: str
    words: str
    entries: tuple[str, ...]


#: Positions of one new spot closer than this are the same spot [m].
SAME_SPOT_M = 60.0


def latest(noted: Iterable[Noted]) -> dict[tuple[str, str, str], Noted]:
    """(pack id, about, device) -> the last entry of that telephone about that thing.

    Of two with one number the first given stays.
    """
    held: dict[tuple[str, str, str], Noted] = {}
    for one in noted:
        key = one.pack.id, one.entry.about, one.device
        if key not in held or one.entry.number > held[key].entry.number:
            held[key] = one
    return held


def conflicts(noted: Sequence[Noted]) -> tuple[Conflict, ...]:
    """Everything on which the entries disagree, by pack and thing.

    An id that stands for two different entries counts as well: two telephones then share one memory.
    """
    by_about: dict[tuple[str, str], list[Noted]] = {}
    for (pack_id, about, _), one in sorted(latest(noted).items()):
        by_about.setdefault((pack_id, about), []).append(one)
    by_id: dict[tuple[str, str], list[Noted]] = {}
    for one in noted:
        by_id.setdefault((one.pack.id, one.entry.id), []).append(one)
    found = [_conflict(key, held) for key, held in by_about.items() if _differ(held)]
    found += [
        _conflict((pack_id, f"entry:{entry_id}"), held)
        for (pack_id, entry_id), held in sorted(by_id.items())
        if len({one.entry for one in held}) > 1
    ]
    return tuple(found)


def _differ(held: Sequence[Noted]) -> bool:
    first = held[0].entry
    return any(not same(first, one.entry) for one in held[1:])


def same(one: Entry, other: Entry) -> bool:
    """Whether two entries about one thing say the same. Remarks and photos of both are kept, not compared."""
    if isinstance(one, SpotEntry) and isinstance(other, SpotEntry):
        return _apart_m(one, other) <= SAME_SPOT_M + one.within_m + other.within_m
    aside = {"id", "number", "at", "photos", "note"}
    return one.model_dump(exclude=aside) == other.model_dump(exclude=aside)


def _apart_m(one: SpotEntry, other: SpotEntry) -> float:
    """Distance on a sphere, enough for a spot [m]."""
    north = (one.lat - other.lat) * 111_195.0
    east = (one.lon - other.lon) * 111_195.0 * math.cos(math.radians(one.lat))
    return math.hypot(north, east)


def _conflict(key: tuple[str, str], held: Sequence[Noted]) -> Conflict:
    pack_id, about = key
    told = [f"telephone {one.device} at {one.entry.at:%H:%M}: {said(one.entry)}" for one in held]
    words = f"{held[0].pack.day}, {about.replace(':', ' ').replace('_', ' ')}: " + "; but ".join(told)
    return Conflict(pack_id, about, words, tuple(one.entry.id for one in held))


def said(entry: Entry) -> str:
    """An entry in a few words."""
    if isinstance(entry, FindEntry):
        if entry.gone:
            return "struck out"
        weight = f", {entry.fresh_g:g} g" if entry.fresh_g else ""
        many = f", {entry.bodies} bodies" if entry.bodies else ""
        return f"{entry.taxon_id or 'no name'} at {entry.spot_id}, {entry.stage}{many}{weight}"
    if isinstance(entry, SearchEntry):
        return f"nothing, thoroughness {entry.thoroughness:g}"
    if isinstance(entry, SpotEntry):
        return f"{entry.name} at {entry.lat:.5f}, {entry.lon:.5f}"
    if isinstance(entry, WalkEntry):
        return entry.holder
    return _answer_words(entry.value)


def _answer_words(value: AnswerValue) -> str:
    if value.observation is not None:
        states = " or ".join(value.observation.states)
        number = "" if value.observation.value is None else f"{value.observation.value:g}"
        return f"{value.observation.look} {states}{number}".strip().replace("_", " ")
    told: Mapping[str, object] = value.model_dump(exclude_none=True)
    return ", ".join(f"{word}" for word in told.values()) or "not looked"
