"""No walk can bring home more than this: the relaxation, tightened by cuts until it stops falling."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from underoak.walk.cuts import BROKEN, separate
from underoak.walk.programme import Programme

if TYPE_CHECKING:
    import numpy.typing as npt

    from underoak.walk.cuts import Row
    from underoak.walk.formulation import Formulation, Ground

    FloatArray = npt.NDArray[np.float64]

#: The relaxation is left alone when the last `PATIENCE` rounds closed less than this share of the gap.
WORTHWHILE = 0.02
PATIENCE = 6
#: Once no rule is broken grossly, those broken by more than this are sought.
FINE = 0.01
#: A reduced cost has to beat the gap by this much before a column is fixed for good.
SURE_KG = 1e-6


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


class Tightening:
    """The relaxation of one formulation, tightened in stages; ``best`` is what is known so far."""

    def __init__(self, formulation: Formulation, *, seed: int = 0) -> None:
        self.formulation = formulation
        self.programme = Programme(formulation, seed=seed)
        self.cuts: list[Row] = []
        self.bounds: list[float] = []
        self.best = Relaxed(plain_bound(formulation.ground))
        self.finished = False
        self.tolerance = BROKEN

    def advance(self, kg: float, *, rounds: int = 60, stop: Callable[[], bool] = lambda: False) -> Relaxed:
        """Add broken rules until none is left, nothing is gained, ``rounds`` are over or ``stop()``.

        ``kg`` is the best walk so far: the search is finished when the bound reaches it.
        """
        for _ in range(rounds):
            if self.finished or stop():
                break
            self._round(kg)
        return self.best

    def _broken(self, values: FloatArray) -> list[Row]:
        """Rules the point breaks; once none is broken grossly, those that are broken a little."""
        new = separate(self.formulation, values, broken=self.tolerance)
        if not new and self.tolerance > FINE:
            self.tolerance = FINE
            new = separate(self.formulation, values, broken=FINE)
        return new

    def binding(self) -> tuple[Row, ...]:
        """Cuts that hold the bound down at the final point."""
        return _binding(self.best)

    def _round(self, kg: float) -> None:
        answer = self.programme.relax()
        if answer is None:
            self.finished = True
            return
        values, reduced, value = answer
        self.best = Relaxed(min(value, self.best.bound_kg), tuple(self.cuts), values, reduced)
        self.bounds.append(self.best.bound_kg)
        new = [] if self.best.bound_kg <= kg + SURE_KG else self._broken(values)
        self.cuts += new
        self.programme.add_rows(new)
        self.finished = not new or _tails_off(self.bounds, kg)


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
