"""What has to be in the house for a plan: vinegar, salt, jars, bags."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from underoak.kitchen.yields import CLEANED_SHARE
from underoak.model.book import Taxon
from underoak.model.kitchen import Schedule
from underoak.model.method import Method


@dataclass(frozen=True, slots=True)
class Need:
    """So much of one thing."""

    what: str
    amount: float
    unit: str


def shopping(plan: Schedule, methods: Mapping[str, Method], taxa: Mapping[str, Taxon]) -> tuple[Need, ...]:
    """Everything the tasks of a plan use up, added together, by name.

    Amounts are for the most that cleaning can leave, so that nothing runs short.
    """
    needs: dict[tuple[str, str], float] = {}
    for task in plan.tasks:
        method = methods[task.method_id]
        taxon = taxa.get(task.taxon_id)
        share = taxon.kitchen.cleaned_share if taxon and taxon.kitchen else CLEANED_SHARE
        for ratio in method.ratios:
            key = (ratio.what, ratio.unit)
            needs[key] = needs.get(key, 0.0) + ratio.amount_per_kg * task.fresh_g / 1000.0 * share[1]
        if task.containers:
            key = (task.container.replace("_", " "), "piece")
            needs[key] = needs.get(key, 0.0) + task.containers
    return tuple(Need(what, round(amount, 2), unit) for (what, unit), amount in sorted(needs.items()))
