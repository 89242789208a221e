"""The evening as a packing problem: runs that a lot may go through, and what each takes of what there is.

Every limit is a row: people, burners, pots, pans, trays and canners by quarter of an hour, jars, bags,
litres, freezer load and meals by day, and the kilograms of each lot. A run takes fixed amounts of some
rows. A plan is any choice of runs that exceeds no row. The quick rule, the solver and the capacity all
see the same rows.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from underoak.errors import UserMistake
from underoak.kitchen.cautions import alcohol_not_settled
from underoak.kitchen.methods import parboiled_steps, refusal
from underoak.kitchen.runs import SLOT_MIN, Row, Run, Timetable, hands_on_hours, place_steps, rows_of
from underoak.kitchen.spoilage import deadline
from underoak.kitchen.wishes import FIRST_PORTION_G, PORTION_G, Busy, Hours, Wishes, checked_hours
from underoak.model.book import Taxon
from underoak.model.household import Kitchen
from underoak.model.kitchen import Deadline, Lot
from underoak.model.method import Method

#: A run smaller than this is not worth the pot, kg.
SMALLEST_KG = 0.1
#: What a run and an hour of work cost, in fresh kilograms of a favourite; own judgement. Without it a plan
#: would stand at the stove all evening for the last spoonful.
TROUBLE_RUN = 0.02
TROUBLE_HOUR = 0.1


@dataclass(frozen=True, slots=True)
class Worth:
    """Value of one product of one kind: for each fresh kilogram in full up to ``enough_kg``, then half."""

    per_kg: float
    enough_kg: float


@dataclass(frozen=True)
class KitchenProblem:
    """Lots, candidate runs, limits and worth of one evening and the day after.

    ``refused`` holds, for each lot, why each method is not among its runs.
    """

    lots: tuple[Lot, ...]
    taxa: Mapping[str, Taxon]
    methods: Mapping[str, Method]
    timetable: Timetable
    runs: tuple[Run, ...]
    limits: Mapping[Row, float]
    worth: Mapping[tuple[str, str], Worth]
    deadlines: Mapping[str, Deadline]
    refused: Mapping[str, Mapping[str, str]]

    def product_of(self, run: Run) -> tuple[str, str]:
        """(taxon, method) of a run."""
        return self.lots[run.lot].taxon_id, run.method_id

    def value(self, chosen: Mapping[int, int]) -> float:
        """Worth of a choice of runs (position -> times): concave in each product, a little less for late."""
        kilograms: dict[tuple[str, str], float] = {}
        total = 0.0
        for position, times in chosen.items():
            run = self.runs[position]
            product = self.product_of(run)
            kilograms[product] = kilograms.get(product, 0.0) + times * run.size_kg
            total -= times * run.trouble
        for product, kg in kilograms.items():
            worth = self.worth[product]
            total += worth.per_kg * (min(kg, worth.enough_kg) + 0.5 * max(kg - worth.enough_kg, 0.0))
        return total


def kitchen_problem(
    lots: Sequence[Lot],
    *,
    taxa: Mapping[str, Taxon],
    methods: Mapping[str, Method],
    kitchen: Kitchen,
    hours: Sequence[Hours],
    now: datetime,
    wishes: Wishes | None = None,
    busy: Sequence[Busy] = (),
) -> KitchenProblem:
    """All candidate runs for these lots from ``now`` on.

    Parameters
    ----------
    lots : the haul, each id once, weights above 0
    taxa, methods : the book's, by id
    kitchen : what is free now
    hours : who is there when, tonight and tomorrow
    now : local time; nothing begins earlier

    Raises
    ------
    UserMistake   for weights of nothing or less, the same lot twice, hours or clocks going backwards

    **Fails towards** refusing: a lot that no method takes has no run, and its reasons stand in ``refused``.
    """
    wishes = wishes or Wishes()
    _check_lots(lots)
    evening = _Evening(
        taxa=taxa,
        methods=methods,
        kitchen=kitchen,
        timetable=Timetable.of(checked_hours(hours), now, busy),
        deadlines={lot.id: _deadline(lot, now, taxa) for lot in lots},
        wishes=wishes,
    )
    table, new_kind = _tasted_tonight(lots, evening)
    meal_kg = wishes.eaters * (FIRST_PORTION_G if new_kind else PORTION_G) / 1000.0
    refused: dict[str, dict[str, str]] = {lot.id: {} for lot in lots}
    runs: list[Run] = []
    for index, lot in enumerate(lots):
        for method in methods.values():
            if method.outcome in ("keep", "eat"):
                found = _runs_or_reason(index, lot, method, evening, table=table, meal_kg=meal_kg)
                if isinstance(found, str):
                    refused[lot.id][method.id] = found
                else:
                    runs += found
    return KitchenProblem(
        lots=tuple(lots),
        taxa=taxa,
        methods=methods,
        timetable=evening.timetable,
        runs=tuple(runs),
        limits=_limits(lots, evening, meals=(meal_kg, 0.0 if new_kind else meal_kg)),
        worth={product: _worth(*product, methods, wishes) for product in _products(lots, runs)},
        deadlines=evening.deadlines,
        refused=refused,
    )


@dataclass(frozen=True)
class _Evening:
    """What every candidate run is made from."""

    taxa: Mapping[str, Taxon]
    methods: Mapping[str, Method]
    kitchen: Kitchen
    timetable: Timetable
    deadlines: Mapping[str, Deadline]
    wishes: Wishes

    def refusal(self, lot: Lot, method: Method) -> str | None:
        """Why a lot does not take a method, None when it may."""
        taxon, used = self.taxa.get(lot.taxon_id), self.deadlines[lot.id].used_share
        why = refusal(lot, taxon, method, self.kitchen, used_share=used)
        if why is None and method.outcome == "eat" and taxon is not None:
            return alcohol_not_settled(taxon, self.wishes.eater_names, self.wishes.abstaining)
        return why


def _runs_or_reason(
    index: int, lot: Lot, method: Method, evening: _Evening, *, table: frozenset[str], meal_kg: float
) -> list[Run] | str:
    why = evening.refusal(lot, method)
    if why is not None:
        return why
    most_kg = method.batch_kg
    if method.outcome == "eat":
        if lot.taxon_id not in table:
            return "a first taste comes alone, a day after any other, and never with children or guests"
        most_kg = min(most_kg, meal_kg)
    runs = _runs_of(index, lot, method, evening, most_kg=most_kg)
    return runs or "it does not fit into the hours, or its time is over before"


def _check_lots(lots: Sequence[Lot]) -> None:
    seen: set[str] = set()
    for lot in lots:
        if not 0.0 < lot.fresh_g <= 100_000.0:
            raise UserMistake(
                f"lot {lot.id} weighs {lot.fresh_g:g} g", expected="more than 0, at most 100 kg"
            )
        if lot.id in seen:
            raise UserMistake(f"lot {lot.id} is there twice", expected="each lot once")
        seen.add(lot.id)


def _deadline(lot: Lot, now: datetime, taxa: Mapping[str, Taxon]) -> Deadline:
    taxon = taxa.get(lot.taxon_id)
    cold = taxon.kitchen.keeps_days_cold if taxon and taxon.kitchen else 2.0
    return deadline(lot, now, cold)


def _tasted_tonight(lots: Sequence[Lot], evening: _Evening) -> tuple[frozenset[str], bool]:
    """Kinds that may be on the table, and whether it is a new one.

    The known ones (bought mushrooms are known), or where there is none, the one new kind that waits least.
    """
    eating = [m for m in evening.methods.values() if m.outcome == "eat"]
    fit = [lot for lot in lots if any(evening.refusal(lot, m) is None for m in eating)]
    known = frozenset(lot.taxon_id for lot in fit if lot.cultivated or lot.taxon_id in evening.wishes.known)
    if known or not fit or not evening.wishes.first_tastes:
        return known, False
    return frozenset([min(fit, key=lambda lot: (evening.deadlines[lot.id].by, lot.id)).taxon_id]), True


def sizes_kg(lot_kg: float, batch_kg: float) -> list[float]:
    """Sizes that runs of a lot may have: a full batch, half of one, and what is left after full ones."""
    full = min(batch_kg, lot_kg)
    rest = lot_kg - math.floor(lot_kg / full + 1e-9) * full
    sizes = {round(size, 3) for size in (full, full / 2.0, rest) if size >= SMALLEST_KG}
    return sorted(sizes or {full}, reverse=True)


def _runs_of(index: int, lot: Lot, method: Method, evening: _Evening, *, most_kg: float) -> list[Run]:
    runs = []
    taxon, timetable = evening.taxa.get(lot.taxon_id), evening.timetable
    steps = parboiled_steps(method, taxon)
    for size in sizes_kg(lot.fresh_g / 1000.0, most_kg):
        for start in timetable.staffed_slots:
            if timetable.moment(start * SLOT_MIN) > evening.deadlines[lot.id].by:
                break
            placed = place_steps(
                steps, size, start, dirt=lot.dirt, kitchen=evening.kitchen, timetable=timetable
            )
            if placed is None:
                continue
            needs, containers, product_g = rows_of(
                lot, taxon, method, index=index, size_kg=size, placed=placed, timetable=timetable
            )
            trouble = TROUBLE_RUN + TROUBLE_HOUR * hands_on_hours(placed) + 1e-4 * start * size
            runs.append(Run(index, method.id, size, start, placed, needs, containers, product_g, trouble))
    return runs


def _products(lots: Sequence[Lot], runs: Sequence[Run]) -> list[tuple[str, str]]:
    return sorted({(lots[run.lot].taxon_id, run.method_id) for run in runs})


def _worth(taxon_id: str, method_id: str, methods: Mapping[str, Method], wishes: Wishes) -> Worth:
    liking = wishes.liking.get(taxon_id, 1.0) * wishes.liking.get(method_id, 1.0)
    left = wishes.left_kg.get((taxon_id, method_id), 0.0)
    return Worth(methods[method_id].worth * liking, max(wishes.enough_kg - left, 0.0))


def _limits(lots: Sequence[Lot], evening: _Evening, *, meals: tuple[float, float]) -> dict[Row, float]:
    kitchen = evening.kitchen
    limits: dict[Row, float] = {
        ("stock", "half_pint_jar"): kitchen.half_pint_jars,
        ("stock", "pint_jar"): kitchen.pint_jars,
        ("stock", "freezer_bag"): kitchen.freezer_bags,
        ("litres", "freezer"): kitchen.freezer_free_l,
        ("litres", "refrigerator"): kitchen.fridge_free_l,
    }
    for day in (0, 1):
        limits["freezer load", day] = kitchen.freezer_load_kg_day
        limits["meal", day] = meals[day]
    for index, lot in enumerate(lots):
        limits["lot", index] = lot.fresh_g / 1000.0
    equipment = {
        "burner": kitchen.burners,
        "pot": kitchen.pots,
        "pan": kitchen.pans,
        "tray": kitchen.dryer_trays,
        "canner": evening.wishes.canners,
    }
    limits |= evening.timetable.limits(equipment)
    return limits
