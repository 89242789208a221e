"""How many kilograms the kitchen can still take tonight, for the walk to stop at."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime

from underoak.kitchen.greedy import most_perishable_first
from underoak.kitchen.problem import kitchen_problem
from underoak.kitchen.wishes import Busy, Hours, Wishes
from underoak.model.book import KitchenUse, Taxon
from underoak.model.household import Kitchen
from underoak.model.kitchen import Lot
from underoak.model.method import Method

#: More than any walk brings home, kg.
MOST_KG = 30.0
_COMING = "coming home"


def capacity_kg(
    kitchen: Kitchen,
    lots: Sequence[Lot] = (),
    *,
    taxa: Mapping[str, Taxon],
    methods: Mapping[str, Method],
    hours: Sequence[Hours],
    now: datetime,
    taxon_id: str,
    wishes: Wishes | None = None,
    busy: Sequence[Busy] = (),
) -> float:
    """Kilograms of one more kind that the kitchen keeps by tomorrow, after what stands there already.

    Parameters
    ----------
    lots : the haul that is there already; it is planned first
    taxon_id : the kind that would come home; it is treated as if a verdict let it through
    hours, now : who is in the kitchen when; picked at ``now``

    Returns
    -------
    kg, 0 to 30

    Method
    ------
    The quick rule over what is there, then over 30 kg of the kind: a plan that really exists, so the true
    capacity is never smaller.

    **Fails towards** less picked.
    """
    taxon = taxa.get(taxon_id)
    use: KitchenUse | None = taxon.kitchen if taxon else None
    if use is None:
        return 0.0
    coming = Lot(_COMING, taxon_id, "consistent", MOST_KG * 1000.0, now)
    kept = {name: method for name, method in methods.items() if method.outcome == "keep"}
    problem = kitchen_problem(
        [*lots, coming],
        taxa=taxa,
        methods=kept,
        kitchen=kitchen,
        hours=hours,
        now=now,
        wishes=replace(wishes or Wishes(), enough_kg=MOST_KG),
        busy=busy,
    )
    chosen = most_perishable_first(problem, [*range(len(lots)), len(lots)])
    mine = [
        (problem.runs[p].size_kg, times) for p, times in chosen.items() if problem.runs[p].lot == len(lots)
    ]
    return round(float(sum(size * times for size, times in mine)), 3)
