"""A quick bound: the evening without its clock, where hours of hands and burners are only added up."""

from __future__ import annotations

from dataclasses import replace

from underoak.kitchen.problem import KitchenProblem
from underoak.kitchen.runs import Row, Run

#: Limits that hold in every quarter of an hour.
_BY_SLOT = ("people", "burner", "pot", "pan", "tray", "canner")


def without_the_clock(problem: KitchenProblem) -> KitchenProblem:
    """A relaxation of the problem that is small enough to be solved at once.

    Runs of the same lot, method and size that begin on the same day become one; what they take of a resource
    is added up over each day, and where they differ the least counts. Limits are added up in the same way.
    Every plan of the true problem is a plan here, worth no less, so the best value here is a bound there.
    """
    days = {slot: problem.timetable.day_of_slot(slot) for slot in range(len(problem.timetable.present))}
    limits: dict[Row, float] = {}
    for row, limit in problem.limits.items():
        key = _without_slot(row, days)
        limits[key] = limits.get(key, 0.0) + limit if key != row else limit
    groups: dict[tuple[int, str, float, int], Run] = {}
    for run in problem.runs:
        needs: dict[Row, float] = {}
        for row, amount in run.needs.items():
            key = _without_slot(row, days)
            needs[key] = needs.get(key, 0.0) + amount if key != row else amount
        name = (run.lot, run.method_id, run.size_kg, days[run.start])
        known = groups.get(name)
        if known is not None:
            shared = known.needs.keys() & needs.keys()
            needs = {row: min(needs[row], known.needs[row]) for row in shared}
        trouble = min(run.trouble, known.trouble) if known else run.trouble
        groups[name] = replace(run, needs=needs, trouble=trouble)
    return replace(problem, runs=tuple(groups.values()), limits=limits)


def _without_slot(row: Row, days: dict[int, int]) -> Row:
    name, place = row
    return (f"{name} of day", days[place]) if name in _BY_SLOT and isinstance(place, int) else row
