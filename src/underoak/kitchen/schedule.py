"""From a haul to a schedule: who does what when tonight and tomorrow, and what is not kept."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from underoak.kitchen.methods import not_food
from underoak.kitchen.problem import KitchenProblem
from underoak.kitchen.runs import Run, touched
from underoak.kitchen.solve import Choice, best, quick
from underoak.kitchen.wishes import Wishes
from underoak.model.kitchen import Leftover, Lot, Schedule, Task, TaskStep


def schedule(
    problem: KitchenProblem, *, wishes: Wishes | None = None, seconds: float = 10.0, seed: int = 1
) -> Schedule:
    """The plan for a kitchen: the quick rule when ``seconds`` is 0, else the best found in that time."""
    choice = quick(problem) if seconds <= 0 else best(problem, seconds=seconds, seed=seed)
    return as_schedule(problem, choice, wishes or Wishes())


def as_schedule(problem: KitchenProblem, choice: Choice, wishes: Wishes) -> Schedule:
    """A choice of runs as tasks with people and times, and what becomes of the rest."""
    runs = sorted(_taken(problem, choice), key=lambda run: (run.start, run.lot, run.method_id, -run.size_kg))
    people = _people(problem, runs)
    tasks = tuple(_task(problem, number, run, people[number]) for number, run in enumerate(runs))
    kept_kg = sum(run.size_kg for run in runs)
    return Schedule(
        tasks=tasks,
        leftovers=tuple(_leftovers(problem, runs, wishes)),
        value=choice.value,
        bound=choice.bound,
        gap=choice.gap,
        made_by=choice.made_by,
        kept_g=round(kept_kg * 1000.0, 1),
    )


def _taken(problem: KitchenProblem, choice: Choice) -> Iterator[Run]:
    for position, times in choice.chosen.items():
        for _ in range(times):
            yield problem.runs[position]


def _people(problem: KitchenProblem, runs: list[Run]) -> list[dict[int, str]]:
    """Who works on each run in each quarter: the same person for as long as possible, the least busy first.

    In every quarter no more runs need hands than people are there, so somebody is always free.
    """
    placed: list[dict[int, str]] = [{} for _ in runs]
    worked: dict[str, int] = {}
    for slot, present in enumerate(problem.timetable.present):
        needing = [n for n, run in enumerate(runs) if ("people", slot) in run.needs]
        needing.sort(key=lambda n: slot - 1 not in placed[n])
        free = list(present)
        for number in needing:
            before = _last(placed[number])
            name = before if before in free else min(free, key=lambda p: (worked.get(p, 0), p))
            free.remove(name)
            placed[number][slot] = name
            worked[name] = worked.get(name, 0) + 1
    return placed


def _last(by_slot: dict[int, str]) -> str | None:
    return by_slot[max(by_slot)] if by_slot else None


def _task(problem: KitchenProblem, number: int, run: Run, people: dict[int, str]) -> Task:
    lot = problem.lots[run.lot]
    method = problem.methods[run.method_id]
    steps = []
    for placed in run.placed:
        step = placed.step
        names = (
            [people[s] for s in touched(placed.start_min, placed.end_min) if s in people]
            if step.hands_on
            else []
        )
        uses = [*step.uses.items()] + ([("tray", placed.trays)] if placed.trays else [])
        steps.append(
            TaskStep(
                name=step.name,
                words=step.words,
                start=problem.timetable.moment(placed.start_min),
                end=problem.timetable.moment(placed.end_min),
                hands_on=step.hands_on,
                people=tuple(dict.fromkeys(names)),
                uses=tuple(uses),
            )
        )
    return Task(
        id=f"T{number + 1}",
        lot_id=lot.id,
        taxon_id=lot.taxon_id,
        method_id=run.method_id,
        fresh_g=round(run.size_kg * 1000.0, 1),
        product_g=run.product_g,
        container=method.packing.container if method.packing else "none",
        containers=run.containers,
        steps=tuple(steps),
    )


def _leftovers(problem: KitchenProblem, runs: list[Run], wishes: Wishes) -> Iterator[Leftover]:
    for index, lot in enumerate(problem.lots):
        rest_g = lot.fresh_g - sum(run.size_kg for run in runs if run.lot == index) * 1000.0
        if rest_g < 1.0:
            continue
        yield replace(_fate(problem, lot, wishes), fresh_g=round(rest_g, 1))


def _fate(problem: KitchenProblem, lot: Lot, wishes: Wishes) -> Leftover:
    no_food = not_food(lot, problem.taxa.get(lot.taxon_id))
    if no_food:
        return Leftover(lot.id, lot.taxon_id, 0.0, "set_aside", no_food)
    due = problem.deadlines[lot.id]
    if due.used_share >= 1.0:
        return Leftover(lot.id, lot.taxon_id, 0.0, "leave", f"its time is over: {due.reason}")
    if lot.state == "confirmed" or lot.cultivated:
        whom = f" to {', '.join(wishes.give_to)}" if wishes.give_to else " to somebody who knows the kind"
        return Leftover(
            lot.id,
            lot.taxon_id,
            0.0,
            "give_away",
            f"the kitchen cannot take it; give it{whom} before {due.by:%a %H:%M}",
        )
    return Leftover(
        lot.id,
        lot.taxon_id,
        0.0,
        "leave",
        "the kitchen cannot take it, and unconfirmed finds are not given to others",
    )
