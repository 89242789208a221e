"""Invented seasons: what stood where and when, and what the invented household saw of it.

Each spot either carries a taxon or not; where it does, it fruits in some years, starts around that
year's date, stays prime for some days and then is past. A look shows what stands there with the
chance that its thoroughness allows. Visits that found nothing are written down like any other.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from underoak.world.trees import InventedTree
from underoak.world.valley import Park

PEOPLE = ("Mara", "Jonas", "Ida", "Tom")


@dataclass(frozen=True, slots=True)
class Habit:
    """How an invented taxon behaves: median first day of the year, spread, prime days, weight, hosts."""

    taxon_id: str
    median_day: float
    spread_days: float
    prime_days: float
    median_g: float
    hosts: tuple[str, ...]
    inhabited: float
    returns: float


#: Numbers of the invented valley, near what `book/taxa` holds but not copied from it.
HABITS = (
    Habit("grifola_frondosa", 272, 8, 9, 1900, ("oak", "Quercus"), 0.8, 0.7),
    Habit("laetiporus_sulphureus", 245, 16, 8, 1300, ("oak", "Quercus"), 0.4, 0.5),
    Habit("armillaria_mellea_group", 276, 7, 5, 1200, ("oak", "Quercus", "maple", "Acer"), 0.65, 0.6),
    Habit("pleurotus_ostreatus_group", 288, 14, 6, 600, ("maple", "Acer", "Fagus"), 0.7, 0.6),
    Habit("hericium_group", 274, 10, 8, 500, ("Fagus", "maple", "Acer"), 0.6, 0.5),
    Habit("lycoperdon_perlatum", 268, 12, 6, 300, ("oak", "Quercus", "Pinus", "Tsuga"), 0.45, 0.5),
)


@dataclass(frozen=True, slots=True)
class InventedSpot:
    """A tree the invented household knows by name."""

    park: Park
    name: str
    tree: InventedTree


@dataclass(frozen=True, slots=True)
class Outing:
    """One day out: how long and who."""

    day: date
    minutes: int
    people: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Seen:
    """One line of the invented household's notes: a spot searched, and what stood there if anything."""

    outing: Outing
    spot: InventedSpot
    thoroughness: float
    taxon_id: str | None = None
    stage: str | None = None
    fresh_g: int | None = None


@dataclass(frozen=True, slots=True)
class Flush:
    """The hidden truth of one taxon at one spot in one year."""

    spot: InventedSpot
    habit: Habit
    first: date
    prime_until: date
    gone_after: date
    fresh_g: float


_KINDS = (
    "hollow",
    "leaning",
    "twin",
    "mossy",
    "lightning",
    "broad",
    "crooked",
    "stream-side",
    "wall",
    "hilltop",
)


def known_spots(park: Park, trees: list[InventedTree], count: int) -> list[InventedSpot]:
    """The household's named trees of a park: its biggest ones."""
    biggest = sorted(trees, key=lambda tree: (-tree.diameter_in, tree.number))[:count]
    return [
        InventedSpot(park, f"{_KINDS[number % len(_KINDS)]} {_short(tree.species)} {tree.number}", tree)
        for number, tree in enumerate(biggest)
    ]


def _short(species: str) -> str:
    for mark, short in (
        ("Quercus", "oak"),
        ("oak", "oak"),
        ("Oak", "oak"),
        ("Acer", "maple"),
        ("maple", "maple"),
    ):
        if mark in species:
            return short
    return species.split(",", maxsplit=1)[0].split(" ", maxsplit=1)[0].lower()


def flushes(spots: list[InventedSpot], years: range, seed: int) -> list[Flush]:
    """Everything that fruits at the spots in those years."""
    rng = np.random.default_rng([seed, 11])
    lateness = {year: rng.normal(0.0, 5.0) for year in years}
    found = []
    for spot in spots:
        for habit in HABITS:
            fits = any(host in spot.tree.species for host in habit.hosts)
            inhabited = rng.random() < habit.inhabited
            for year in years:
                fruits, shift = rng.random() < habit.returns, rng.normal(0.0, habit.spread_days)
                grams = float(rng.lognormal(math.log(habit.median_g), 0.6))
                stays = 0.7 + 0.6 * rng.random()
                if fits and inhabited and fruits:
                    start = habit.median_day + lateness[year] + spot.park.days_late + shift
                    first = date(year, 1, 1) + timedelta(days=round(start) - 1)
                    prime_until = first + timedelta(days=round(habit.prime_days * stays) + 2)
                    gone = prime_until + timedelta(days=10)
                    found.append(Flush(spot, habit, first, prime_until, gone, grams))
    return found


def notes(spots: list[InventedSpot], truth: list[Flush], years: range, until: date, seed: int) -> list[Seen]:
    """The household's lines over all autumn weekends up to and including ``until``."""
    rng = np.random.default_rng([seed, 13])
    lines: list[Seen] = []
    picked: set[tuple[str, str, int]] = set()
    for year in years:
        for day in _outings(year, until, rng):
            park = spots[int(rng.integers(len(spots)))].park
            here = [spot for spot in spots if spot.park is park]
            chosen = sorted(
                rng.choice(len(here), size=min(len(here), int(rng.integers(5, 10))), replace=False)
            )
            outing = Outing(day, int(rng.integers(90, 260)), PEOPLE[: int(rng.integers(2, 5))])
            for index in chosen:
                lines += _look(here[int(index)], outing, truth, picked, rng)
    return lines


def _outings(year: int, until: date, rng: np.random.Generator) -> list[date]:
    """Saturdays and Sundays from late August to late November, about two in three of them walked."""
    day = date(year, 8, 20)
    days = []
    while day <= min(date(year, 11, 25), until):
        if day.weekday() >= 5 and rng.random() < 0.62:
            days.append(day)
        day += timedelta(days=1)
    return days


def _look(
    spot: InventedSpot,
    outing: Outing,
    truth: list[Flush],
    picked: set[tuple[str, str, int]],
    rng: np.random.Generator,
) -> list[Seen]:
    thoroughness, day = float(rng.choice([0.3, 0.6, 0.9])), outing.day
    seen = []
    for flush in truth:
        if flush.spot is not spot or not flush.first - timedelta(days=3) <= day <= flush.gone_after:
            continue
        key = (spot.name, flush.habit.taxon_id, day.year)
        if key in picked or rng.random() > thoroughness:
            continue
        stage = "young" if day < flush.first else "prime" if day <= flush.prime_until else "past"
        share = {"young": 0.15, "prime": 1.0, "past": 0.8}[stage]
        if stage == "prime":
            picked.add(key)
        grams = max(20, round(flush.fresh_g * share / 10) * 10)
        seen.append(Seen(outing, spot, thoroughness, flush.habit.taxon_id, stage, grams))
    return seen or [Seen(outing, spot, thoroughness)]
