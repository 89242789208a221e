"""Kilograms and prime finds for each hour walked, by place and taxon."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from underoak.model.visits import Visit


@dataclass(frozen=True, slots=True)
class CatchRate:
    """What one taxon gave at one place, or everything at a place where ``taxon_id`` is None.

    ``low`` and ``high`` bound the prime finds an hour with 95 % confidence; they are None without hours.
    ``hours`` counts every visit to the place whose minutes are known, with or without finds.
    """

    place_id: str
    taxon_id: str | None
    visits: int
    visits_with_finds: int
    hours: float
    prime_finds: int
    kg: float
    kg_per_hour: float | None
    prime_finds_per_hour: float | None
    low: float | None
    high: float | None


def catch_rates(visits: Sequence[Visit]) -> tuple[CatchRate, ...]:
    """Rates by place and taxon, and for each place in all, most kilograms first within a place.

    Parameters
    ----------
    visits : any number of visits, those that found nothing included
        Weight counts finds in any stage that was weighed; only prime finds count as finds.

    Returns
    -------
    one `CatchRate` for each place in all (taxon None) followed by its taxa.

    Method
    ------
    kg/h = sum of fresh weight / sum of hours at the place. Prime finds an hour with the exact Poisson
    interval of `poisson_interval`; it treats finds as independent, so clumped finds make it too narrow.

    Source
    ------
    common practice, no source (catch per unit of effort); interval: see `poisson_interval`.
    """
    rates: list[CatchRate] = []
    for place in sorted({visit.place_id for visit in visits}):
        here = [visit for visit in visits if visit.place_id == place]
        taxa = sorted({find.taxon_id for visit in here for find in visit.finds})
        by_taxon = [_rate(here, place, taxon) for taxon in taxa]
        rates += [_rate(here, place, None), *sorted(by_taxon, key=lambda rate: -rate.kg)]
    return tuple(rates)


def _rate(visits: Sequence[Visit], place_id: str, taxon_id: str | None) -> CatchRate:
    finds = [
        (visit.id, find) for visit in visits for find in visit.finds if taxon_id in (None, find.taxon_id)
    ]
    prime = sum(find.stage == "prime" for _, find in finds)
    timed = {visit.id for visit in visits if visit.minutes is not None}
    timed_prime = sum(find.stage == "prime" and visit in timed for visit, find in finds)
    timed_kg = sum(find.fresh_g or 0.0 for visit, find in finds if visit in timed) / 1000.0
    hours = sum(visit.minutes or 0.0 for visit in visits) / 60.0
    low, high = poisson_interval(timed_prime) if hours else (0.0, 0.0)
    return CatchRate(
        place_id=place_id,
        taxon_id=taxon_id,
        visits=len(visits),
        visits_with_finds=len({visit for visit, _ in finds}),
        hours=hours,
        prime_finds=prime,
        kg=sum(find.fresh_g or 0.0 for _, find in finds) / 1000.0,
        kg_per_hour=timed_kg / hours if hours else None,
        prime_finds_per_hour=timed_prime / hours if hours else None,
        low=low / hours if hours else None,
        high=high / hours if hours else None,
    )


def poisson_interval(count: int, confidence: float = 0.95) -> tuple[float, float]:
    """Exact interval for the mean of a Poisson count.

    Parameters
    ----------
    count : events seen, 0 or more
    confidence : 0 to 1, exclusive

    Returns
    -------
    lower and upper bound of the mean, events; the lower bound of a zero count is 0.

    Raises
    ------
    ValueError   when count is negative or confidence is outside 0 to 1

    Method
    ------
    lower = chi2(a/2; 2 count)/2, upper = chi2(1 - a/2; 2 count + 2)/2 with a = 1 - confidence.

    Source
    ------
    garwood_1936, from memory; published check: tests/published/review.toml

    Example
    -------
    >>> [round(bound, 2) for bound in poisson_interval(10)]
    [4.8, 18.39]
    """
    from scipy.special import gammaincinv

    if count < 0 or not 0.0 < confidence < 1.0:
        raise ValueError("count must be 0 or more and confidence between 0 and 1")
    tail = (1.0 - confidence) / 2.0
    low = float(gammaincinv(count, tail)) if count else 0.0
    return low, float(gammaincinv(count + 1, 1.0 - tail))
