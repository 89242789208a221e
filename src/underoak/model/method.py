"""What the book knows about one way to put mushrooms up, as a strict record."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Literal

from pydantic import Field

from underoak.model.book import Sourced
from underoak.model.strict import Strict

Amount = Annotated[float, Field(ge=0.0)]
Share = Annotated[float, Field(gt=0.0, le=1.0)]

#: Things of the kitchen that a step occupies.
Resource = Literal["burner", "pot", "pan", "tray", "canner"]
#: Where something stands: the word used for storage life and for space.
Where = Literal["freezer", "refrigerator", "cool_room", "room"]
#: What a method comes to.
Outcome = Literal["keep", "eat", "give", "leave"]
Container = Literal["freezer_bag", "half_pint_jar", "pint_jar", "paper_bag", "dish", "none"]


class Step(Strict):
    """One thing that is done to a batch; minutes = ``minutes`` + ``minutes_per_kg`` x kg of the batch.

    A hands-on step keeps one person busy for its whole length, a waiting step nobody.
    ``uses`` counts burners, pots, pans and canners; ``on_trays`` takes as many trays as the batch needs.
    ``grows_with_dirt`` marks cleaning; ``may_wait`` a waiting that does no harm when it goes on longer.
    """

    name: Annotated[str, Field(min_length=1)]
    words: Annotated[str, Field(min_length=1)]
    minutes: Amount = 0.0
    minutes_per_kg: Amount = 0.0
    hands_on: bool = True
    uses: Mapping[Resource, Annotated[int, Field(ge=1, le=4)]] = {}
    on_trays: bool = False
    grows_with_dirt: bool = False
    may_wait: bool = False


class Yield(Sourced):
    """Grams of product from one kilogram of cleaned mushrooms, lowest and highest."""

    product_g_per_kg: tuple[Annotated[float, Field(gt=0.0)], Annotated[float, Field(gt=0.0)]]
    by_taxon: Mapping[str, tuple[Amount, Amount]] = {}


class Ratio(Sourced):
    """How much of something else goes in, for each kilogram of cleaned mushrooms."""

    what: Annotated[str, Field(min_length=1)]
    amount_per_kg: Annotated[float, Field(gt=0.0)]
    unit: Literal["l", "ml", "g", "piece"]


class Packing(Sourced):
    """What the product goes into: grams of product in one, the litres it takes, the space left on top."""

    container: Container
    holds_g: Annotated[float, Field(gt=0.0)]
    volume_l: Annotated[float, Field(gt=0.0)]
    headspace_mm: Amount = 0.0


class Storage(Sourced):
    """How long the product keeps at one place; several entries for one place are differing sources."""

    where: Where
    temperature_c: Annotated[float, Field(ge=-40.0, le=40.0)]
    days: Annotated[float, Field(gt=0.0, le=800.0)]


class Band(Strict):
    """One line of a published altitude table: up to ``to_m``, so many minutes or so much gauge pressure."""

    to_m: Annotated[float, Field(gt=0.0, le=6000.0)]
    minutes: Annotated[float, Field(gt=0.0)] | None = None
    dial_psi: Annotated[float, Field(gt=0.0)] | None = None
    weighted_psi: Annotated[float, Field(gt=0.0)] | None = None


class Altitude(Sourced):
    """How the process changes with height above the sea."""

    words: Annotated[str, Field(min_length=1)]
    bands: tuple[Band, ...] = ()


class Differing(Sourced):
    """Another source's figure for the same thing, kept beside the stricter one that is used."""

    about: Annotated[str, Field(min_length=1)]
    says: Annotated[str, Field(min_length=1)]


class Method(Sourced):
    """One entry of ``book/methods``.

    ``for_wild`` false means: tested for cultivated mushrooms only and never planned for gathered ones.
    ``worth`` is how much of what makes fresh mushrooms worth having is left, 0 to 1; own judgement.
    ``batch_kg`` is the most that one run takes, ``product_stands`` where the product is kept.
    """

    id: Annotated[str, Field(pattern=r"^[a-z][a-z_]*$")]
    name: Annotated[str, Field(min_length=1)]
    product: Annotated[str, Field(min_length=1)]
    outcome: Outcome
    for_wild: bool
    process: Literal["fresh", "frozen", "dried", "acid", "salted", "canned", "none"]
    in_oil: bool = False
    tested_for: Annotated[str, Field(min_length=1)]
    worth: Annotated[float, Field(ge=0.0, le=1.0)]
    batch_kg: Annotated[float, Field(gt=0.0, le=20.0)]
    product_stands: Where | None = None
    reheat: str = ""
    steps: tuple[Step, ...]
    yields: Yield | None = None
    ratios: tuple[Ratio, ...] = ()
    packing: Packing | None = None
    storage: tuple[Storage, ...] = ()
    ends_when: tuple[str, ...] = ()
    altitude: Altitude | None = None
    differing: tuple[Differing, ...] = ()
    cautions: tuple[str, ...] = ()
