"""An independent check of a kitchen schedule: only its tasks, the clock and what the kitchen has.

It shares no code with the planner: every interval is looked at in minutes, not in quarters of an hour.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import datetime, timedelta

from tests.unit.generated_kitchens import Case
from underoak.book.methods import load_methods
from underoak.model.kitchen import Schedule, Task, TaskStep

MINUTE = timedelta(minutes=1)


def violations(case: Case, plan: Schedule) -> list[str]:
    """Everything in a plan that breaks a rule, in words."""
    return [
        *_policy(case, plan),
        *_weights(case, plan),
        *_order(case, plan),
        *_people(case, plan),
        *_equipment(case, plan),
        *_stores(case, plan),
        *_meals(case, plan),
    ]


def _policy(case: Case, plan: Schedule) -> Iterator[str]:
    lots = {lot.id: lot for lot in case.lots}
    for task in plan.tasks:
        lot, method = lots[task.lot_id], load_methods()[task.method_id]
        if lot.cultivated:
            continue
        if lot.state not in ("consistent", "confirmed"):
            yield f"{task.id} uses {lot.id}, which is {lot.state}"
        use = case.taxa[lot.taxon_id].kitchen
        if use is None or method.id not in use.methods or method.id in use.refused:
            yield f"{task.id}: the book does not let {lot.taxon_id} be {method.id}"
        if method.process == "canned" or not method.for_wild:
            yield f"{task.id} cans a wild lot"
        if (method.process == "acid" or method.in_oil) and method.product_stands not in (
            "refrigerator",
            "freezer",
        ):
            yield f"{task.id} keeps acid or oil on the shelf"
        needs_boiling = use is not None and use.parboil and method.process in ("frozen", "acid", "salted")
        if needs_boiling and not any(step.name in ("parboil", "boil") for step in task.steps):
            yield f"{task.id} skips the boiling that {lot.taxon_id} needs"


def _weights(case: Case, plan: Schedule) -> Iterator[str]:
    for lot in case.lots:
        used = sum(t.fresh_g for t in plan.tasks if t.lot_id == lot.id)
        rest = sum(r.fresh_g for r in plan.leftovers if r.lot_id == lot.id)
        if used > lot.fresh_g + 0.5 or abs(used + rest - lot.fresh_g) > 2.0:
            yield f"{lot.id}: {used} g used and {rest} g left of {lot.fresh_g} g"
    for task in plan.tasks:
        if task.fresh_g > load_methods()[task.method_id].batch_kg * 1000.0 + 0.5:
            yield f"{task.id} is too large for one run"


def _order(case: Case, plan: Schedule) -> Iterator[str]:
    problem = case.problem()
    for task in plan.tasks:
        if task.start > problem.deadlines[task.lot_id].by:
            yield f"{task.id} begins after its deadline"
        if task.start < case.now:
            yield f"{task.id} begins before now"
        for before, after in zip(task.steps, task.steps[1:], strict=False):
            if after.start < before.end:
                yield f"{task.id}: {after.name} begins before {before.name} is over"
            if after.start > before.end:
                yield f"{task.id}: nobody minds it between {before.name} and {after.name}"
        shortest = {s.name: s.minutes for s in load_methods()[task.method_id].steps}
        for step in task.steps:
            factor = 0.6 if step.hands_on else 1.0
            if (step.end - step.start) / MINUTE + 1e-6 < math.floor(factor * shortest.get(step.name, 0.0)):
                yield f"{task.id}: {step.name} is cut short"


def _inside(case: Case, name: str, start: datetime, end: datetime) -> bool:
    moment = start
    while moment < end:
        if not any(h.person == name and h.start <= moment < h.end for h in case.hours):
            return False
        moment += MINUTE
    return True


def _people(case: Case, plan: Schedule) -> Iterator[str]:
    yield from _somebody_there(case, plan)
    yield from _not_in_two_places(plan)
    yield from _hands(case, plan)


def _somebody_there(case: Case, plan: Schedule) -> Iterator[str]:
    for task, step in _steps(plan):
        if step.hands_on and not step.people:
            yield f"{task.id}: nobody does {step.name}"
        if len(step.people) == 1 and not _inside(case, step.people[0], step.start, step.end):
            yield f"{task.id}: {step.people[0]} is not there for {step.name}"


def _not_in_two_places(plan: Schedule) -> Iterator[str]:
    busy: dict[tuple[str, int], str] = {}
    for task, step in _steps(plan):
        if len(step.people) != 1:
            continue
        for minute in _minutes(step):
            other = busy.setdefault((step.people[0], minute), task.id)
            if other != task.id:
                yield f"{step.people[0]} is at {task.id} and {other}"
                break


def _hands(case: Case, plan: Schedule) -> Iterator[str]:
    hands: dict[int, int] = {}
    for _, step in _steps(plan):
        for minute in _minutes(step) if step.hands_on else ():
            hands[minute] = hands.get(minute, 0) + 1
    for minute, needed in hands.items():
        there = {h.person for h in case.hours if h.start.timestamp() <= minute * 60 < h.end.timestamp()}
        if needed > len(there):
            yield f"{needed} hands are needed, {len(there)} are there"
            break


def _minutes(step: TaskStep) -> range:
    return range(int(step.start.timestamp() // 60), int(step.end.timestamp() // 60))


def _equipment(case: Case, plan: Schedule) -> Iterator[str]:
    kitchen = case.kitchen
    have = {
        "burner": kitchen.burners,
        "pot": kitchen.pots,
        "pan": kitchen.pans,
        "tray": kitchen.dryer_trays,
        "canner": case.wishes.canners,
    }
    changes: dict[str, list[tuple[float, int]]] = {}
    for task, step in _steps(plan):
        for resource, count in step.uses:
            changes.setdefault(resource, []).append((step.start.timestamp(), count))
            changes[resource].append((step.end.timestamp(), -count))
            if resource == "tray" and count * kitchen.tray_holds_kg * 1000.0 + 0.5 < task.fresh_g:
                yield f"{task.id} has {count} trays for {task.fresh_g} g"
            if resource != "tray" and not any(
                h.start <= step.start and step.end <= h.end for h in case.hours
            ):
                watched = all(
                    any(h.start <= step.start + n * MINUTE < h.end for h in case.hours)
                    for n in range(int((step.end - step.start) / MINUTE))
                )
                if not watched:
                    yield f"{task.id}: {step.name} cooks with nobody there"
    for name, moments in changes.items():
        now = 0
        for _, change in sorted(moments):
            now += change
            if now > have[name]:
                yield f"{now} {name} in use, there are {have[name]}"
                break


def _stores(case: Case, plan: Schedule) -> Iterator[str]:
    kitchen, methods = case.kitchen, load_methods()
    have = {
        "half_pint_jar": kitchen.half_pint_jars,
        "pint_jar": kitchen.pint_jars,
        "freezer_bag": kitchen.freezer_bags,
    }
    for container, count in have.items():
        used = sum(t.containers for t in plan.tasks if t.container == container)
        if used > count:
            yield f"{used} of {count} {container}"
    litres, load = {"freezer": 0.0, "refrigerator": 0.0}, {0: 0.0, 1: 0.0}
    for task in plan.tasks:
        method = methods[task.method_id]
        packing = method.packing
        if packing is not None:
            if task.containers * packing.holds_g + 1e-6 < task.product_g[1]:
                yield f"{task.id}: {task.containers} units cannot hold {task.product_g[1]:.0f} g"
            if method.product_stands in litres:
                litres[method.product_stands] += task.containers * packing.volume_l
        if method.product_stands == "freezer":
            load[min((task.end.date() - case.now.date()).days, 1)] += task.product_g[1] / 1000.0
    if litres["freezer"] > kitchen.freezer_free_l + 1e-6:
        yield f"{litres['freezer']} l in a freezer of {kitchen.freezer_free_l}"
    if litres["refrigerator"] > kitchen.fridge_free_l + 1e-6:
        yield f"{litres['refrigerator']} l in a refrigerator of {kitchen.fridge_free_l}"
    if max(load.values()) > kitchen.freezer_load_kg_day + 1e-6:
        yield f"{max(load.values())} kg are to be frozen in one day"


def _meals(case: Case, plan: Schedule) -> Iterator[str]:
    eaten = [t for t in plan.tasks if load_methods()[t.method_id].outcome == "eat"]
    wild = {t.taxon_id for t in eaten}
    new = wild - case.wishes.known
    if new and len(wild) > 1:
        yield f"new kinds are eaten with others: {sorted(wild)}"
    if new and sum(t.fresh_g for t in eaten) > 60.0 * case.wishes.eaters + 1.0:
        yield "a first portion is too large"
    if sum(t.fresh_g for t in eaten if t.end.date() == case.now.date()) > 250.0 * case.wishes.eaters + 1.0:
        yield "more is cooked than anybody eats"


def _steps(plan: Schedule) -> list[tuple[Task, TaskStep]]:
    return [(task, step) for task in plan.tasks for step in task.steps]


def kept_g(tasks: tuple[Task, ...]) -> float:
    """Fresh grams that a plan uses."""
    return sum(t.fresh_g for t in tasks)
