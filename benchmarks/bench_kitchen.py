"""How near the plans of an evening come to the best possible one, and how long that takes.

``python -m benchmarks.bench_kitchen [KITCHENS] [SECONDS]``: 200 invented kitchens of 5 to 15 kg at 10 seconds
each by default; `main` runs a few for the list of ratios.
"""

from __future__ import annotations

import statistics
import sys
import time

from tests.unit.generated_kitchens import generated
from tests.unit.schedule_checker import violations

from underoak.kitchen.schedule import as_schedule
from underoak.kitchen.solve import best, quick

#: Seconds after which a bound that is still open counts as not known.
PROOF_SECONDS = 60.0


def trial(kitchens: int, seconds: float, *, first: int = 0, prove: bool = False) -> list[str]:
    """One line a figure over so many kitchens."""
    gaps: list[float] = []
    gains: list[float] = []
    times: list[float] = []
    broken = below = 0
    for seed in range(first, first + kitchens):
        case = generated(seed)
        problem = case.problem()
        began = time.perf_counter()
        plain = quick(problem)
        plain_s = time.perf_counter() - began
        began = time.perf_counter()
        found = best(problem, seconds=seconds, seed=1)
        times.append(time.perf_counter() - began)
        bound = found.bound or 0.0
        if prove and (found.gap or 0.0) > 0.03:
            longer = best(problem, seconds=PROOF_SECONDS, seed=1)
            bound = min(bound, longer.bound or bound)
        gap = max(bound - found.value, 0.0) / bound if bound > 0 else 0.0
        gaps.append(gap)
        gains.append(found.value / plain.value if plain.value > 0 else 1.0)
        below += found.value < plain.value - 1e-9
        broken += len(violations(case, as_schedule(problem, found, case.wishes)))
        if "-v" in sys.argv:
            print(
                f"{seed}: quick {plain.value:.3f} in {plain_s:.3f} s, {found.value:.3f}, gap {gap:.2%}",
                flush=True,
            )
    return [
        f"kitchen: {kitchens} kitchens, {seconds:g} s each: "
        f"plan / quick plan = {statistics.median(gains):.2f} (median)",
        f"kitchen: gap to the bound: median {statistics.median(gaps):.2%}, largest {max(gaps):.2%}; "
        f"within 3 %: {sum(g <= 0.03 for g in gaps)} of {kitchens}",
        f"kitchen: rules broken {broken}, plans below the quick one {below}, "
        f"median time {statistics.median(times):.1f} s",
    ]


def main() -> None:
    """A few kitchens, so that the whole list of ratios stays short."""
    for line in trial(6, 10.0):
        print(line)


if __name__ == "__main__":
    numbers = [word for word in sys.argv[1:] if not word.startswith("-")]
    for line in trial(
        int(numbers[0]) if numbers else 200, float(numbers[1]) if len(numbers) > 1 else 10.0, prove=True
    ):
        print(line)
