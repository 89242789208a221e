"""Invented worlds with known truth: do the stated intervals hold it as often as they say?"""

from __future__ import annotations

from datetime import date

import numpy as np

from underoak.model.book import Habitat, Memory, Season, Weight
from underoak.model.ground import Spot
from underoak.outlook.drivers import climate_without_station
from underoak.outlook.fit import fit
from underoak.outlook.knowledge import knowledge_of
from underoak.outlook.leave_out import TaxonCase
from underoak.outlook.parameters import layout
from underoak.outlook.record import taxon_record
from underoak.outlook.reports import report_days
from underoak.outlook.sightings import sightings_of
from underoak.outlook.simulate import Habit, World, habit_of, invented_world, varied
from underoak.outlook.taxon_outlook import spot_columns

PLACE = climate_without_station(latitude_deg=41.5, elevation_m=100.0)


class Kind:
    """An invented taxon."""

    def __init__(self, name: str = "kind", median: float = 270.0, inhabited: float = 0.3) -> None:
        self.id = name
        self.season = Season(
            source="own_judgement", anchor="day_of_year", median=median, sd_days=14.0, prime_days=8.0
        )
        self.memory = Memory(source="own_judgement", inhabited=inhabited, returns=0.6, detection=0.8)
        self.habitat = Habitat(
            source="own_judgement", hosts={"oak": 1.0}, substrate=("soil",), habit=("single",)
        )
        self.weight = Weight(source="own_judgement", median_g=500.0, p90_g=1500.0)


def spots(places: int, each: int) -> list[Spot]:
    """Oaks in several places."""
    return [
        Spot(f"p{p}s{n}", f"p{p}", f"oak {n}", -74.0, 41.5, "oak") for p in range(places) for n in range(each)
    ]


def case_of(world: World, kind: Kind, known_spots: list[Spot]) -> TaxonCase:
    """A world's record of one taxon."""
    columns = spot_columns(known_spots)
    reports = report_days(
        kind.id,
        kind.season,
        world.reports,
        latitude_deg=41.5,
        elevation_m=100.0,
        frost=PLACE.usual.frost,
        until=date(2100, 1, 1),
    )
    looks = sightings_of(world.visits).looks_for(kind.id, columns.position)
    climates = dict.fromkeys(columns.place_ids, PLACE)
    return TaxonCase(knowledge_of(kind), columns, climates, looks, reports)


def drawn_world(
    seed: int, kind: Kind, known_spots: list[Spot], seasons: range
) -> tuple[World, dict[str, float]]:
    """A world whose parameters are drawn from the model's own priors, and those parameters."""
    rng = np.random.default_rng(seed)
    plan = layout(kind.season, places=(), seasons=())
    sds = dict(zip(plan.names, plan.prior_sd.tolist(), strict=True))
    book = habit_of(kind, PLACE)
    habit = varied(book, rng, sds)
    world = invented_world(
        known_spots,
        [habit],
        seasons,
        climates=dict.fromkeys({spot.place_id for spot in known_spots}, PLACE),
        seed=seed,
        reports_per_season=4,
    )
    truth = _departures(book, habit)
    truth |= {name: shift for (_, name), shift in world.shifts.items() if not name.startswith("spot")}
    return world, truth


def _departures(book: Habit, habit: Habit) -> dict[str, float]:
    def logit(chance: float) -> float:
        return float(np.log(chance / (1.0 - chance)))

    return {
        "inhabited": logit(habit.inhabited) - logit(book.inhabited),
        "returns": logit(habit.returns) - logit(book.returns),
        "timing": habit.mean_day - book.mean_day,
        "log_spread": float(np.log(habit.residual_sd / book.residual_sd)),
        "log_prime": float(np.log(habit.prime_days / book.prime_days)),
        "detection": logit(habit.detection) - logit(book.detection),
    }


def coverage(worlds: int, first_seed: int = 100) -> dict[str, float]:
    """Share of worlds whose truth lies in the 90 % interval: all parameters, and the common ones by name."""
    kind, known_spots = Kind(), spots(4, 10)
    held: dict[str, list[bool]] = {}
    for seed in range(first_seed, first_seed + worlds):
        world, truth = drawn_world(seed, kind, known_spots, range(2015, 2020))
        case = case_of(world, kind, known_spots)
        record = taxon_record(
            case.known, spots=case.spots, looks=case.looks, reports=case.reports, climates=case.climates
        )
        learned = fit(kind.id, record)
        for name, value in truth.items():
            if learned.knows(name):
                low, high = learned.interval(name)
                group = name.split(":", maxsplit=1)[0]
                held.setdefault(group, []).append(low <= value <= high)
    shares = {name: float(np.mean(hits)) for name, hits in held.items()}
    shares["all"] = float(np.mean([hit for hits in held.values() for hit in hits]))
    return shares


def main() -> None:
    """Print the coverage of 90 % intervals over 50 worlds."""
    for name, share in coverage(50).items():
        print(f"outlook: 90 % intervals hold {name}: {100 * share:.0f} %")


if __name__ == "__main__":
    main()
