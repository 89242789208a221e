"""The chains and their filter on published data that have nothing to do with mushrooms.

With perfect looks the model is interval-censored survival; without a season it is site occupancy.
"""

from __future__ import annotations

import csv
import gzip
import tomllib
from collections import defaultdict
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import pytest
from scipy.optimize import minimize
from scipy.stats import expon, lognorm, weibull_min

from tests.outside_data import outside
from underoak.outlook.flush_gradient import likelihood_slopes
from underoak.outlook.flush_model import Chains, Evidence, filter_states, onset_hazard

FloatArray = npt.NDArray[np.float64]
CASES = tomllib.loads(Path(__file__).with_name("onset_outside.toml").read_text("utf-8"))
MONTHS = 60
#: Looks are perfect here; a hair above zero keeps logarithms finite.
NEVER = 1e-14


def radiotherapy_arm() -> tuple[FloatArray, FloatArray]:
    """Left and right ends, months, of the 46 intervals of the radiotherapy arm (KMsurv, bcdeter)."""
    path = outside("r-cran-kmsurv", "usr", "lib", "R", "site-library", "KMsurv", "data", "bcdeter.txt.gz")
    with gzip.open(path, "rt") as file:
        rows = [line.split() for line in file if line.strip()][1:]
    numbers = [[np.inf if cell == "NA" else float(cell) for cell in row[-3:]] for row in rows]
    arm = np.array([row[:2] for row in numbers if row[2] == 1.0])
    return arm[:, 0], arm[:, 1]


def interval_evidence(left: FloatArray, right: FloatArray) -> Evidence:
    """Nothing yet at the left end, something at the right one; a day stands for a month."""
    waiting, begun = np.array([1.0, NEVER, NEVER, NEVER]), np.array([NEVER, 1.0, 1.0, 1.0])
    rows = []
    for n, (low, high) in enumerate(zip(left, right, strict=True)):
        if low > 0:
            rows.append((int(low) - 1, n, waiting))
        if np.isfinite(high):
            rows.append((int(high) - 1, n, begun))
    rows.sort(key=lambda row: row[0])
    return Evidence(
        chain=np.array([row[1] for row in rows]),
        day=np.array([row[0] for row in rows]),
        by_state=np.stack([row[2] for row in rows]),
        idle=np.ones(len(rows)),
    )


def chains_of(left_over: FloatArray, count: int) -> Chains:
    """Chains whose onset follows a survival curve (months + 1,), all alike."""
    hazard = 1.0 - left_over[1:] / left_over[:-1]
    return Chains(np.tile(hazard[:, None], count), np.full(count, 0.5), np.full((len(hazard), count), 0.1))


@pytest.mark.parametrize("case", CASES["parametric"], ids=lambda case: str(case["family"]))
def test_interval_censored_fits_of_the_breast_cosmesis_arm(case: dict[str, Any]) -> None:
    left, right = radiotherapy_arm()
    assert len(left) == 46
    evidence = interval_evidence(left, right)
    families: dict[str, Callable[[FloatArray], FloatArray]] = {
        "weibull": lambda p: weibull_min.sf(np.arange(MONTHS + 1), np.exp(p[1]), scale=np.exp(p[0])),
        "lognormal": lambda p: lognorm.sf(np.arange(MONTHS + 1), np.exp(p[1]), scale=np.exp(p[0])),
        "exponential": lambda p: expon.sf(np.arange(MONTHS + 1), scale=np.exp(p[0])),
    }
    survival = families[case["family"]]

    def loss(p: FloatArray) -> float:
        chains = chains_of(survival(p), len(left))
        return -float(filter_states(chains, evidence, np.array([MONTHS - 1])).fruited.sum())

    start = np.array([3.5, 0.0])[: len(case["parameters"])]
    best = minimize(loss, start, method="Nelder-Mead", options={"xatol": 1e-6, "fatol": 1e-9})
    assert -best.fun == pytest.approx(case["log_likelihood"], abs=0.001)
    found = np.exp(best.x)
    if case["family"] == "exponential":
        found = 1.0 / found
    if case["family"] == "lognormal":
        found = np.array([best.x[0], np.exp(best.x[1])])
    assert found == pytest.approx(case["parameters"], rel=2e-3)


