"""How good the walks are: published sets, scattered points beside other solvers, sparse woods, the real wood.

``python -m benchmarks.bench_walk`` prints a short table; add one of ``published``, ``points``, ``woods``
or ``seeds`` for a long trial of that part (up to ten minutes each). Seconds are those of one core as this
process spent them, so a busy machine does not blur the figures; the solver's own limit is by the wall.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable

from benchmarks.rivals import rivals
from benchmarks.walk_instances import (
    KINDS,
    WOOD,
    generated_wood,
    published_cases,
    scattered,
    wood_problem,
    woods_with_best,
)
from underoak.walk.problem import WalkProblem
from underoak.walk.result import WalkResult
from underoak.walk.solve import Effort, Progress, solve

#: A long trial of one part ends after this many seconds.
LONGEST_S = 560.0


def search(
    problem: WalkProblem,
    seconds: float,
    *,
    seed: int = 1,
    best: float = float("inf"),
    clock: Callable[[], float] = time.process_time,
) -> tuple[float, float]:
    """Score of the search alone, without a proof, and the seconds it took; stops early at ``best``."""
    began = clock()
    effort = Effort(rounds=10**7, seconds=seconds, prove=False, enough_kg=best)
    result = solve(problem, seed=seed, effort=effort, clock=clock)
    return result.kg, clock() - began


def proved(
    problem: WalkProblem, seconds: float, *, seed: int = 1
) -> tuple[WalkResult, list[tuple[float, Progress]]]:
    """A full plan with its bound, and when the search told what."""
    began, told = time.process_time(), []
    result = solve(
        problem,
        seed=seed,
        effort=Effort(rounds=10**7, seconds=seconds),
        clock=time.process_time,
        tell=lambda p: told.append((time.process_time() - began, p)),
    )
    return result, told


def published(seconds: float = 10.0, *, every: int = 1) -> None:
    """Each published instance: best known, ours, seconds."""
    cases = published_cases()[::every]
    if not cases:
        print("published sets: skipped, ../shared/data/orienteering is missing")
        return
    below = []
    for case in cases:
        score, _ = search(case.problem, seconds, best=case.best)
        if score < case.best - 1e-6:
            below.append(f"{case.name} {score:g} of {case.best:g}")
    reached = len(cases) - len(below)
    print(
        f"published sets, {seconds:g} s: {reached} of {len(cases)} reach the best known; "
        f"below: {below or 'none'}"
    )


def points(
    seconds: float = 10.0,
    sizes: tuple[int, ...] = (100, 150, 262, 400),
    kinds: tuple[str, ...] = KINDS,
) -> None:
    """Points beside the other solvers under the same limit; other kinds than even ones with 262 only."""
    others = rivals()
    cases = [(size, "even") for size in sizes] + [(262, kind) for kind in kinds if kind != "even"]
    for size, kind in cases:
        problem = scattered(size, seed=size, kind=kind)
        ours, _ = search(problem, seconds, clock=time.monotonic)
        scores = {name: solver(problem, seconds) for name, solver in others.items()}
        told = ", ".join(
            f"{n} {score:g} ({ours / score:.3f})" if score else f"{n} nothing" for n, score in scores.items()
        )
        print(
            f"{size} points, {kind}, {seconds:g} s: ours {ours:g}; score of others (ours as a multiple): "
            f"{told or 'none is installed'}"
        )


def woods(seconds: float = 60.0) -> None:
    """Generated woods and the real one: kilograms, bound, gap, time."""
    problems = {f"{e} edges {t} min": generated_wood(e, 1, t) for e, t in ((200, 120.0), (400, 120.0))}
    if WOOD.exists():
        for minutes in (120.0, 180.0):
            problem, edges = wood_problem(minutes)
            problems[f"real wood, {edges} edges, {minutes:g} min"] = problem
    began = time.monotonic()
    for name, problem in problems.items():
        if time.monotonic() - began > LONGEST_S:
            print(f"{name}: left out, time is up")
            continue
        result, told = proved(problem, seconds)
        first = told[0][0]
        print(
            f"{name}: {result.kg:.3f} kg, bound {result.bound_kg:.3f}, gap {100 * result.gap:.1f} %, "
            f"proved {result.proved}, first search {first:.1f} s, all {told[-1][0]:.1f} s"
        )


def seeds(seconds: float = 5.0, count: int = 20) -> None:
    """Spread of five-second plans over seeds, against the best walk known of each wood."""
    for name, (problem, known) in woods_with_best().items():
        scores = [proved(problem, seconds, seed=seed)[0].kg for seed in range(count)]
        best = max(known, *scores)
        short = [100.0 * (1.0 - kg / best) for kg in scores]
        print(
            f"{name}, {seconds:g} s, {count} seeds: below the best known {best:.3f} kg by "
            f"{sum(short) / count:.2f} % on average, {max(short):.2f} % at worst, "
            f"{sum(s <= 1.0 for s in short)} within 1 %",
            flush=True,
        )


def main() -> None:
    """The short table."""
    published(2.0, every=9)
    points(3.0, sizes=(100, 150), kinds=())
    woods(10.0)


if __name__ == "__main__":
    parts: dict[str, Callable[[], None]] = {
        "published": published,
        "points": points,
        "woods": woods,
        "seeds": seeds,
    }
    parts.get(sys.argv[1], main)() if len(sys.argv) > 1 else main()
