"""The model against plain rules on invented households, and where its assumptions are taken away."""

from __future__ import annotations

import sys
import time
from dataclasses import replace

import numpy as np

from benchmarks.outlook_recovery import PLACE, Kind, case_of, spots
from underoak.model.visits import Visit
from underoak.outlook.backtest import Judgement, judge
from underoak.outlook.simulate import World, habit_of, invented_world

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


def main() -> None:
    """Print gains over the best plain rule, with and without memory in the spots."""
    households = int(sys.argv[1]) if len(sys.argv) > 1 and sys.argv[1].isdigit() else 4
    for seed in range(1, households + 1):
        world, kinds = household(seed, 4)
        started = time.perf_counter()
        plain = gain(trial(world, kinds))
        seconds = time.perf_counter() - started
        shuffled = gain(trial(without_memory(world, seed), kinds))
        print(
            f"outlook: household {seed}: log score better than the best plain rule by {100 * plain:.0f} %, "
            f"with shuffled spots by {100 * shuffled:.0f} % ({seconds:.0f} s for four taxa)"
        )


if __name__ == "__main__":
    main()