def test_free_onsets_of_the_breast_cosmesis_arm_are_the_turnbull_estimate() -> None:
    """The curve with a free chance for every month, climbed by the exact slopes of the likelihood."""
    left, right = radiotherapy_arm()
    evidence = interval_evidence(left, right)

    def loss(free: FloatArray) -> tuple[float, FloatArray]:
        share = np.exp(free - np.logaddexp.reduce(free))  # last: never within the months
        left_over = np.concatenate([[1.0], 1.0 - np.cumsum(share[:-1])])
        left_over = np.maximum(left_over, 1e-12)
        found = likelihood_slopes(chains_of(left_over, len(left)), evidence)
        by_hazard = found.onset.sum(axis=1)
        # d hazard_t / d share_j, with hazard_t = share_t / left_t and left_t = 1 - sum of earlier shares
        later = np.cumsum((by_hazard * share[:-1] / left_over[:-1] ** 2)[::-1])[::-1]
        by_share = by_hazard / left_over[:-1] + np.append(later[1:], 0.0)
        by_share = np.append(by_share, 0.0)
        return -float(found.fruited.sum()), -(share * (by_share - share @ by_share))

    best = minimize(
        loss, np.zeros(MONTHS + 1), jac=True, method="L-BFGS-B", options={"maxiter": 3000, "ftol": 1e-14}
    )
    share = np.exp(best.x - np.logaddexp.reduce(best.x))
    expected = CASES["turnbull"]
    assert -best.fun == pytest.approx(expected["log_likelihood"], abs=0.002)
    for low, high, mass in expected["masses"]:
        stop = MONTHS + 1 if high == 48 else high  # beyond the last interval nothing tells months apart
        assert share[low:stop].sum() == pytest.approx(mass, abs=0.002)


