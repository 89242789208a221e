"""The best plan within a time, by mixed-integer programming, with what no plan can exceed."""

from __future__ import annotations

import math
import time
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from underoak.kitchen.bound import without_the_clock
from underoak.kitchen.greedy import most_perishable_first
from underoak.kitchen.improve import improved
from underoak.kitchen.problem import KitchenProblem
from underoak.kitchen.runs import Row

if TYPE_CHECKING:
    import highspy

#: The solver stops when it is this close to its bound.
ENOUGH_GAP = 0.005
#: Share of the time after which no further refilling begins.
REFILLING_SHARE = 0.3
#: Rounds of refilling before the solver, and from how many seeds.
ROUNDS = 600
STARTS = 6
#: Branches that the bound from the evening without its clock may take.
BOUND_NODES = 2000


@dataclass(frozen=True, slots=True)
class Choice:
    """Runs taken (position -> times), their value, and the bound where one was computed."""

    chosen: Mapping[int, int]
    value: float
    bound: float | None
    made_by: str

    @property
    def gap(self) -> float | None:
        """Share of the bound that the value may fall short of the best, None without a bound."""
        if self.bound is None:
            return None
        return max(self.bound - self.value, 0.0) / max(self.bound, 1e-9)


def quick(problem: KitchenProblem) -> Choice:
    """The plan of the quick rule, without a bound."""
    chosen = most_perishable_first(problem)
    return Choice(chosen, problem.value(chosen), None, "most perishable first")


def best(
    problem: KitchenProblem, *, seconds: float = 10.0, seed: int = 1, enough_gap: float = ENOUGH_GAP
) -> Choice:
    """The best plan found within ``seconds``, never worse than the quick rule, with its bound.

    Parameters
    ----------
    problem : from `underoak.kitchen.problem.kitchen_problem`
    seconds : time limit, more than 0. With ``math.inf`` no clock decides: every seed of refilling is tried,
        no solver runs, and the same input gives the same plan on every computer
    seed : of refilling and solver; where no time limit is reached the same input gives the same plan
    enough_gap : it stops when value and bound are this close

    Method
    ------
    One whole number for each run, one row for each limit, two quantities for each product (in full, half);
    HiGHS branch and cut on one thread, started from the quick plan after many rounds of taking a part of it
    out and filling it again (`underoak.kitchen.improve.improved`). The bound is the lower of the solver's and
    of the evening without its clock (`quick_bound`); where that already proves the plan, no solver runs.
    """
    if not problem.runs:
        return Choice({}, 0.0, 0.0, "nothing to plan")
    began = time.monotonic()
    start = _refilled(problem, quick(problem), seed, until=began + REFILLING_SHARE * seconds)
    clockless = max(quick_bound(problem, seconds=0.2 * seconds, seed=seed), start.value)
    if math.isinf(seconds) or clockless - start.value <= enough_gap * clockless:
        return replace(start, bound=clockless)
    solver = _model(problem, max(seconds - (time.monotonic() - began), 0.1), seed, enough_gap)
    _start_from(solver, problem, start)
    solver.run()
    info = solver.getInfo()
    bound = max(min(float(info.mip_dual_bound), clockless), start.value)
    values = list(solver.getSolution().col_value)[: len(problem.runs)] if info.primal_solution_status else []
    chosen = {p: round(x) for p, x in enumerate(values) if round(x) > 0}
    value = problem.value(chosen)
    if value < start.value:
        return Choice(start.chosen, start.value, bound, start.made_by)
    return Choice(chosen, value, max(bound, value), "solver")


def quick_bound(problem: KitchenProblem, *, seconds: float, seed: int = 1) -> float:
    """What no plan can exceed, from the evening without its clock; for when the solver has no time to prove.

    See `underoak.kitchen.bound.without_the_clock`.
    """
    solver = _model(without_the_clock(problem), max(seconds, 0.05), seed, 1e-3)
    solver.setOptionValue("mip_max_nodes", BOUND_NODES)
    solver.run()
    return min(float(solver.getInfo().mip_dual_bound), _every_lot_whole(problem))


def _every_lot_whole(problem: KitchenProblem) -> float:
    """Worth of every lot in its best way, in a kitchen without limits."""
    total = 0.0
    for index, lot in enumerate(problem.lots):
        ways = {run.method_id for run in problem.runs if run.lot == index}
        best_per_kg = max((problem.worth[lot.taxon_id, way].per_kg for way in ways), default=0.0)
        total += best_per_kg * lot.fresh_g / 1000.0
    return total


