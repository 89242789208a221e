"""What the book knows, as strict records: one `Taxon` for each file in ``book/taxa``."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Annotated, Literal

from pydantic import Field, model_validator

from underoak.model.characters import Look
from underoak.model.sourced import Sourced
from underoak.model.strict import Strict

__all__ = [
    "Caution",
    "Clash",
    "Confusion",
    "DangerRule",
    "Habitat",
    "Harm",
    "KitchenUse",
    "Memory",
    "NeverRule",
    "Season",
    "Sourced",
    "Taxon",
    "Weight",
]

#: What a fruit body of the taxon stands on.
Substrate = Literal[
    "soil", "buried_wood", "roots", "stump", "log", "standing_trunk", "litter", "lawn", "mushroom", "dung"
]

HarmClass = Literal[
    "none",
    "inedible",
    "amatoxin",
    "orellanine",
    "early_kidney",
    "gyromitrin",
    "coprine",
    "muscarine",
    "ibotenic",
    "psilocybin",
    "polyporic_acid",
    "encephalopathy",
    "rhabdomyolysis",
    "immune_haemolysis",
    "gut_severe",
    "gut_mild",
    "raw_toxic",
    "intolerance",
    "unknown",
]

#: How heavily an open danger weighs when the next check is chosen.
Danger = Literal["deadly", "organ", "severe", "mild", "none"]

#: What a reader is told of a danger and of a harm class; never their names in the book's files.
DANGER_WORDS: dict[str, str] = {
    "deadly": "deadly",
    "organ": "harms organs",
    "severe": "poisonous",
    "mild": "makes ill",
    "none": "not poisonous as far as known",
}
HARM_WORDS: dict[str, str] = {
    "none": "no known poison",
    "inedible": "not food",
    "amatoxin": "amatoxins, the liver",
    "orellanine": "orellanine, the kidneys",
    "early_kidney": "a poison of the kidneys",
    "gyromitrin": "gyromitrin, liver and nerves",
    "coprine": "coprine, with alcohol",
    "muscarine": "muscarine",
    "ibotenic": "ibotenic acid and muscimol",
    "psilocybin": "psilocybin",
    "polyporic_acid": "polyporic acid",
    "encephalopathy": "the brain, above all in kidney patients",
    "rhabdomyolysis": "breakdown of muscle",
    "immune_haemolysis": "breakdown of blood after repeated meals",
    "gut_severe": "severe illness of the gut",
    "gut_mild": "illness of the gut",
    "raw_toxic": "poisonous raw or undercooked",
    "intolerance": "not everybody bears it",
    "unknown": "a poison not known by name",
}


class Season(Sourced):
    """When fruit bodies stand, as a spread of days.

    ``anchor`` day_of_year: ``median`` is a day of the year at latitude ``at_latitude_deg``;
    ``anchor`` first_frost: ``median`` is days after (negative: before) the first frost.
    ``sd_days`` is the standard deviation of dated records around it. ``prime_days`` is how long
    a flush stays in prime condition.
    """

    anchor: Literal["day_of_year", "first_frost"]
    median: float
    sd_days: Annotated[float, Field(gt=0.0, le=90.0)]
    prime_days: Annotated[float, Field(gt=0.0, le=60.0)]
    at_latitude_deg: Annotated[float, Field(ge=20.0, le=60.0)] = 41.5


class Memory(Sourced):
    """How a spot behaves over the years; every number is a judgement with a wide prior.

    ``inhabited`` is the chance that a fitting host nobody has looked at carries the taxon;
    ``returns`` is the chance that an inhabited spot fruits in a given season;
    ``detection`` is the chance that a thorough look shows a prime flush that stands there.
    """

    inhabited: Annotated[float, Field(gt=0.0, lt=1.0)]
    returns: Annotated[float, Field(gt=0.0, lt=1.0)]
    detection: Annotated[float, Field(gt=0.0, lt=1.0)]


class Habitat(Sourced):
    """Where it grows. ``hosts`` maps a key of ``book/hosts.toml`` to a relative preference, 0 to 1."""

    hosts: Mapping[str, Annotated[float, Field(ge=0.0, le=1.0)]] = {}
    substrate: tuple[Substrate, ...]
    habit: tuple[Literal["single", "scattered", "troop", "ring", "cluster", "shelves", "rosette"], ...]


class Weight(Sourced):
    """Fresh weight of one prime flush at one spot, as a lognormal: median and 90th percentile, g."""

    median_g: Annotated[float, Field(gt=0.0)]
    p90_g: Annotated[float, Field(gt=0.0)]


class Harm(Sourced):
    """What it does to people. ``onset_hours`` is the published window from meal to first symptom."""

    classes: Annotated[tuple[HarmClass, ...], Field(min_length=1)]
    danger: Danger
    onset_hours: tuple[float, float] | None = None
    words: str = ""

    @property
    def told(self) -> str:
        """Danger and harm classes in a reader's words: ``deadly: amatoxins, the liver``."""
        return f"{DANGER_WORDS[self.danger]}: {harm_words(self.classes)}"


def harm_words(classes: Iterable[str]) -> str:
    """Harm classes in a reader's words, one behind the other."""
    return "; ".join(HARM_WORDS[one] for one in classes)


