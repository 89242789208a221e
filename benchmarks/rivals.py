"""The same orienteering problems for general-purpose solvers, where they are installed."""

from __future__ import annotations

import importlib.util
import math
from collections.abc import Callable

import numpy as np

from underoak.walk.problem import WalkProblem

#: Whole units a minute is cut into for solvers that count in whole numbers.
UNITS = 1000


def _matrix(problem: WalkProblem) -> tuple[np.ndarray, np.ndarray]:
    n, graph = problem.graph.nodes, problem.graph
    far = np.zeros((n, n), dtype=np.int64)
    units = np.ceil(graph.forward_min * UNITS - 1e-6).astype(np.int64)
    far[graph.start, graph.end] = far[graph.end, graph.start] = units
    prize = np.zeros(n, dtype=np.int64)
    for one in problem.prizes:
        prize[one.node] = round(one.kg)
    return far, prize


def cp_sat(problem: WalkProblem, seconds: float) -> float:
    """Score found by a circuit model in OR-Tools' CP-SAT, eight workers."""
    from ortools.sat.python import cp_model

    far, prize = _matrix(problem)
    n, model = len(prize), cp_model.CpModel()
    arcs, lengths = [], []
    for i in range(n):
        for j in range(n):
            if j not in (i, problem.start) and i != problem.finish:
                use = model.new_bool_var("")
                arcs.append((i, j, use))
                lengths.append((int(far[i, j]), use))
    back = model.new_constant(1)
    arcs.append((problem.finish, problem.start, back))
    skip = {k: model.new_bool_var("") for k in range(n) if k not in (problem.start, problem.finish)}
    arcs += [(k, k, var) for k, var in skip.items()]
    model.add_circuit(arcs)
    model.add(sum(c * v for c, v in lengths) <= int(problem.minutes * UNITS))
    model.maximize(sum(int(prize[k]) * (1 - var) for k, var in skip.items()))
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = 8
    status = solver.solve(model)
    return float(solver.objective_value) if status in (cp_model.OPTIMAL, cp_model.FEASIBLE) else 0.0


def routing(problem: WalkProblem, seconds: float) -> float:
    """Score found by OR-Tools' routing library with guided local search, the better of two penalty scales."""
    from ortools.constraint_solver import pywrapcp, routing_enums_pb2

    far, prize = _matrix(problem)
    best = 0.0
    for scale in (
        int(problem.minutes * UNITS) + 1,
        math.ceil(2 * problem.minutes * UNITS / max(prize.sum(), 1)),
    ):
        manager = pywrapcp.RoutingIndexManager(len(prize), 1, [problem.start], [problem.finish])
        model = pywrapcp.RoutingModel(manager)
        transit = model.RegisterTransitCallback(
            lambda a, b, m=manager: int(far[m.IndexToNode(a), m.IndexToNode(b)])
        )
        model.SetArcCostEvaluatorOfAllVehicles(transit)
        model.AddDimension(transit, 0, int(problem.minutes * UNITS), True, "minutes")
        inner = [k for k in range(len(prize)) if k not in (problem.start, problem.finish)]
        for k in inner:
            model.AddDisjunction([manager.NodeToIndex(k)], int(prize[k]) * scale)
        options = pywrapcp.DefaultRoutingSearchParameters()
        options.local_search_metaheuristic = routing_enums_pb2.LocalSearchMetaheuristic.GUIDED_LOCAL_SEARCH
        options.time_limit.FromMilliseconds(int(500 * seconds))
        found = model.SolveWithParameters(options)
        if found:
            index, score = model.Start(0), 0.0
            while not model.IsEnd(index):
                score += float(prize[manager.IndexToNode(index)])
                index = found.Value(model.NextVar(index))
            best = max(best, score)
    return best


def py_vrp(problem: WalkProblem, seconds: float) -> float:
    """Score found by PyVRP with optional clients, the better of two prize scales."""
    import warnings

    from pyvrp import Model
    from pyvrp.stop import MaxRuntime

    far, prize = _matrix(problem)
    best = 0.0
    for scale in (
        int(problem.minutes * UNITS) + 1,
        math.ceil(2 * problem.minutes * UNITS / max(prize.sum(), 1)),
    ):
        model = Model()
        sites = [model.add_location(0.0, 0.0) for _ in prize]
        ends = {k: model.add_depot(sites[k]) for k in sorted({problem.start, problem.finish})}
        for k, site in enumerate(sites):
            if k not in ends:
                model.add_client(site, prize=int(prize[k]) * scale, required=False)
        model.add_vehicle_type(
            1,
            start_depot=ends[problem.start],
            end_depot=ends[problem.finish],
            max_distance=int(problem.minutes * UNITS),
        )
        for i, here in enumerate(sites):
            for j, there in enumerate(sites):
                if i != j:
                    model.add_edge(here, there, distance=int(far[i, j]))
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            found = model.solve(stop=MaxRuntime(seconds / 2.0), display=False, seed=1)
        if found.is_feasible():
            best = max(best, found.best.prizes() / scale)
    return best


def rivals() -> dict[str, Callable[[WalkProblem, float], float]]:
    """The solvers that can be imported here, by name."""
    known = {"ortools": {"CP-SAT": cp_sat, "OR-Tools routing": routing}, "pyvrp": {"PyVRP": py_vrp}}
    return {
        name: solver
        for package, solvers in known.items()
        if importlib.util.find_spec(package)
        for name, solver in solvers.items()
    }