def _refilled(problem: KitchenProblem, start: Choice, seed: int, *, until: float) -> Choice:
    """The best of several seeds; a slow computer tries fewer of them, but at least one."""
    best_yet = start
    for number in range(STARTS):
        plan = improved(problem, start.chosen, rounds=ROUNDS, seed=seed + number)
        trial = Choice(plan, problem.value(plan), None, "best of many tries")
        best_yet = max(best_yet, trial, key=lambda choice: choice.value)
        if time.monotonic() > until:
            break
    return best_yet


def _model(problem: KitchenProblem, seconds: float, seed: int, enough_gap: float) -> highspy.Highs:
    import highspy

    rows, products = _rows(problem), list(problem.worth)
    count, extra = len(problem.runs), 2 * len(products)
    full = np.array([problem.worth[p].per_kg for p in products])
    inf = highspy.kHighsInf
    model = highspy.HighsLp()
    model.num_col_, model.num_row_ = count + extra, len(rows) + len(products)
    model.col_cost_ = np.concatenate([[-run.trouble for run in problem.runs], full, 0.5 * full])
    model.col_lower_ = np.zeros(count + extra)
    most = [_most_times(problem, p) for p in range(count)]
    enough = [problem.worth[p].enough_kg for p in products]
    model.col_upper_ = np.array([*most, *enough, *[inf] * len(products)])
    model.row_lower_ = np.array([-inf] * len(rows) + [0.0] * len(products))
    model.row_upper_ = np.array([problem.limits.get(row, 0.0) for row in rows] + [0.0] * len(products))
    matrix = model.a_matrix_
    matrix.format_ = highspy.MatrixFormat.kColwise
    matrix.start_, matrix.index_, matrix.value_ = _columns(problem, rows, products)
    whole, part = highspy.HighsVarType.kInteger, highspy.HighsVarType.kContinuous
    model.integrality_ = [whole] * count + [part] * extra
    model.sense_ = highspy.ObjSense.kMaximize
    solver = _quiet_solver()
    settings = {"threads": 1, "random_seed": seed, "time_limit": seconds, "mip_rel_gap": enough_gap}
    for option, setting in settings.items():
        solver.setOptionValue(option, setting)
    solver.passModel(model)
    return solver


def _columns(
    problem: KitchenProblem, rows: list[Row], products: list[tuple[str, str]]
) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.int64], npt.NDArray[np.float64]]:
    """Start, row index and value of every column: the runs, then each product's full and half kilograms."""
    place = {row: position for position, row in enumerate(rows)}
    of_product = {product: len(rows) + position for position, product in enumerate(products)}
    columns = [
        [
            *((place[row], amount) for row, amount in run.needs.items()),
            (of_product[problem.product_of(run)], run.size_kg),
        ]
        for run in problem.runs
    ]
    columns += [[(position, -1.0)] for _ in range(2) for position in of_product.values()]
    starts = np.cumsum([0, *(len(column) for column in columns)])
    index = np.array([row for column in columns for row, _ in column])
    value = np.array([amount for column in columns for _, amount in column], dtype=float)
    return starts, index, value


def _quiet_solver() -> highspy.Highs:
    """A solver that prints nothing, not even its banner: an answer as JSON stands alone."""
    import highspy

    class Quiet(highspy.Highs):  # type: ignore[misc]
        def enableCallbacks(self) -> None:  # noqa: N802 - the library's name
            self.silent()
            super().enableCallbacks()

    return Quiet()


def _rows(problem: KitchenProblem) -> list[Row]:
    """Limits that some run touches."""
    used = {row for run in problem.runs for row in run.needs}
    return sorted(used, key=str)


def _most_times(problem: KitchenProblem, position: int) -> float:
    needs = problem.runs[position].needs
    return float(
        min(int(problem.limits.get(row, 0.0) / amount + 1e-9) for row, amount in needs.items() if amount > 0)
    )


def _start_from(solver: highspy.Highs, problem: KitchenProblem, start: Choice) -> None:
    import highspy

    products = list(problem.worth)
    kilograms = np.zeros(len(products))
    taken = np.zeros(len(problem.runs))
    for position, times in start.chosen.items():
        taken[position] = times
        kilograms[products.index(problem.product_of(problem.runs[position]))] += (
            times * problem.runs[position].size_kg
        )
    enough = np.array([problem.worth[p].enough_kg for p in products])
    solution = highspy.HighsSolution()
    solution.col_value = list(
        np.concatenate([taken, np.minimum(kilograms, enough), np.maximum(kilograms - enough, 0.0)])
    )
    solver.setSolution(solution)
