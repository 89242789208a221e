"""The outlook's speed: learning, forecasting, how both grow, and the filter beside a general library."""

from __future__ import annotations

import importlib.util
import resource
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import numpy.typing as npt

from benchmarks.outlook_recovery import PLACE, Kind, case_of, spots
from underoak.outlook.drivers import SeasonWeather
from underoak.outlook.fit import fit
from underoak.outlook.flush_model import Chains, Evidence, filter_states
from underoak.outlook.forecast import chance_table
from underoak.outlook.record import taxon_record
from underoak.outlook.simulate import habit_of, invented_world

FloatArray = npt.NDArray[np.float64]


def seconds(job: Callable[[], object], runs: int = 1) -> float:
    """Shortest wall time of a job."""
    times = []
    for _ in range(runs):
        started = time.process_time()
        job()
        times.append(time.process_time() - started)
    return min(times)


def learning(each: int, seasons: int, taxa: int) -> float:
    """Seconds to fit so many taxa to 5 woods of ``each`` spots."""
    known_spots = spots(5, each)
    kind = Kind()
    total = 0.0
    for seed in range(taxa):
        world = invented_world(
            known_spots,
            [habit_of(kind, PLACE)],
            range(2012, 2012 + seasons),
            climates=dict.fromkeys({spot.place_id for spot in known_spots}, PLACE),
            seed=seed,
        )
        case = case_of(world, kind, known_spots)
        started = time.process_time()
        record = taxon_record(
            case.known, spots=case.spots, looks=case.looks, reports=case.reports, climates=case.climates
        )
        fit(kind.id, record)
        total += time.process_time() - started
    return total


def forecasting(count: int, taxa: int, *, past_years: int = 0) -> float:
    """Seconds to forecast so many spots and taxa over ten days, all after the end of the weather.

    ``past_years`` stand in for what comes.
    """
    trees = spots(10, count // 10)
    days = [date(2025, 9, 20) + timedelta(days=n) for n in range(10)]
    place = replace(PLACE, running=2025, futures={2024 - n: _warmer(n) for n in range(past_years)})
    climates = {tree.place_id: replace(place) for tree in trees}
    kinds = [Kind(f"k{n}", median=240.0 + n) for n in range(taxa)]
    return seconds(lambda: chance_table(trees, kinds, days, climates=climates), runs=3)


def _warmer(step: int) -> SeasonWeather:
    return replace(PLACE.usual, warmth=PLACE.usual.warmth * (1.0 + 0.1 * step))


def exponent(sizes: list[int], times: list[float]) -> float:
    """Slope of log time on log size: 1 is linear."""
    return float(np.polyfit(np.log(sizes), np.log(times), 1)[0])


EMISSION = np.array(
    [[0.96, 0.02, 0.01, 0.01], [0.4, 0.5, 0.1, 0.0], [0.2, 0.1, 0.6, 0.1], [0.3, 0.0, 0.1, 0.6]]
)
RIPE, AGE = 0.3, 0.12


def beside_general_library(rows: int, days: int, *, day_by_day: bool) -> float | None:
    """Time of hmmlearn's forward pass over ours, per spot and season; None where it is missing.

    Both run on one core, are fed a look a day and agree on the likelihood; the library takes part with the
    faster of its two ways of reckoning. With ``day_by_day`` the chance of onset differs from day to day, as
    it does in the model; the library, whose chances never change, then needs a state for each day and stage.
    """
    if importlib.util.find_spec("hmmlearn") is None:
        return None
    from hmmlearn import hmm

    rng = np.random.default_rng(1)
    onset = np.linspace(0.01, 0.08, days) if day_by_day else np.full(days, 0.02)
    outcomes = np.where(rng.random((rows, days)) < 0.95, 0, rng.integers(0, 4, (rows, days)))
    model = hmm.CategoricalHMM(n_components=4 * days if day_by_day else 4, n_features=4)
    if day_by_day:
        model.startprob_, model.transmat_ = _unrolled(onset)
        model.emissionprob_ = np.tile(EMISSION, (days, 1))
    else:
        model.startprob_ = np.array([1.0 - onset[0], onset[0], 0.0, 0.0])
        model.transmat_ = _step(onset[0])
        model.emissionprob_ = EMISSION
    chain, day = np.tile(np.arange(rows), days), np.repeat(np.arange(days), rows)
    evidence = Evidence(chain, day, EMISSION[:, outcomes[chain, day]].T, np.ones(len(chain)))
    chains = Chains(np.tile(onset[:, None], rows), np.full(rows, RIPE), np.full((days, rows), AGE))
    last = np.array([days - 1])
    sequences = outcomes.reshape(-1, 1)
    assert np.isclose(
        model.score(sequences, lengths=[days] * rows), filter_states(chains, evidence, last).fruited.sum()
    )
    theirs = []
    for way in ("log", "scaling"):
        model.implementation = way
        theirs.append(seconds(lambda: model.score(sequences, lengths=[days] * rows)))
    return min(theirs) / seconds(lambda: filter_states(chains, evidence, last), runs=3)


def _step(onset: float) -> FloatArray:
    """Transition matrix of one day."""
    return np.array([[1 - onset, onset, 0, 0], [0, 1 - RIPE, RIPE, 0], [0, 0, 1 - AGE, AGE], [0, 0, 0, 1.0]])


def _unrolled(onset: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Start and transition matrix of a chain with one state for each day and stage."""
    days = len(onset)
    start, matrix = np.zeros(4 * days), np.eye(4 * days)
    start[:2] = [1.0 - onset[0], onset[0]]
    for day in range(1, days):
        here, there = slice(4 * (day - 1), 4 * day), slice(4 * day, 4 * day + 4)
        matrix[here] = 0.0
        matrix[here, there] = _step(float(onset[day]))
    return start, matrix


def main() -> None:
    """Print times, exponents and the ratio."""
    learning(2, 2, 1)  # load what is needed
    sizes = [20, 40, 80]
    times = [learning(each, 8, 2) for each in sizes]
    whole = times[1] * 5.0
    print(f"outlook: learning 10 taxa x 200 spots x 8 seasons: {whole:.1f} s on one core (from 2 taxa)")
    print(f"outlook: learning grows with spots to the power {exponent(sizes, times):.2f}")
    counts = [5000, 10000, 20000]
    ahead = [forecasting(count, 30) for count in counts]
    print(f"outlook: forecast of 10,000 spots x 30 taxa x 10 days: {ahead[1]:.2f} s")
    fan = forecasting(10000, 30, past_years=6)
    print(f"outlook: the same with 6 past years in place of a weather forecast: {fan:.2f} s")
    print(f"outlook: forecast grows with spots to the power {exponent(counts, ahead):.2f}")
    for day_by_day, words in (
        (False, "constant chances, the library's own ground"),
        (True, "chances that change by the day, as in the outlook; the library needs 240 states for it"),
    ):
        ratio = beside_general_library(40 if day_by_day else 1000, 60, day_by_day=day_by_day)
        told = "not compared, hmmlearn is not installed" if ratio is None else f"{ratio:.1f} times hmmlearn's"
        print(f"outlook: speed of the filter with {words}: {told}")
    print(f"outlook: memory at most {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB")


if __name__ == "__main__":
    main()
