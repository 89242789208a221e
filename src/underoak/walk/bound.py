"""No walk can bring home more than this: the relaxation, tightened by cuts until it stops falling."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from underoak.walk.cuts import separate
from underoak.walk.programme import Programme

if TYPE_CHECKING:
    import numpy.typing as npt

    from underoak.walk.cuts import Row
    from underoak.walk.formulation import Formulation, Ground

    FloatArray = npt.NDArray[np.float64]

#: The relaxation is left alone when the last `PATIENCE` rounds closed less than this share of the gap.
WORTHWHILE = 0.02
PATIENCE = 6
#: A reduced cost has to beat the gap by this much before a column is fixed for good.
SURE_KG = 1e-6


def nobody_watches(_: float) -> None:
    """Hear of a new bound and do nothing."""


@dataclass(frozen=True, slots=True, eq=False)
class Relaxed:
    """A bound with the point and the cuts that show it; ``values`` is None when nothing was solved."""

    bound_kg: float
    cuts: tuple[Row, ...] = ()
    values: FloatArray | None = None
    reduced: FloatArray | None = None


def plain_bound(ground: Ground) -> float:
    """Everything that can be reached, as far as bag, kitchen and places let it through."""
    problem = ground.problem
    by_place = np.zeros(len(problem.place_limit_kg))
    for position in np.unique(ground.modes.prize):
        prize = problem.prizes[int(position)]
        by_place[prize.place] += prize.kg
    return float(min(np.minimum(by_place, problem.place_limit_kg).sum(), problem.bag_kg))


def tighten(
    formulation: Formulation, kg: float, *, rounds: int = 60, seed: int = 0,
    stop: Callable[[], bool] = lambda: False, watch: Callable[[float], None] = nobody_watches,
) -> Relaxed:  # fmt: skip
    """Solve the relaxation and add broken rules until none is left, nothing is gained or ``stop()``.

    ``kg`` is the best walk so far: the search ends when the bound reaches it. ``watch`` is told
    every new bound.
    """
    programme = Programme(formulation, seed=seed)
    best = Relaxed(plain_bound(formulation.ground))
    cuts: list[Row] = []
    bounds: list[float] = []
    for _ in range(rounds):
        answer = programme.relax()
        if answer is None:
            break
        values, reduced, value = answer
        best = Relaxed(min(value, best.bound_kg), tuple(cuts), values, reduced)
        bounds.append(best.bound_kg)
        watch(best.bound_kg)
        if best.bound_kg <= kg + SURE_KG or stop() or _tails_off(bounds, kg):
            break
        new = separate(formulation, values)
        if not new:
            break
        cuts += new
        programme.add_rows(new)
    return replace(best, cuts=_binding(best))


def _tails_off(bounds: list[float], kg: float) -> bool:
    if len(bounds) <= PATIENCE:
        return False
    then, now = bounds[-1 - PATIENCE], bounds[-1]
    return then - now < WORTHWHILE * max(then - kg, 0.0)


def _binding(relaxed: Relaxed, slack: float = 0.05) -> tuple[Row, ...]:
    """Cuts that hold the bound down at the final point."""
    if relaxed.values is None:
        return ()
    return tuple(row for row in relaxed.cuts if float(row[1] @ relaxed.values[row[0]]) - row[2] <= slack)


def narrow(formulation: Formulation, relaxed: Relaxed, kg: float) -> Formulation:
    """The formulation without columns that no walk better than ``kg`` can use.

    Method: reduced-cost fixing. A column at 0 whose reduced cost takes the bound below the best
    known walk stays 0 in every better one.
    """
    if relaxed.values is None or relaxed.reduced is None:
        return formulation
    whole = formulation.integer
    at_zero = whole & (relaxed.values < 1e-7) & (formulation.lower <= 0.0)
    useless = at_zero & (relaxed.bound_kg - np.abs(relaxed.reduced) < kg - SURE_KG)
    upper = np.where(useless, 0.0, formulation.upper)
    arcs, watch = formulation.arcs, formulation.arcs + formulation.modes
    upper[watch : watch + arcs][useless[:arcs]] = 0.0
    return replace(formulation, upper=upper)


def is_closed(bound_kg: float, kg: float) -> bool:
    """Whether a bound meets the walk, up to a hundredth of a gram or one in a million."""
    return math.isfinite(bound_kg) and bound_kg - kg <= max(1e-5, 1e-6 * abs(bound_kg))
