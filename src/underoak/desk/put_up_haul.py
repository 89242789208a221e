"""Tonight in the kitchen: what to do with the haul, who, when, into what, and until when it keeps."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, time
from pathlib import Path

from underoak.book.load import Book, load_book
from underoak.book.methods import load_methods
from underoak.desk.haul import lots_of_day, lots_of_file
from underoak.desk.kitchen_now import kitchen_now, left_of_earlier_years
from underoak.desk.own_yields import made_yields, with_own_yields, yield_words
from underoak.errors import NoAnswer, UserMistake
from underoak.kitchen.acid import PickleAcid, pickle_acid
from underoak.kitchen.cautions import travelling
from underoak.kitchen.problem import KitchenProblem, kitchen_problem
from underoak.kitchen.schedule import schedule
from underoak.kitchen.shopping import Need, shopping
from underoak.kitchen.use_by import use_by
from underoak.kitchen.wishes import Hours, Wishes, usual_hours
from underoak.ledger.connection import Ledger
from underoak.ledger.database import open_ledger, writing
from underoak.ledger.kitchen_plans import keep_plan
from underoak.ledger.servings import first_taste_lately, known_kinds
from underoak.model.kitchen import Deadline, Dirt, Keeping, Leftover, Lot, Schedule, Task
from underoak.model.method import Method
from underoak.model.quantities import Units
from underoak.settings import Home
from underoak.sheets.run_sheet import write_run_sheet
from underoak.sheets.wording import (
    ACID_CAUTION,
    BOUGHT_CAUTION,
    EATING_CAUTIONS,
    KITCHEN_CAUTIONS,
    SET_ASIDE,
    alcohol_caution,
)


@dataclass(frozen=True, slots=True)
class HaulQuestion:
    """What a person asks for: the evening, and everything they want otherwise than usual."""

    day: date
    now: datetime
    haul: Path | None = None
    picked: time = time(9)
    kept: tuple[Keeping, ...] = ()
    dirt: Dirt = "some"
    hours: tuple[Hours, ...] = ()
    liking: Mapping[str, float] = field(default_factory=dict)
    give_to: tuple[str, ...] = ()
    eaters: tuple[str, ...] = ()
    no_alcohol: tuple[str, ...] = ()
    canners: int = 0
    seconds: float = 10.0
    paper: str = "a4"
    write: bool = True


@dataclass(frozen=True, slots=True)
class PlannedProduct:
    """What a task comes to, for the list and the label."""

    task_id: str
    kind: str
    scientific_name: str
    method: str
    product: str
    fresh_g: float
    product_g: tuple[float, float]
    container: str
    containers: int
    use_by: date | None
    ends_when: tuple[str, ...]
    cautions: tuple[str, ...]
    differing: tuple[str, ...]
    acid: PickleAcid | None


@dataclass(frozen=True, slots=True)
class EveningPlan:
    """The answer of ``underoak kitchen``."""

    day: date
    now: datetime
    lots: tuple[Lot, ...]
    deadlines: tuple[Deadline, ...]
    schedule: Schedule
    products: tuple[PlannedProduct, ...]
    leftovers: tuple[Leftover, ...]
    shopping: tuple[Need, ...]
    refused: Mapping[str, Mapping[str, str]]
    cautions: tuple[str, ...]
    notes: tuple[str, ...]
    book_version: str
    units: Units = "metric"
    files: tuple[str, ...] = ()


def put_up_haul(home: Home, question: HaulQuestion) -> EveningPlan:
    """Plan the evening, keep the plan in the ledger and write the run sheet (PDF) and its picture (SVG).

    Raises
    ------
    NoAnswer      when there is nothing to put up that day
    BadData, UserMistake   for a faulty haul file or impossible hours
    """
    connection = open_ledger(home.ledger)
    try:
        book, methods = load_book(), load_methods()
        lots, notes = _lots(connection, book, question)
        if not lots:
            raise NoAnswer(
                f"there is nothing left to put up of {question.day}"
                + ("; " + "; ".join(notes) if notes else ""),
                remedy="write the day down with 'underoak visit', what was bought with 'underoak kitchen "
                "bought', or name a file with --haul",
            )
        wishes = _wishes(home, connection, question)
        _check_likings(wishes.liking, book, methods)
        made, _ = made_yields(connection, book, methods, question.day)
        problem = _problem(
            home, connection, question,
            lots=lots, wishes=wishes, book=book, methods=with_own_yields(methods, book, made),
        )  # fmt: skip
        plan = schedule(problem, wishes=wishes, seconds=question.seconds)
        kinds = {lot.id: lot.taxon_id for lot in lots}
        planned = {(kinds[task.lot_id], task.method_id) for task in plan.tasks}
        notes = (*notes, *yield_words(made, planned, book, methods))
        answer = _answer(question, problem, plan, wishes=wishes, book=book, notes=notes)
        answer = replace(answer, units=home.settings.units)
        if question.write:
            files = write_run_sheet(home.sheets, answer, question.paper)
            answer = replace(answer, files=tuple(str(path) for path in files))
            with writing(connection):
                keep_plan(
                    connection,
                    day=question.day,
                    book_version=book.version,
                    inputs={"lots": lots, "wishes": wishes.liking, "now": question.now},
                    document={"tasks": plan.tasks, "value": plan.value, "bound": plan.bound},
                )
        return answer
    finally:
        connection.close()


def _lots(connection: Ledger, book: Book, question: HaulQuestion) -> tuple[tuple[Lot, ...], tuple[str, ...]]:
    if question.haul is not None:
        return lots_of_file(question.haul, book, question.now)
    return lots_of_day(
        connection, book, question.day, picked=question.picked, kept=question.kept, dirt=question.dirt
    )


def _wishes(home: Home, connection: Ledger, question: HaulQuestion) -> Wishes:
    adults = tuple(p.name for p in home.settings.people if not p.child)
    eaters = question.eaters or adults
    others = set(eaters) - set(adults)
    return Wishes(
        liking={**home.settings.likings, **question.liking},
        left_kg=left_of_earlier_years(connection, question.day),
        eaters=len(eaters),
        eater_names=eaters,
        abstaining=frozenset(question.no_alcohol),
        known=known_kinds(connection, eaters, question.now),
        first_tastes=not others and not first_taste_lately(connection, question.now),
        give_to=question.give_to,
        canners=question.canners,
    )


def _check_likings(liking: Mapping[str, float], book: Book, methods: Mapping[str, Method]) -> None:
    """Raises UserMistake for a liking of something that is neither a method nor a kind of the book."""
    strange = sorted(name for name in liking if name not in methods and name not in book.taxa)
    if strange:
        raise UserMistake(
            f"a liking of {', '.join(strange)}",
            where="--like, or likings in underoak.toml",
            expected="a method (" + ", ".join(methods) + ") or the id of a kind in the book",
        )


def _problem(
    home: Home,
    connection: Ledger,
    question: HaulQuestion,
    *,
    lots: Sequence[Lot],
    wishes: Wishes,
    book: Book,
    methods: Mapping[str, Method],
) -> KitchenProblem:
    free, busy = kitchen_now(home.settings.kitchen, connection, methods, question.day, question.now)
    return kitchen_problem(
        lots,
        taxa=book.taxa,
        methods=methods,
        kitchen=free,
        hours=question.hours or usual_hours(home.settings, question.day, question.now),
        now=question.now,
        wishes=wishes,
        busy=busy,
    )


def _answer(
    question: HaulQuestion,
    problem: KitchenProblem,
    plan: Schedule,
    *,
    wishes: Wishes,
    book: Book,
    notes: tuple[str, ...],
) -> EveningPlan:
    products = tuple(_product(task, problem, wishes) for task in plan.tasks)
    cautions = [*KITCHEN_CAUTIONS, *EATING_CAUTIONS]
    if any(p.acid for p in products):
        cautions.append(ACID_CAUTION)
    if any(lot.shop for lot in problem.lots):
        cautions.append(BOUGHT_CAUTION)
    if any(rest.goes == "set_aside" for rest in plan.leftovers):
        cautions.insert(0, SET_ASIDE)
    return EveningPlan(
        day=question.day,
        now=question.now,
        lots=problem.lots,
        deadlines=tuple(problem.deadlines[lot.id] for lot in problem.lots),
        schedule=plan,
        products=products,
        leftovers=plan.leftovers,
        shopping=shopping(plan, problem.methods, book.taxa),
        refused=problem.refused,
        cautions=tuple(cautions),
        notes=notes,
        book_version=book.version,
    )


def _product(task: Task, problem: KitchenProblem, wishes: Wishes) -> PlannedProduct:
    method, taxon = problem.methods[task.method_id], problem.taxa.get(task.taxon_id)
    acid = None
    if method.process == "acid" and method.for_wild:
        vinegar = sum(r.amount_per_kg for r in method.ratios if r.what.startswith("vinegar"))
        acid = pickle_acid(
            vinegar_l=vinegar * task.fresh_g / 1000.0, acid_g_l=50.0, food_kg=task.fresh_g / 1000.0
        )
    return PlannedProduct(
        task_id=task.id,
        kind=taxon.common_names[0] if taxon and taxon.common_names else task.taxon_id.replace("_", " "),
        scientific_name=taxon.scientific_name if taxon else "not in the book",
        method=method.name,
        product=method.product,
        fresh_g=task.fresh_g,
        product_g=task.product_g,
        container=task.container,
        containers=task.containers,
        use_by=use_by(method, task.end.date()) if method.storage else None,
        ends_when=method.ends_when,
        cautions=travelling(method, taxon, known=task.taxon_id in wishes.known, alcohol=alcohol_caution),
        differing=tuple(f"Another source on {d.about}: {d.says}" for d in method.differing),
        acid=acid,
    )
