"""Which lot takes which method, with the reason. The policy of the kitchen stands here and nowhere else."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from underoak.model.book import KitchenUse, Taxon
from underoak.model.household import Kitchen
from underoak.model.kitchen import LETS_THROUGH, Lot
from underoak.model.method import Method, Step, Where
from underoak.model.quantities import percent

#: Keeps of a taxon that the book says nothing about: nothing is planned but setting aside.
_NO_WORD = "the book has no kitchen entry for this kind"


@dataclass(frozen=True, slots=True)
class Choice:
    """One method for one lot: taken, or refused with the reason (None when it may be planned)."""

    lot_id: str
    method_id: str
    refused: str | None


def choices(
    lot: Lot, taxon: Taxon | None, methods: Mapping[str, Method], kitchen: Kitchen, *, used_share: float = 0.0
) -> tuple[Choice, ...]:
    """Every method of the book for a lot, in the order of the book, each with its refusal or None.

    ``used_share`` is the lot's `underoak.kitchen.spoilage.used_share` now.
    """
    return tuple(
        Choice(lot.id, m.id, refusal(lot, taxon, m, kitchen, used_share=used_share)) for m in methods.values()
    )


def refusal(
    lot: Lot, taxon: Taxon | None, method: Method, kitchen: Kitchen, *, used_share: float = 0.0
) -> str | None:
    """Why a lot does not take a method; None when it may.

    In this order: what is left in the woods may always be; a lot without a verdict that lets it through
    takes nothing; spoiled takes nothing; canning and the shelf are closed to wild lots; then the book's
    word on the kind; then what the kitchen has.

    **Fails towards** refusing: no verdict, no entry in the book and no word on the method all refuse.
    """
    if method.outcome == "leave":
        return None
    return (
        not_food(lot, taxon)
        or _spoiled(used_share)
        or _wild_policy(lot, method)
        or _word_of_the_book(lot, taxon, method)
        or _missing_equipment(method, kitchen)
    )


def not_food(lot: Lot, taxon: Taxon | None) -> str | None:
    """Why a lot is no food at all; None when its verdict and the book let it through.

    **Fails towards** setting aside. Bought mushrooms need no verdict: the seller answers for them.
    """
    if lot.cultivated:
        return None
    if lot.state not in LETS_THROUGH:
        return f"no verdict of 'consistent' or 'confirmed' stands (it is {lot.state or 'not vetted'})"
    if taxon is None:
        return "the book does not know this kind"
    if taxon.never_gather or not taxon.gathered:
        return taxon.never_gather_reason or "the book does not hold this kind as one that is gathered"
    return None


def _spoiled(used_share: float) -> str | None:
    return f"its time is over: {percent(used_share)} of its life is used" if used_share >= 1.0 else None


def _wild_policy(lot: Lot, method: Method) -> str | None:
    if lot.cultivated:
        return None
    if not method.for_wild:
        return f"tested for cultivated mushrooms only: {method.tested_for}"
    if method.process == "canned":
        return "wild mushrooms are never canned: no tested process exists"
    if method.process in ("acid", "fresh") or method.in_oil:
        shelf = method.product_stands in ("room", "cool_room")
        return "wild mushrooms are never kept in acid or oil at room temperature" if shelf else None
    if method.outcome == "give" and lot.state != "confirmed":
        return "only what a named person has confirmed is given to others"
    return None


def _word_of_the_book(lot: Lot, taxon: Taxon | None, method: Method) -> str | None:
    if lot.cultivated or method.outcome == "give":
        return None
    use: KitchenUse | None = taxon.kitchen if taxon else None
    if use is None:
        return _NO_WORD
    if method.id in use.refused:
        return use.refused[method.id]
    if method.id not in use.methods:
        return "the book does not name this method for the kind"
    return None


def _missing_equipment(method: Method, kitchen: Kitchen) -> str | None:
    if method.product_stands == "freezer" and (
        kitchen.freezer_free_l <= 0 or kitchen.freezer_load_kg_day <= 0
    ):
        return "there is no room in a freezer"
    if any(step.on_trays for step in method.steps) and kitchen.dryer_trays == 0:
        return "there is no dryer"
    return None


def parboiled_steps(method: Method, taxon: Taxon | None) -> tuple[Step, ...]:
    """The steps of a method, with a boiling before the heat for kinds that the book says to parboil.

    Methods that boil anyway, and drying (raw slices; the boiling comes before eating), stay as they are.
    """
    use = taxon.kitchen if taxon else None
    boils = any(step.name in ("boil", "simmer") for step in method.steps)
    if (
        use is None
        or not use.parboil
        or boils
        or method.process in ("dried", "none")
        or method.id == "refrigerate"
    ):
        return method.steps
    return (method.steps[0], PARBOIL, *method.steps[1:])


PARBOIL = Step(
    name="parboil",
    words="Boil 15 minutes in plenty of water and throw the water away; the book asks for it with this kind.",
    minutes=25.0,
    hands_on=False,
    uses={"burner": 1, "pot": 1},
)


def against_advice(
    lots: Iterable[tuple[Lot, Taxon | None]], method: Method, *, stands: Where | None = None
) -> tuple[str, ...]:
    """What speaks against something a household made anyway, as sentences; empty when nothing does.

    It is recorded for the trace and the incident sheet, under its warning, and never offered for eating.
    """
    reasons: list[str] = []
    for lot, taxon in lots:
        reasons += [
            f"{_named(lot, taxon)}: {why}"
            for why in (not_food(lot, taxon), _wild_policy(lot, method), _refused_by_book(lot, taxon, method))
            if why
        ]
        place = stands or method.product_stands
        if (
            not lot.cultivated
            and (method.process == "acid" or method.in_oil)
            and place in ("room", "cool_room")
        ):
            reasons.append(f"{_named(lot, taxon)}: acid or oil at room temperature")
    return tuple(dict.fromkeys(reasons))


def _named(lot: Lot, taxon: Taxon | None) -> str:
    return taxon.common_names[0] if taxon and taxon.common_names else lot.taxon_id.replace("_", " ")


def _refused_by_book(lot: Lot, taxon: Taxon | None, method: Method) -> str | None:
    if lot.cultivated or taxon is None or taxon.kitchen is None:
        return None
    return taxon.kitchen.refused.get(method.id)
