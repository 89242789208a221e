"""Expected kilograms against what the day brought."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from underoak.model.visits import Visit
from underoak.review.intervals import Estimate, ratio_of


@dataclass(frozen=True, slots=True)
class Promise:
    """Kilograms that an answer expected of one place on one day; ``made_on`` is when it was given."""

    made_on: date
    day: date
    place_id: str
    kg: float


@dataclass(frozen=True, slots=True)
class KeptPromise:
    """A promise and what the visits of that place and day brought, kg of all finds in prime."""

    promise: Promise
    brought_kg: float


@dataclass(frozen=True, slots=True)
class Expectation:
    """All promises that a visit can be set against.

    ``brought_share`` is brought over expected kilograms with its interval over days, None without a
    promise of more than nothing. ``unvisited`` promises had no visit and say nothing.
    """

    kept: tuple[KeptPromise, ...]
    brought_share: Estimate | None
    unvisited: int


def expectation(promises: Iterable[Promise], visits: Sequence[Visit]) -> Expectation:
    """Set each promise against the visits of its place and day.

    Parameters
    ----------
    promises : in the order in which they were given
        Of several for one place and day the last one made before that day counts, else the first of that
        day: a later one may already know what was found.
    visits : all visits

    Method
    ------
    Ratio of sums with the interval of `ratio_of`. Only finds in prime count, for the plan expects no others.
    """
    chosen: dict[tuple[str, date], Promise] = {}
    for promise in promises:
        key = (promise.place_id, promise.day)
        if key not in chosen or chosen[key].made_on < promise.made_on < promise.day:
            chosen[key] = promise
    brought: dict[tuple[str, date], float] = defaultdict(float)
    for visit in visits:
        if (visit.place_id, visit.day) in chosen:
            prime_g = sum(find.fresh_g or 0.0 for find in visit.finds if find.stage == "prime")
            brought[visit.place_id, visit.day] += prime_g / 1000.0
    kept = tuple(
        KeptPromise(promise, brought[key])
        for key, promise in sorted(chosen.items(), key=lambda item: (item[1].day, item[0]))
        if key in brought
    )
    promised = [k.promise.kg for k in kept]
    share = ratio_of([k.brought_kg for k in kept], promised) if sum(promised) > 0.0 else None
    return Expectation(kept, share, len(chosen) - len(kept))
