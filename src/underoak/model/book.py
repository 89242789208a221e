"""What the book knows, as strict records: one `Taxon` for each file in ``book/taxa``."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Literal

from pydantic import Field

from underoak.model.strict import Strict

#: How often a state is met among good specimens.
Constancy = Literal["always", "usually", "sometimes", "rarely", "never"]

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


class Sourced(Strict):
    """Every block of knowledge says where it comes from.

    ``source`` is a key of ``book/sources.toml``; ``seen`` is false where the value is from memory.
    """

    source: Annotated[str, Field(min_length=1)]
    seen: bool = False
    note: str = ""


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
    substrate: tuple[
        Literal["soil", "buried_wood", "roots", "stump", "log", "standing_trunk", "litter", "lawn", "mushroom", "dung"], ...
    ]
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
