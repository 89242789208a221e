"""The quick rule: the most perishable lot first, each in its best way, as early as it fits."""

from __future__ import annotations

from collections.abc import Mapping

from underoak.kitchen.problem import KitchenProblem
from underoak.kitchen.runs import Row, Run

_EPS = 1e-9


def most_perishable_first(problem: KitchenProblem, order: list[int] | None = None) -> dict[int, int]:
    """A plan at once: position of a run -> how often (here always once).

    Lots in the order of their deadlines (or ``order``, positions of lots); for each the run of highest worth
    for its kilograms, the larger first, at the earliest start; until nothing of the lot is left or fits.
    """
    left = dict(problem.limits)
    chosen: dict[int, int] = {}
    lots = order or sorted(
        range(len(problem.lots)), key=lambda i: (problem.deadlines[problem.lots[i].id].by, i)
    )
    for lot in lots:
        mine = [position for position, run in enumerate(problem.runs) if run.lot == lot]
        mine.sort(key=lambda p: _preference(problem, problem.runs[p]))
        while (position := _first_that_fits(problem, mine, left, chosen)) is not None:
            chosen[position] = chosen.get(position, 0) + 1
            for row, amount in problem.runs[position].needs.items():
                left[row] -= amount
    return chosen


def _preference(problem: KitchenProblem, run: Run) -> tuple[float, float, int]:
    return -problem.worth[problem.product_of(run)].per_kg, -run.size_kg, run.start


def _first_that_fits(
    problem: KitchenProblem, positions: list[int], left: Mapping[Row, float], chosen: Mapping[int, int]
) -> int | None:
    for position in positions:
        needs = problem.runs[position].needs
        if all(amount <= left.get(row, 0.0) + _EPS for row, amount in needs.items()):
            more = dict(chosen)
            more[position] = more.get(position, 0) + 1
            if problem.value(more) > problem.value(chosen):
                return position
    return None
