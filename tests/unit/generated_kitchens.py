"""Invented kitchens and hauls by seed, for tests and the benchmark."""

from __future__ import annotations

import random
from dataclasses import dataclass
from datetime import datetime, timedelta

from underoak.book.load import load_book
from underoak.book.methods import load_methods
from underoak.kitchen.problem import KitchenProblem, kitchen_problem
from underoak.kitchen.wishes import Hours, Wishes
from underoak.model.book import KitchenUse, Taxon
from underoak.model.household import Kitchen
from underoak.model.kitchen import Keeping, Lot

EVENING = datetime(2026, 10, 17, 17, 0)  # noqa: DTZ001 - a kitchen clock shows local time
WILD = ("freeze_steamed", "freeze_sauteed", "freeze_dry_sauteed", "dry", "dry_powder")
OTHER = ("pickle_refrigerator", "salt", "refrigerate", "cook_tonight")


@dataclass(frozen=True)
class Case:
    """One kitchen on one evening with its haul."""

    lots: tuple[Lot, ...]
    taxa: dict[str, Taxon]
    kitchen: Kitchen
    hours: tuple[Hours, ...]
    wishes: Wishes
    now: datetime = EVENING

    def problem(self) -> KitchenProblem:
        return kitchen_problem(
            self.lots,
            taxa=self.taxa,
            methods=load_methods(),
            kitchen=self.kitchen,
            hours=self.hours,
            now=self.now,
            wishes=self.wishes,
        )


def kind(
    taxon_id: str,
    methods: tuple[str, ...] = WILD + OTHER,
    *,
    keeps_days_cold: float = 2.0,
    parboil: bool = False,
    refused: dict[str, str] | None = None,
) -> Taxon:
    """An invented kind that the kitchen may handle, made from a real entry of the book."""
    model = load_book().taxa["grifola_frondosa"]
    use = KitchenUse(
        methods=methods,
        refused=refused or {},
        parboil=parboil,
        keeps_days_cold=keeps_days_cold,
        source="own_judgement",
    )
    return model.model_copy(update={"id": taxon_id, "gathered": True, "never_gather": False, "kitchen": use})


def hours_of(people: list[tuple[str, float, float]]) -> tuple[Hours, ...]:
    """(name, from, to) in hours after five in the afternoon, on both days where beyond 24."""
    return tuple(Hours(n, EVENING + timedelta(hours=a), EVENING + timedelta(hours=b)) for n, a, b in people)


def generated(
    seed: int, *, lots: tuple[int, int] = (3, 8), total_kg: tuple[float, float] = (5.0, 15.0)
) -> Case:
    """A kitchen with a haul of 5 to 15 kg of mixed kinds and ages, and what it has to put it up with."""
    chance = random.Random(seed)  # noqa: S311 - invented kitchens, no secrets
    count = chance.randint(*lots)
    taxa = {}
    for number in range(count):
        some = tuple(m for m in WILD if chance.random() < 0.7) + tuple(
            m for m in OTHER if chance.random() < 0.6
        )
        taxon = kind(
            f"kind_{number}",
            some or ("freeze_steamed",),
            keeps_days_cold=chance.choice([0.5, 1.0, 2.0, 3.0]),
            parboil=chance.random() < 0.3,
        )
        taxa[taxon.id] = taxon
    weights = [chance.uniform(0.3, 1.0) for _ in range(count)]
    kilograms = chance.uniform(*total_kg)
    haul = tuple(
        Lot(
            id=f"L{number}",
            taxon_id=f"kind_{number}",
            state=chance.choice(["consistent", "confirmed", "confirmed", "open"]),
            fresh_g=round(kilograms * weight / sum(weights) * 1000.0),
            picked_at=EVENING - timedelta(hours=chance.uniform(1, 8)),
            kept=(Keeping(1.0, chance.choice([5.0, 12.0, 20.0])),),
            dirt=chance.choice(["clean", "some", "dirty"]),
        )
        for number, weight in enumerate(weights)
    )
    kitchen = Kitchen(
        burners=chance.randint(1, 4),
        pots=chance.randint(1, 4),
        pans=chance.randint(1, 3),
        dryer_trays=chance.choice([0, 4, 6, 9, 12]),
        freezer_free_l=chance.choice([0.0, 10.0, 40.0, 100.0]),
        freezer_load_kg_day=chance.choice([1.0, 3.0, 5.0]),
        fridge_free_l=chance.choice([5.0, 15.0, 30.0]),
        half_pint_jars=chance.randint(0, 24),
        pint_jars=chance.randint(0, 12),
        freezer_bags=chance.randint(0, 40),
    )
    people = [("Ann", 0.0, chance.choice([3.0, 4.5, 5.5])), ("Ann", 16.0, 19.0)]
    if chance.random() < 0.7:
        people += [("Ben", chance.choice([0.0, 1.0]), 5.0), ("Ben", 16.0, 18.0)]
    known = frozenset(t for t in taxa if chance.random() < 0.5)
    liking = {m: chance.choice([0.7, 1.0, 1.3]) for m in (*WILD, *OTHER)}
    wishes = Wishes(
        liking=liking, known=known, eaters=chance.randint(1, 5), enough_kg=chance.choice([1.0, 2.5])
    )
    return Case(haul, taxa, kitchen, hours_of(people), wishes)
