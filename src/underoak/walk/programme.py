"""A formulation in the hands of the solver: relaxed with cuts of our own, then in whole numbers."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

    from underoak.walk.cuts import Row
    from underoak.walk.formulation import Formulation

    FloatArray = npt.NDArray[np.float64]

#: Kilograms by which objective and columns may differ.
STRAY_KG = 1e-6
#: Heuristics of the solver that the local search makes needless.
OWN_HEURISTICS = (
    "mip_heuristic_effort",
    "mip_heuristic_run_feasibility_jump",
    "mip_heuristic_run_root_reduced_cost",
    "mip_heuristic_run_rins",
    "mip_heuristic_run_rens",
)


@dataclass(frozen=True, slots=True, eq=False)
class Answer:
    """Column values (None when nothing was found), the proved bound and whether it is closed."""

    values: FloatArray | None
    bound_kg: float
    closed: bool


class Programme:
    """One formulation loaded into HiGHS, single-threaded and seeded."""

    def __init__(self, formulation: Formulation, *, seed: int = 0, relaxed: bool = True) -> None:
        import highspy

        self.formulation = formulation
        self.highs = _quiet_highs()
        for option, value in (
            ("output_flag", False), ("threads", 1), ("random_seed", seed), ("mip_rel_gap", 1e-7),
            ("mip_abs_gap", 1e-7),
            *((name, 0.0 if name == "mip_heuristic_effort" else False) for name in OWN_HEURISTICS),
        ):  # fmt: skip
            self.highs.setOptionValue(option, value)
        self.highs.passModel(_lp(highspy, formulation, relaxed=relaxed))

    def add_rows(self, rows: Sequence[Row]) -> None:
        """Add rows given as (columns, values, lower, upper)."""
        if not rows:
            return
        starts = np.cumsum([0] + [len(r[0]) for r in rows[:-1]]).astype(np.int32)
        index = np.concatenate([r[0] for r in rows]).astype(np.int32)
        value = np.concatenate([r[1] for r in rows]).astype(float)
        low, high = np.array([r[2] for r in rows]), np.array([r[3] for r in rows])
        self.highs.addRows(len(rows), low, high, len(index), starts, index, value)

    def relax(self) -> tuple[FloatArray, FloatArray, float] | None:
        """Column values, reduced costs and value of the relaxation, or None when it was not solved."""
        import highspy

        self.highs.run()
        if self.highs.getModelStatus() != highspy.HighsModelStatus.kOptimal:
            return None
        solution = self.highs.getSolution()
        return (
            np.array(solution.col_value), np.array(solution.col_dual),
            float(self.highs.getInfo().objective_function_value),
        )  # fmt: skip

    def solve(
        self,
        *,
        seconds: float,
        nodes: int | None = None,
        start: FloatArray | None = None,
        stop: Callable[[], bool] = lambda: False,
    ) -> Answer:
        """Solve in whole numbers, for at most ``seconds`` and ``nodes``, from the columns of ``start``.

        ``stop`` is asked all along; once it says so, the best answer so far is handed back.
        """
        import highspy

        def listen(event: Any) -> None:
            if stop():
                event.interrupt()

        highs = self.highs
        highs.cbMipInterrupt += listen
        highs.setOptionValue("time_limit", float(highs.getRunTime() + seconds))
        if nodes is not None:
            highs.setOptionValue("mip_max_nodes", nodes)
        if start is not None:
            highs.setSolution(len(start), np.arange(len(start), dtype=np.int32), start)
        highs.run()
        if start is not None and self._strayed():
            highs.clearSolver()
            highs.run()
        info, status = highs.getInfo(), highs.getModelStatus()
        if status == highspy.HighsModelStatus.kInfeasible:
            return Answer(None, -math.inf, closed=True)
        found = info.primal_solution_status == 2
        values = np.array(highs.getSolution().col_value) if found else None
        closed = status == highspy.HighsModelStatus.kOptimal
        return Answer(values, float(info.mip_dual_bound), closed)

    def _strayed(self) -> bool:
        """Whether the columns are not those of the objective told.

        HiGHS 1.16 may hand back the start although presolve made a better answer of it.
        """
        told = float(self.highs.getInfo().objective_function_value)
        values = np.array(self.highs.getSolution().col_value)
        return math.isfinite(told) and abs(float(self.formulation.cost @ values) - told) > STRAY_KG


def _quiet_highs() -> Any:
    """A solver that prints nothing, not even the banner it shows while it is being made."""
    import highspy

    class Quiet(highspy.Highs):  # type: ignore[misc]
        def enableCallbacks(self) -> None:  # noqa: N802 - the library's name
            self.silent()
            super().enableCallbacks()

    return Quiet()


def _lp(highspy: Any, formulation: Formulation, *, relaxed: bool) -> Any:
    lp = highspy.HighsLp()
    matrix = formulation.matrix.tocsc()
    lp.num_row_, lp.num_col_ = matrix.shape
    lp.col_cost_, lp.col_lower_, lp.col_upper_ = formulation.cost, formulation.lower, formulation.upper
    lp.row_lower_, lp.row_upper_ = formulation.row_lower, formulation.row_upper
    lp.a_matrix_.format_ = highspy.MatrixFormat.kColwise
    lp.a_matrix_.start_ = matrix.indptr.astype(np.int32)
    lp.a_matrix_.index_ = matrix.indices.astype(np.int32)
    lp.a_matrix_.value_ = matrix.data
    lp.sense_ = highspy.ObjSense.kMaximize
    if not relaxed:
        kinds = (highspy.HighsVarType.kContinuous, highspy.HighsVarType.kInteger)
        lp.integrality_ = [kinds[int(whole)] for whole in formulation.integer]
    return lp
