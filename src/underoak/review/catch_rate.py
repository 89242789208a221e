"""Kilograms, prime share and finds for each hour walked, by place, taxon, month and party."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from underoak.model.visits import Find, Visit
from underoak.review.association import holm
from underoak.review.by_season import parts
from underoak.review.intervals import Estimate, difference, poisson_interval, ratio_of, share_of

Group = Literal["place", "taxon", "month", "party"]


@dataclass(frozen=True, slots=True)
class CatchRate:
    """What one taxon, or everything where ``taxon_id`` is None, gave to one group of visits.

    ``group`` says by what visits are grouped and ``key`` which group this is: a place's id, "all", a month
    (YYYY-MM) or a number of people. ``hours`` counts every visit of the group whose minutes are known, with
    or without finds; ``timed_visits`` is their number. ``low`` and ``high`` bound the prime finds an hour
    with 95 % confidence; rates are None without hours, ``prime_share`` without finds.
    """

    group: Group
    key: str
    taxon_id: str | None
    visits: int
    visits_with_finds: int
    timed_visits: int
    hours: float
    finds: int
    prime_finds: int
    prime_share: Estimate | None
    kg: float
    kg_per_hour: Estimate | None
    prime_finds_per_hour: float | None
    low: float | None
    high: float | None


def catch_rates(visits: Sequence[Visit]) -> tuple[CatchRate, ...]:
    """Rates by place and taxon, and for each place in all, most kilograms first within a place.

    Parameters
    ----------
    visits : any number of visits, those that found nothing included
        Weight counts finds in any stage that was weighed.

    Returns
    -------
    one `CatchRate` for each place in all (taxon None) followed by its taxa.

    Method
    ------
    kg/h = sum of fresh weight / sum of hours at the place, interval over visits (`ratio_of`). Prime finds
    an hour with the exact Poisson interval of `poisson_interval`; it treats finds as independent, so
    clumped finds make it too narrow. Prime share: exact binomial.

    Source
    ------
    common practice, no source (catch per unit of effort); intervals: see `intervals`.
    """
    rates: list[CatchRate] = []
    for place, here in _grouped(visits, lambda visit: visit.place_id).items():
        taxa = sorted({find.taxon_id for visit in here for find in visit.finds})
        by_taxon = [_rate(here, "place", place, taxon) for taxon in taxa]
        rates += [_rate(here, "place", place, None), *sorted(by_taxon, key=lambda rate: -rate.kg)]
    return tuple(rates)


def rates_by(visits: Sequence[Visit], group: Group) -> tuple[CatchRate, ...]:
    """Rates of everything by place, month or size of the party, or of each taxon over all visits.

    Visits whose people were not written down make the party "not noted".
    """
    if group == "taxon":
        taxa = sorted({find.taxon_id for visit in visits for find in visit.finds})
        rates = [_rate(visits, "taxon", "all", taxon) for taxon in taxa]
        return tuple(sorted(rates, key=lambda rate: -rate.kg))
    return tuple(_rate(here, group, key, None) for key, here in _grouped(visits, _KEYS[group]).items())


@dataclass(frozen=True, slots=True)
class PlaceContrast:
    """Kilograms an hour that a place gave more than all others together, over so many visits.

    ``adjusted_p`` allows for having looked at every place.
    """

    place_id: str
    more_kg_per_hour: Estimate
    adjusted_p: float


def place_contrasts(visits: Sequence[Visit]) -> tuple[PlaceContrast, ...]:
    """Each place against all others, by Welch's interval and Holm's correction; best first.

    Only visits whose minutes are known count; a place needs two of them, and so do the others.
    """
    timed = [row for part in parts(visits, _timed) for row in part]
    found = []
    for place in sorted({row[0] for row in timed}):
        here = [row for row in timed if row[0] == place]
        others = [row for row in timed if row[0] != place]
        if min(len(here), len(others)) > 1:
            found.append((place, difference(_kg_per_hour(here), _kg_per_hour(others))))
    adjusted = holm([more.p_against(0.0) for _, more in found])
    rows = [PlaceContrast(place, more, p) for (place, more), p in zip(found, adjusted, strict=True)]
    return tuple(sorted(rows, key=lambda row: -row.more_kg_per_hour.value))


def _timed(visits: Sequence[Visit]) -> list[tuple[str, float, float]]:
    """Place, kilograms and hours of every visit whose minutes are known."""
    return [(v.place_id, sum(map(_kg, v.finds)), v.minutes / 60.0) for v in visits if v.minutes]


def _kg_per_hour(timed: Sequence[tuple[str, float, float]]) -> Estimate:
    return ratio_of([kg for _, kg, _ in timed], [hours for _, _, hours in timed])


def _party(visit: Visit) -> str:
    return str(len(visit.people)) if visit.people else "not noted"


_KEYS: Mapping[Group, Callable[[Visit], str]] = {
    "place": lambda visit: visit.place_id,
    "month": lambda visit: f"{visit.day:%Y-%m}",
    "party": _party,
}


def _grouped(visits: Sequence[Visit], key: Callable[[Visit], str]) -> dict[str, list[Visit]]:
    groups: dict[str, list[Visit]] = {}
    for visit in visits:
        groups.setdefault(key(visit), []).append(visit)
    return dict(sorted(groups.items()))


def _rate(visits: Sequence[Visit], group: Group, key: str, taxon_id: str | None) -> CatchRate:
    def of(visit: Visit) -> list[Find]:
        return [find for find in visit.finds if taxon_id in (None, find.taxon_id)]

    finds = [find for visit in visits for find in of(visit)]
    prime = sum(find.stage == "prime" for find in finds)
    timed = [visit for visit in visits if visit.minutes]
    hours = [(visit.minutes or 0.0) / 60.0 for visit in timed]
    total_h = sum(hours)
    timed_prime = sum(find.stage == "prime" for visit in timed for find in of(visit))
    low, high = poisson_interval(timed_prime) if total_h else (0.0, 0.0)
    return CatchRate(
        group=group,
        key=key,
        taxon_id=taxon_id,
        visits=len(visits),
        visits_with_finds=sum(bool(of(visit)) for visit in visits),
        timed_visits=len(timed),
        hours=total_h,
        finds=len(finds),
        prime_finds=prime,
        prime_share=share_of(prime, len(finds)) if finds else None,
        kg=sum(map(_kg, finds)),
        kg_per_hour=ratio_of([sum(map(_kg, of(v))) for v in timed], hours) if total_h else None,
        prime_finds_per_hour=timed_prime / total_h if total_h else None,
        low=low / total_h if total_h else None,
        high=high / total_h if total_h else None,
    )


def _kg(find: Find) -> float:
    return (find.fresh_g or 0.0) / 1000.0
