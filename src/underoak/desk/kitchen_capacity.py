"""How much the kitchen can still take on an evening, before anybody picks it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from statistics import median

from underoak.book.load import Book
from underoak.book.methods import load_methods
from underoak.desk.haul import lots_of_day
from underoak.desk.kitchen_now import kitchen_now
from underoak.kitchen.capacity import capacity_kg
from underoak.kitchen.wishes import usual_hours
from underoak.ledger.connection import Ledger
from underoak.model.book import KitchenUse, Taxon
from underoak.model.household import Settings


@dataclass(frozen=True, slots=True)
class CapacityTonight:
    """Kilograms that the kitchen keeps until tomorrow noon, after what already stands there.

    ``kg`` is the median over the kinds: what a mixed basket may weigh; ``by_taxon`` holds each kind alone.
    """

    kg: float
    by_taxon: dict[str, float]
    sentence: str


def capacity_tonight(
    connection: Ledger, settings: Settings, book: Book, day: date, taxa: Sequence[Taxon]
) -> CapacityTonight:
    """What the kitchen can take on the evening of ``day``, for the walk to stop at.

    Kinds with the same word of the book on the kitchen are worked out once.

    **Fails towards** less picked: by the quick rule, so a plan for at least so much exists.
    """
    methods = load_methods()
    now = datetime.combine(day, time.fromisoformat(settings.kitchen.evening_starts))
    free, busy = kitchen_now(settings.kitchen, connection, methods, day, now)
    lots, _ = lots_of_day(connection, book, day)
    hours = usual_hours(settings, day)
    found: dict[str, float] = {}
    by_taxon: dict[str, float] = {}
    for taxon in taxa:
        if not taxon.gathered or taxon.kitchen is None:
            continue
        key = _word(taxon.kitchen)
        if key not in found:
            found[key] = capacity_kg(
                free,
                lots,
                taxa=book.taxa,
                methods=methods,
                hours=hours,
                now=now,
                taxon_id=taxon.id,
                busy=busy,
            )
        by_taxon[taxon.id] = found[key]
    keeping = [kg for kg in by_taxon.values() if kg > 0.0]
    kg = round(median(keeping), 2) if keeping else 0.0
    return CapacityTonight(kg, by_taxon, f"Do not pick more than {kg:.1f} kg: the kitchen cannot keep it.")


def _word(use: KitchenUse) -> str:
    return (
        f"{sorted(use.methods)} {sorted(use.refused)} {use.parboil} {use.keeps_days_cold} {use.cleaned_share}"
    )
