"""Invented worlds whose truth is known: what stood where and when, and what a household saw of it.

A tool for judging the model (are its parameters recovered, do its intervals hold) and for anybody who
wants an invented season: ``invented_world(spots, [habit_of(taxon, climate)], seasons, climates=..., seed=1)``
hands back visits and reports as the ledger would, with the truth beside them. The worlds follow the
model's own story (waiting, young, prime, past) but draw it day by day, without any of its code for
filtering; the same seed gives the same world.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import exp, log
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from underoak.model.visits import Find, FlushStage, Report, Search, Visit
from underoak.outlook.flush_model import ageing_chance, waiting_left
from underoak.outlook.looks import SHOWS, STAGE_WRITTEN, THOROUGH
from underoak.outlook.season import SEASON_DAYS, day_of_season
from underoak.outlook.season_prior import PLACE_SHARE, SEASON_SHARE, SPOT_SHARE, onset_prior

if TYPE_CHECKING:
    from underoak.model.ground import Spot
    from underoak.outlook.drivers import Climate
    from underoak.outlook.taxon_outlook import Forecastable

FloatArray = npt.NDArray[np.float64]

_STAGES: tuple[FlushStage, ...] = ("young", "prime", "past")
#: Season days between which an invented household goes out: 10 August to 25 November.
OUT_FROM, OUT_TO = 162, 269
_LOOKS = np.array([0.3, 0.6, 0.9])


@dataclass(frozen=True, slots=True)
class Habit:
    """How a taxon truly behaves in an invented world.

    ``record_sd`` is the spread from which season, place and spot take their shares; ``mean_day`` is the
    mean onset as a season day number; ``term_effects`` act on the log of the daily hazard, one for each of
    the first weather terms.
    """

    taxon_id: str
    inhabited: float
    returns: float
    mean_day: float
    residual_sd: float
    record_sd: float
    young_days: float
    prime_days: float
    detection: float
    median_g: float = 500.0
    log_weight_sd: float = 0.8
    term_effects: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Flush:
    """One flush that truly stood: first days (season day numbers) of young, of prime and of past."""

    spot_id: str
    taxon_id: str
    season: int
    young: int
    prime: int
    past: int


@dataclass(frozen=True, slots=True)
class World:
    """What a household wrote down, and the truth it never sees.

    ``shifts`` maps (taxon id, "place:x" | "season:2024" | "spot:x") to the true shift in days.
    """

    visits: tuple[Visit, ...]
    reports: tuple[Report, ...]
    flushes: tuple[Flush, ...]
    shifts: Mapping[tuple[str, str], float]
    inhabited: frozenset[tuple[str, str]]


def habit_of(taxon: Forecastable, climate: Climate, *, season: int = 2020) -> Habit:
    """The habit that the book expects of a taxon at a place."""
    if taxon.season is None or taxon.memory is None:
        raise ValueError(f"{taxon.id} has no season or memory in the book")
    onset = onset_prior(
        taxon.season,
        latitude_deg=climate.latitude_deg,
        elevation_m=climate.elevation_m,
        frost=climate.of(season).frost,
    )
    weight = taxon.weight
    return Habit(
        taxon_id=taxon.id,
        inhabited=taxon.memory.inhabited,
        returns=taxon.memory.returns,
        mean_day=onset.mean_day,
        residual_sd=onset.residual_sd,
        record_sd=taxon.season.sd_days,
        young_days=onset.young_days,
        prime_days=onset.prime_days,
        detection=taxon.memory.detection,
        median_g=weight.median_g if weight else 500.0,
        log_weight_sd=log(weight.p90_g / weight.median_g) / 1.2815515655446004 if weight else 0.8,
    )


def varied(habit: Habit, rng: np.random.Generator, sds: Mapping[str, float]) -> Habit:
    """A habit drawn around another, by the names and standard deviations of `parameters.layout`."""
    draw = {name: float(rng.normal(0.0, sd)) for name, sd in sds.items()}
    prime = exp(draw.get("log_prime", 0.0))
    return replace(
        habit,
        inhabited=_moved(habit.inhabited, draw.get("inhabited", 0.0)),
        returns=_moved(habit.returns, draw.get("returns", 0.0)),
        mean_day=habit.mean_day + draw.get("timing", 0.0),
        residual_sd=habit.residual_sd * exp(draw.get("log_spread", 0.0)),
        young_days=max(habit.young_days * prime, 1.0),
        prime_days=max(habit.prime_days * prime, 1.0),
        detection=_moved(habit.detection, draw.get("detection", 0.0)),
    )


def invented_world(
    spots: Sequence[Spot],
    habits: Sequence[Habit],
    seasons: Sequence[int],
    *,
    climates: Mapping[str, Climate],
    seed: int,
    visits_per_season: int = 15,
    reports_per_season: int = 0,
    returns_spread: float = 4.0,
) -> World:
    """Draw a world.

    Parameters
    ----------
    spots : the spots of the household; each visit goes to one place and looks at all spots there
    habits : how each taxon behaves; every spot may carry it with chance ``inhabited``
    seasons : years
    climates : place id -> Climate, for freezing, warmth and weather terms
    seed : any integer
    visits_per_season : outings between 10 August and 25 November
    reports_per_season : dated reports of each taxon from the region, on the season's timing alone
    returns_spread : pseudo-seasons of the beta from which each spot's chance of return is drawn
    """
    rng = np.random.default_rng(seed)
    truth = _Truth({}, set(), [])
    for habit in habits:
        _grow(truth, habit, spots, seasons, climates, rng, returns_spread)
    visits = _outings(truth, spots, habits, seasons, visits_per_season, rng)
    reports = [
        report
        for habit in habits
        for season in seasons
        for report in _reported(truth, habit, season, reports_per_season, rng)
    ]
    return World(
        tuple(visits), tuple(reports), tuple(truth.flushes), truth.shifts, frozenset(truth.inhabited)
    )


@dataclass(slots=True)
class _Truth:
    shifts: dict[tuple[str, str], float]
    inhabited: set[tuple[str, str]]
    flushes: list[Flush]


def _grow(
    truth: _Truth,
    habit: Habit,
    spots: Sequence[Spot],
    seasons: Sequence[int],
    climates: Mapping[str, Climate],
    rng: np.random.Generator,
    returns_spread: float,
) -> None:
    """Where one taxon lives, when it fruits, and every flush of it."""
    shift = truth.shifts
    for place in dict.fromkeys(spot.place_id for spot in spots):
        shift[habit.taxon_id, f"place:{place}"] = rng.normal(0.0, PLACE_SHARE * habit.record_sd)
    for season in seasons:
        shift[habit.taxon_id, f"season:{season}"] = rng.normal(0.0, SEASON_SHARE * habit.record_sd)
    a = habit.returns * returns_spread
    for spot in spots:
        shift[habit.taxon_id, f"spot:{spot.id}"] = rng.normal(0.0, SPOT_SHARE * habit.record_sd)
        returns = rng.beta(a, returns_spread - a)
        if rng.random() >= habit.inhabited:
            continue
        truth.inhabited.add((spot.id, habit.taxon_id))
        for season in seasons:
            if rng.random() < returns:
                mean = habit.mean_day + sum(
                    shift[habit.taxon_id, key]
                    for key in (f"place:{spot.place_id}", f"season:{season}", f"spot:{spot.id}")
                )
                flush = _flush(spot.id, habit, season, mean, climates[spot.place_id], rng)
                if flush is not None:
                    truth.flushes.append(flush)


def _flush(
    spot_id: str, habit: Habit, season: int, mean: float, climate: Climate, rng: np.random.Generator
) -> Flush | None:
    """One flush, or None when its season ends before it begins."""
    weather = climate.of(season)
    left = waiting_left(np.array([mean]), np.array([habit.residual_sd]), SEASON_DAYS, 0)[:, 0]
    integrated = -np.log(left[1:] / left[:-1])
    effects = np.array(habit.term_effects)
    integrated = integrated * np.exp(weather.terms[:, : len(effects)] @ effects)
    young = int(np.searchsorted(np.cumsum(integrated), rng.exponential()))
    if young >= SEASON_DAYS:
        return None
    prime = young + int(rng.geometric(1.0 / habit.young_days))
    ageing = ageing_chance(
        np.array([habit.prime_days]), weather.warmth[:, None], weather.hard_freeze[:, None]
    )[:, 0]
    ends = np.flatnonzero(rng.random(SEASON_DAYS) < ageing)
    past = int(next((day for day in ends if day > prime), SEASON_DAYS))
    return Flush(spot_id, habit.taxon_id, season, young, prime, past)


def _outings(
    truth: _Truth,
    spots: Sequence[Spot],
    habits: Sequence[Habit],
    seasons: Sequence[int],
    count: int,
    rng: np.random.Generator,
) -> list[Visit]:
    standing = {(f.spot_id, f.taxon_id, f.season): f for f in truth.flushes}
    places = list(dict.fromkeys(spot.place_id for spot in spots))
    visits = []
    for season in seasons:
        days = np.sort(rng.integers(OUT_FROM, OUT_TO, count))
        for number, day in enumerate(days):
            place = places[int(rng.integers(len(places)))]
            name = f"{season}-{number:02d}"
            searches, finds = [], []
            for spot in spots:
                if spot.place_id != place:
                    continue
                search = Search(spot.id, float(rng.choice(_LOOKS)))
                searches.append(search)
                for habit in habits:
                    flush = standing.get((spot.id, habit.taxon_id, season))
                    stage = _seen(flush, habit, int(day), search.thoroughness, rng)
                    if stage is not None:
                        grams = habit.median_g * exp(rng.normal(0.0, habit.log_weight_sd))
                        finds.append(
                            Find(
                                f"{name}-{spot.id}-{habit.taxon_id}",
                                spot.id,
                                habit.taxon_id,
                                stage,
                                None,
                                grams,
                            )
                        )
            visits.append(
                Visit(
                    name,
                    day_of_season(season, int(day)),
                    place,
                    minutes=20.0 + 10.0 * len(searches),
                    searches=tuple(searches),
                    finds=tuple(finds),
                )
            )
    return visits


def _seen(
    flush: Flush | None, habit: Habit, day: int, thoroughness: float, rng: np.random.Generator
) -> FlushStage | None:
    """The stage that one look writes down, None for nothing."""
    state = 0 if flush is None else int(day >= flush.young) + int(day >= flush.prime) + int(day >= flush.past)
    shown = 1.0 - (1.0 - habit.detection * SHOWS[state]) ** (thoroughness / THOROUGH)
    if rng.random() >= shown:
        return None
    return _STAGES[int(rng.choice(3, p=STAGE_WRITTEN[state]))]


def _reported(truth: _Truth, habit: Habit, season: int, count: int, rng: np.random.Generator) -> list[Report]:
    middle = habit.mean_day + habit.young_days + 0.5 * habit.prime_days
    middle += truth.shifts[habit.taxon_id, f"season:{season}"]
    days = rng.normal(middle, habit.record_sd, count)
    return [
        Report(
            f"r-{habit.taxon_id}-{season}-{n}",
            day_of_season(season, day),
            habit.taxon_id,
            habit.taxon_id,
            None,
            None,
        )
        for n, day in enumerate(days)
    ]


def _moved(chance: float, offset: float) -> float:
    """Chance whose logit is moved by ``offset``."""
    odds = chance / (1.0 - chance) * exp(offset)
    return odds / (1.0 + odds)