def test_occupancy_without_a_season_on_the_salamanders() -> None:
    """39 sites, 5 visits, 18 sites with detections, 30 detections; only these sums matter."""
    case = CASES["occupancy"]
    visits, sites, hits = case["visits"], case["sites_detected"], case["detections"]
    per_site = np.full(sites, hits // sites)
    per_site[: hits - per_site.sum()] += 1
    counts = np.concatenate([per_site, np.zeros(case["sites"] - sites, dtype=int)])
    days = visits + 4

    def loss(p: FloatArray) -> float:
        psi, detect = 1.0 / (1.0 + np.exp(-p))
        chains = Chains(np.ones((days, len(counts))), np.ones(len(counts)), np.zeros((days, len(counts))))
        seen = np.array([[v < count for count in counts] for v in range(visits)]).ravel()
        by_state = np.where(seen, detect, 1.0 - detect)[:, None] * np.ones(4)
        evidence = Evidence(
            np.tile(np.arange(len(counts)), visits),
            np.repeat(np.arange(4, 4 + visits), len(counts)),
            by_state,
            np.where(seen, 1e-300, 1.0),
        )
        filtered = filter_states(chains, evidence, np.array([days - 1]))
        return -float(np.logaddexp(np.log(psi) + filtered.fruited, np.log1p(-psi) + filtered.blank).sum())

    best = minimize(loss, np.zeros(2), method="Nelder-Mead", options={"xatol": 1e-8, "fatol": 1e-10})
    psi, detect = 1.0 / (1.0 + np.exp(-best.x))
    assert psi == pytest.approx(case["psi"], abs=0.0001)
    assert detect == pytest.approx(case["p"], abs=0.0001)
    assert 2.0 * best.fun + 4.0 == pytest.approx(case["aic"], abs=0.001)


def blueberries() -> dict[int, tuple[list[int], FloatArray]]:
    """Year -> flowering days of the year and daily temperature from 1 January, Harvard Forest."""
    folder = outside("pyPhenology", "pyPhenology", "data")
    onsets: dict[int, list[int]] = defaultdict(list)
    with (folder / "vaccinium_obs.csv").open() as file:
        for row in csv.DictReader(file):
            if int(float(row["phenophase"])) == 501:
                onsets[int(row["year"])].append(int(float(row["doy"])))
    warmth: dict[int, dict[int, float]] = defaultdict(dict)
    with (folder / "vaccinium_temperature.csv").open() as file:
        for row in csv.DictReader(file):
            warmth[int(row["year"])][int(float(row["doy"]))] = float(row["temperature"])
    days = range(1, 200)
    return {year: (sorted(onsets[year]), np.array([warmth[year][d] for d in days])) for year in onsets}


def test_dated_flowering_with_real_weather_beats_day_of_year_climatology() -> None:
    """Leave one year out: mean and spread of the other years, with and without a warmth term."""
    record = blueberries()
    assert len(record) >= 10
    usual = np.mean([warmth for _, warmth in record.values()], axis=0)
    totals = {year: np.cumsum(warmth - usual) for year, (_, warmth) in record.items()}
    terms = {year: (t[30:] - t[:-30]) / 30.0 for year, t in totals.items()}  # anomaly of the last 30 days
    sd = float(np.std(np.concatenate([t[60:] for t in terms.values()])))

    def log_likelihood(year: int, mean: float, spread: float, effect: float) -> float:
        days = 169
        stay = 1.0 - onset_hazard(np.array([mean]), np.array([spread]), days, first=30)[:, 0]
        onset = 1.0 - np.power(stay, np.exp(np.clip(effect * terms[year] / sd, -20.0, 20.0)))
        left = np.concatenate([[1.0], np.cumprod(1.0 - onset)])
        return float(sum(np.log(left[d - 31] - left[d - 30] + 1e-300) for d in record[year][0]))

    gains = []
    for left_out in record:
        others = [year for year in record if year != left_out]
        days = np.concatenate([record[year][0] for year in others])
        mean, spread = float(days.mean()), float(days.std())

        def loss(p: FloatArray, others: list[int] = others) -> float:
            ridge = 0.5 * float(p[2] ** 2)
            return ridge - sum(log_likelihood(year, p[0], float(np.exp(p[1])), p[2]) for year in others)

        best = minimize(loss, np.array([mean, np.log(spread), 0.0]), method="Nelder-Mead").x
        plain = log_likelihood(left_out, mean, spread, 0.0)
        gains.append(
            (log_likelihood(left_out, best[0], float(np.exp(best[1])), best[2]) - plain)
            / len(record[left_out][0])
        )
    assert np.mean(gains) > 0.1, "nats a record"
    assert np.sum(np.array(gains) > 0.0) > len(gains) / 2


def test_filter_equals_a_general_hidden_markov_library() -> None:
    """Reference: hmmlearn's CategoricalHMM on the same chain, one look a day, constant chances."""
    hmm = pytest.importorskip("hmmlearn.hmm")
    onset, ripe, age, days = 0.08, 0.3, 0.15, 40
    emission = np.array(
        [[0.97, 0.01, 0.01, 0.01], [0.4, 0.5, 0.1, 0.0], [0.2, 0.1, 0.6, 0.1], [0.3, 0, 0.1, 0.6]]
    )
    outcomes = np.random.default_rng(3).choice(4, days, p=[0.5, 0.2, 0.2, 0.1])
    outcomes[:10] = 0
    model = hmm.CategoricalHMM(n_components=4, n_features=4)
    model.startprob_ = np.array([1 - onset, onset, 0.0, 0.0])
    model.transmat_ = np.array(
        [[1 - onset, onset, 0, 0], [0, 1 - ripe, ripe, 0], [0, 0, 1 - age, age], [0, 0, 0, 1.0]]
    )
    model.emissionprob_ = emission
    chains = Chains(np.full((days, 1), onset), np.array([ripe]), np.full((days, 1), age))
    by_state = emission[:, outcomes].T
    evidence = Evidence(np.zeros(days, np.intp), np.arange(days), by_state, np.ones(days))
    filtered = filter_states(chains, evidence, np.arange(days))
    assert filtered.fruited[0, -1] == pytest.approx(model.score(outcomes[:, None]), abs=1e-9)
    assert filtered.states[0, -1] == pytest.approx(model.predict_proba(outcomes[:, None])[-1], abs=1e-9)
