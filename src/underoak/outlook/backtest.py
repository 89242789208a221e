"""The model's record: forecasts of left-out seasons against plain rules."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from underoak.outlook.baselines import LastYear, RainRule, SpotRate, TenDayRate
from underoak.outlook.catch import Catch
from underoak.outlook.leave_out import TaxonCase, by_baseline, by_book, by_model
from underoak.outlook.scores import (
    Interval,
    ReliabilityBin,
    brier,
    calibration,
    log_scores,
    reliability,
    season_bootstrap,
)
from underoak.outlook.season import season_of

if TYPE_CHECKING:
    from underoak.model.visits import Visit

FloatArray = npt.NDArray[np.float64]

#: Names of the forecasts that are compared; the first is the model.
MODEL, BOOK, TEN_DAYS, SPOT_RATE, LAST_YEAR, RAIN = (
    "model",
    "the book alone",
    "ten-day rate",
    "ten-day rate of the spot",
    "same spot, same date last year",
    "rain rule",
)
#: Finds of prime flushes under which no taxon is judged on its own.
FEWEST_FINDS = 30


@dataclass(frozen=True, slots=True)
class Score:
    """One way to forecast: nats a visit (0 is perfect), Brier score, calibration, and the catch.

    ``gain`` is the model's advantage over it in nats a visit, by seasons; ``kg_per_hour`` what the spots
    it ranked first gave for the time spent at them.
    """

    name: str
    log_score: float
    brier: float
    intercept: float
    slope: float
    gain: Interval
    kg_per_hour: float


@dataclass(frozen=True, slots=True)
class TaxonScore:
    """One taxon: prime finds, gain of the model over the better plain rate (nats a visit), and the ruling.

    ``ruling`` is "model", "climatology" (the plain rate was better) or "untried" (too few finds).
    """

    taxon_id: str
    finds: int
    gain: Interval
    ruling: str


@dataclass(frozen=True, slots=True)
class Judgement:
    """The backtest of all taxa together."""

    seasons: tuple[int, ...]
    visits: int
    looks: int
    finds: int
    scores: tuple[Score, ...]
    taxa: tuple[TaxonScore, ...]
    bins: tuple[ReliabilityBin, ...]


def judge(
    cases: Sequence[TaxonCase],
    visits: Sequence[Visit],
    *,
    rained: Mapping[tuple[int, int], bool],
    terms: Mapping[str, Sequence[str]] | None = None,
    seed: int = 1,
    progress: Callable[[str], None] = lambda _: None,
) -> Judgement:
    """Forecast every season without knowing it, and compare with plain rules.

    Parameters
    ----------
    cases : one for each taxon
    visits : the household's visits, for time spent and weights
    rained : (season, day number) -> whether 25 mm fell 7 to 21 days before
    terms : taxon id -> weather terms switched on
    seed : for the resampling of seasons
    progress : called with the id of each taxon as it is begun

    Method
    ------
    The event is that a look finds a prime flush. Whole seasons are left out, never single visits. Scores
    are summed over the looks of a visit; intervals resample whole seasons. Plain rules learn their rates
    from the same other seasons.
    """
    forecasts = _forecasts(cases, rained, terms or {}, progress)
    visits_of = _visits_by_season(cases, visits)
    model = [log_scores(p, case.hits) for p, case in zip(forecasts[MODEL], cases, strict=True)]
    catch = Catch(cases, visits)
    scores = []
    for name, parts in forecasts.items():
        own = [log_scores(p, case.hits) for p, case in zip(parts, cases, strict=True)]
        gains = [m - o for m, o in zip(model, own, strict=True)]
        gain = _by_season(cases, gains, visits_of, seed)
        kg_per_hour = catch.kg_per_hour(parts)
        scores.append(
            _score(name, cases, parts, visits=sum(visits_of.values()), gain=gain, kg_per_hour=kg_per_hour)
        )
    true = np.concatenate([case.hits for case in cases])
    return Judgement(
        seasons=tuple(sorted(visits_of)),
        visits=sum(visits_of.values()),
        looks=len(true),
        finds=int(true.sum()),
        scores=tuple(scores),
        taxa=tuple(
            _taxon_score(case, {name: parts[n] for name, parts in forecasts.items()}, visits_of, seed)
            for n, case in enumerate(cases)
        ),
        bins=reliability(np.concatenate(forecasts[MODEL]), true),
    )


def _forecasts(
    cases: Sequence[TaxonCase],
    rained: Mapping[tuple[int, int], bool],
    terms: Mapping[str, Sequence[str]],
    progress: Callable[[str], None],
) -> dict[str, list[FloatArray]]:
    """Chances (looks,) of every way to forecast, one array for each case."""
    forecasts: dict[str, list[FloatArray]] = {
        name: [] for name in (MODEL, BOOK, TEN_DAYS, SPOT_RATE, LAST_YEAR, RAIN)
    }
    for case in cases:
        progress(case.known.taxon.id)
        forecasts[MODEL].append(by_model(case, terms.get(case.known.taxon.id, ())))
        forecasts[BOOK].append(by_book(case))
        forecasts[TEN_DAYS].append(by_baseline(case, TenDayRate()))
        forecasts[SPOT_RATE].append(by_baseline(case, SpotRate(TenDayRate())))
        forecasts[LAST_YEAR].append(by_baseline(case, LastYear()))
        forecasts[RAIN].append(by_baseline(case, RainRule(rained)))
    return forecasts


def _score(
    name: str,
    cases: Sequence[TaxonCase],
    parts: Sequence[FloatArray],
    *,
    visits: int,
    gain: Interval,
    kg_per_hour: float,
) -> Score:
    chance, true = np.concatenate(parts), np.concatenate([case.hits for case in cases])
    intercept, slope = calibration(chance, true)
    return Score(
        name=name,
        log_score=float(log_scores(chance, true).sum() / visits),
        brier=brier(chance, true),
        intercept=intercept,
        slope=slope,
        gain=gain,
        kg_per_hour=kg_per_hour,
    )


def weather_gain(case: TaxonCase, visits: int, terms: Sequence[str], seed: int = 1) -> Interval:
    """Gain in nats a visit of the model with weather terms over the model without, by left-out seasons."""
    with_terms, without = by_model(case, terms), by_model(case)
    gain = log_scores(with_terms, case.hits) - log_scores(without, case.hits)
    sums = np.array([gain[case.looks.season == season].sum() for season in case.seasons])
    share = np.array([(case.looks.season == season).sum() for season in case.seasons], dtype=np.float64)
    return season_bootstrap(sums, share * visits / share.sum(), seed)


def _visits_by_season(cases: Sequence[TaxonCase], visits: Sequence[Visit]) -> dict[int, int]:
    seasons = {season for case in cases for season in case.seasons}
    counts = dict.fromkeys(sorted(seasons), 0)
    for visit in visits:
        if season_of(visit.day) in counts:
            counts[season_of(visit.day)] += 1
    return {season: max(count, 1) for season, count in counts.items()}


def _by_season(
    cases: Sequence[TaxonCase], gains: Sequence[FloatArray], visits_of: Mapping[int, int], seed: int
) -> Interval:
    sums = [
        sum(float(gain[case.looks.season == season].sum()) for case, gain in zip(cases, gains, strict=True))
        for season in visits_of
    ]
    return season_bootstrap(np.array(sums), np.array(list(visits_of.values()), dtype=np.float64), seed)


def _taxon_score(
    case: TaxonCase, chances: Mapping[str, FloatArray], visits_of: Mapping[int, int], seed: int
) -> TaxonScore:
    scores = {name: log_scores(chance, case.hits) for name, chance in chances.items()}
    rival = max((TEN_DAYS, SPOT_RATE), key=lambda name: float(scores[name].sum()))
    gain = _by_season([case], [scores[MODEL] - scores[rival]], visits_of, seed)
    finds = int(case.hits.sum())
    if finds < FEWEST_FINDS or len(case.seasons) < 3:
        ruling = "untried"
    else:
        ruling = "model" if gain.mean > 0.0 else "climatology"
    return TaxonScore(case.known.taxon.id, finds, gain, ruling)