class KitchenUse(Sourced):
    """What the kitchen may do with a gathered taxon.

    ``methods`` are keys of ``book/methods``; ``refused`` maps a method to the reason it is never used.
    ``keeps_days_cold`` is how long sound fresh bodies keep in the refrigerator.
    """

    methods: tuple[str, ...]
    refused: Mapping[str, str] = {}
    parboil: bool = False
    keeps_days_cold: Annotated[float, Field(gt=0.0, le=10.0)]
    cleaned_share: Annotated[tuple[float, float], Field()] = (0.75, 0.9)


class Caution(Sourced):
    """A sentence that travels with the name to sheet, kitchen and jar."""

    words: Annotated[str, Field(min_length=1)]
    kind: Literal["handling", "first_meal", "alcohol", "raw", "host", "person"]
    alcohol_days: Annotated[float, Field(ge=0.0)] | None = None


class Taxon(Strict):
    """One entry of the book: a species, or a group of species that cannot be told apart in the kitchen.

    ``required`` names the characters that must have been seen, on every body, before this name can be
    called consistent. A group carries the union of its members' dangers. ``reviewed_by`` stays None
    until a mycologist has signed the entry; people are shown "not reviewed by a mycologist".
    """

    id: Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]+$")]
    scientific_name: Annotated[str, Field(min_length=3)]
    authority: str
    rank: Literal["species", "group"]
    members: tuple[str, ...] = ()
    common_names: tuple[str, ...]
    synonyms: tuple[str, ...] = ()
    kin: Annotated[str, Field(min_length=3)]
    words: Annotated[str, Field(min_length=20)]
    gathered: bool = False
    never_gather: bool = False
    never_gather_reason: str = ""
    required: tuple[str, ...] = ()
    reviewed_by: str | None = None
    reviewed_on: str | None = None
    habitat: Habitat
    look: Look
    harm: Harm
    season: Season | None = None
    memory: Memory | None = None
    weight: Weight | None = None
    kitchen: KitchenUse | None = None
    cautions: tuple[Caution, ...] = ()

    @property
    def called(self) -> str:
        """Its name of every day with the Latin one: "deadly galerina (Galerina marginata)"."""
        return (
            f"{self.common_names[0]} ({self.scientific_name})" if self.common_names else self.scientific_name
        )

    @property
    def dangerous(self) -> bool:
        """Whether taking it for something else can hurt."""
        return self.harm.danger != "none"

    @model_validator(mode="after")
    def _hangs_together(self) -> Taxon:
        faults = []
        if self.gathered and self.never_gather:
            faults.append("gathered and never_gather exclude each other")
        if self.never_gather and not self.never_gather_reason:
            faults.append("never_gather needs never_gather_reason")
        if self.rank == "group" and not self.members:
            faults.append("a group names its members")
        if self.gathered:
            blocks = ("season", "memory", "weight", "kitchen", "required", "cautions")
            missing = [name for name in blocks if not getattr(self, name)]
            faults += [f"a gathered taxon needs {name}" for name in missing]
        if (self.reviewed_by is None) != (self.reviewed_on is None):
            faults.append("reviewed_by and reviewed_on belong together")
        if faults:
            raise ValueError("; ".join(faults))
        return self


class Confusion(Sourced):
    """What must be seen before a look-alike counts as excluded for a target.

    ``minimum`` is a list of alternatives: from every inner list at least one character must have been
    seen in a state that the look-alike never shows. The general rule for the look-alike's danger
    comes on top (`underoak.vetting.exclusion`), so a pair can only make it stricter.
    """

    target: str
    lookalike: str
    minimum: Annotated[tuple[Annotated[tuple[str, ...], Field(min_length=1)], ...], Field(min_length=1)]
    target_shows: Annotated[str, Field(min_length=10)]
    lookalike_shows: Annotated[str, Field(min_length=10)]
    how: Annotated[str, Field(min_length=10)]


class NeverRule(Sourced):
    """A kind of find that is never gathered, whatever its name.

    ``when`` maps a character to states; the rule holds where every character named was seen in one of
    them. ``taxa`` and ``genera`` (first word of the Latin name) are the entries of the book that the rule
    covers: every one of them must be never_gather.
    """

    id: Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]+$")]
    words: Annotated[str, Field(min_length=10)]
    when: Mapping[str, tuple[str, ...]] = {}
    taxa: tuple[str, ...] = ()
    genera: tuple[str, ...] = ()


class Clash(Sourced):
    """Two observations that cannot both be right on one body; each maps one character to states."""

    first: Mapping[str, tuple[str, ...]]
    second: Mapping[str, tuple[str, ...]]
    words: Annotated[str, Field(min_length=10)]


class DangerRule(Strict):
    """What must stand against a look-alike of this danger; see the head of ``book/dangers.toml``."""

    weight: Annotated[float, Field(gt=0.0)]
    groups: Annotated[int, Field(ge=1, le=6)]
    groups_apart: Annotated[int, Field(ge=1, le=6)]
    strong: Literal["always", "or_one_more", "no"]
    strong_apart: Literal["or_one_more", "no"]
    pair_decides: bool
