"""The model against plain rules on invented households, and where its assumptions are taken away."""

from __future__ import annotations

import sys
import time
from dataclasses import replace

import numpy as np

from benchmarks.outlook_recovery import PLACE, Kind, case_of, spots
from underoak.model.visits import Visit
from underoak.outlook.backtest import Judgement, judge, weather_gain
from underoak.outlook.drivers import Climate, SeasonWeather
from underoak.outlook.scores import Interval
from underoak.outlook.season import SEASON_DAYS
from underoak.outlook.simulate import World, habit_of, invented_world
from underoak.outlook.weather_terms import TERMS

SEASONS = range(2015, 2020)


def household(seed: int, taxa: int) -> tuple[World, list[Kind]]:
    """Five seasons, 40 spots in four woods, 15 visits a season."""
    kinds = [Kind(f"kind-{k}", median=250.0 + 10.0 * k) for k in range(taxa)]
    known_spots = spots(4, 10)
    world = invented_world(
        known_spots,
        [habit_of(kind, PLACE) for kind in kinds],
        SEASONS,
        climates=dict.fromkeys({spot.place_id for spot in known_spots}, PLACE),
        seed=seed,
    )
    return world, kinds


def without_memory(world: World, seed: int) -> World:
    """The same visits with the spots of every wood shuffled anew each season."""
    rng = np.random.default_rng(seed)
    known_spots = spots(4, 10)
    changed: list[Visit] = []
    for season in SEASONS:
        swap: dict[str, str] = {}
        for place in {spot.place_id for spot in known_spots}:
            ids = [spot.id for spot in known_spots if spot.place_id == place]
            swap |= dict(zip(ids, rng.permutation(ids).tolist(), strict=True))
        for visit in world.visits:
            if visit.day.year == season:
                searches = tuple(replace(s, spot_id=swap[s.spot_id]) for s in visit.searches)
                finds = tuple(replace(f, spot_id=swap[f.spot_id]) for f in visit.finds)
                changed.append(replace(visit, searches=searches, finds=finds))
    return replace(world, visits=tuple(changed))


def trial(world: World, kinds: list[Kind]) -> Judgement:
    """The judgement of one household."""
    return judge([case_of(world, kind, spots(4, 10)) for kind in kinds], world.visits, rained={})


def gain(judgement: Judgement) -> float:
    """Share by which the model's log score is nearer to 0 than the best plain rule's."""
    model, *rules = judgement.scores
    return 1.0 - model.log_score / max(rule.log_score for rule in rules)


def weather_trial(seed: int, effect: float) -> tuple[Interval, Interval]:
    """Gain of weather terms, nats a visit, in a world they drive, and with its weather shuffled by season.

    One common kind, eight seasons; the first term moves the log of the daily hazard by ``effect`` for each
    of its standard deviations.
    """
    rng = np.random.default_rng(seed)
    seasons = list(range(2012, 2020))
    shocks = rng.normal(0.0, 1.0, (len(seasons), SEASON_DAYS + 30, len(TERMS)))
    smooth = np.cumsum(shocks, axis=1)
    terms = (smooth[:, 30:] - smooth[:, :-30]) / np.sqrt(30.0)

    def climate(order: list[int]) -> Climate:
        usual = PLACE.usual
        weather = {
            season: SeasonWeather(usual.warmth, usual.hard_freeze, usual.frost, 365, terms[k])
            for season, k in zip(seasons, order, strict=True)
        }
        return replace(PLACE, seasons=weather)

    kind, known_spots = Kind(inhabited=0.8), spots(4, 10)
    places = {spot.place_id for spot in known_spots}
    habit = replace(habit_of(kind, PLACE), term_effects=(effect,))
    true = climate(list(range(8)))
    world = invented_world(
        known_spots, [habit], seasons, climates=dict.fromkeys(places, true), seed=seed, visits_per_season=20
    )
    case = case_of(world, kind, known_spots)
    shuffled = climate(np.roll(np.arange(8), 3).tolist())
    gains = [
        weather_gain(replace(case, climates=dict.fromkeys(places, weather)), len(world.visits), TERMS)
        for weather in (true, shuffled)
    ]
    return gains[0], gains[1]


def main() -> None:
    """Print gains over the best plain rule, with and without memory in the spots, and what weather adds."""
    for effect in (0.0, 1.5):
        true, shuffled = weather_trial(1, effect)
        print(
            f"outlook: weather of effect {effect:g} gains {true.mean:+.3f} nats a visit "
            f"({true.low:+.3f} to {true.high:+.3f}), shuffled by season {shuffled.mean:+.3f} "
            f"({shuffled.low:+.3f} to {shuffled.high:+.3f})"
        )
    households = int(sys.argv[1]) if len(sys.argv) > 1 and sys.argv[1].isdigit() else 4
    for seed in range(1, households + 1):
        world, kinds = household(seed, 4)
        started = time.perf_counter()
        better = gain(trial(world, kinds))
        seconds = time.perf_counter() - started
        forgetful = gain(trial(without_memory(world, seed), kinds))
        print(
            f"outlook: household {seed}: log score better than the best plain rule by {100 * better:.0f} %, "
            f"with shuffled spots by {100 * forgetful:.0f} % ({seconds:.0f} s for four taxa)"
        )


if __name__ == "__main__":
    main()
