"""Stored answers, verdicts and batches as the records that the review compares."""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Mapping
from datetime import date

from underoak.desk.all_chances import kept_chances
from underoak.desk.last_verdicts import LastVerdict
from underoak.ledger.answers import GivenAnswer
from underoak.ledger.shelf import BatchNet
from underoak.model.kitchen import Batch
from underoak.model.method import Method
from underoak.model.visits import Visit
from underoak.review.calibration import SpotForecast
from underoak.review.expectation import Promise
from underoak.review.kitchen_losses import PickedFind
from underoak.review.own_yields import WeighedBatch


def walk_promises(answers: Iterable[GivenAnswer], place_ids: Mapping[str, str]) -> list[Promise]:
    """What each planned walk expected; walks to look promise nothing. ``place_ids`` maps names to ids."""
    return [
        Promise(a.made_on, a.for_day, place_ids.get(a.document["place"], ""), float(a.document["kg"]))
        for a in answers
        if a.document["gathering"]
    ]


def week_promises(answers: Iterable[GivenAnswer]) -> Iterator[Promise]:
    """What each outlook expected of all known spots of a place together, day by day."""
    for answer in answers:
        totals: dict[tuple[str, str], float] = {}
        for row in answer.document["woods"]:
            for day, kg in zip(answer.document["days"], row["expected_kg"], strict=True):
                key = (row["place_id"], day)
                totals[key] = totals.get(key, 0.0) + kg
        for (place_id, day), kg in totals.items():
            yield Promise(answer.made_on, date.fromisoformat(day), place_id, kg)


def looked_at(visits: Iterable[Visit]) -> set[tuple[str, date]]:
    """Spots and days on which somebody looked: no other chance can be judged."""
    visits = list(visits)
    searched = {(search.spot_id, visit.day) for visit in visits for search in visit.searches}
    return searched | {(find.spot_id, visit.day) for visit in visits for find in visit.finds}


def spot_forecasts(
    answers: Iterable[GivenAnswer], looked: Container[tuple[str, date]] | None = None
) -> Iterator[SpotForecast]:
    """Every chance of each outlook at the spots and days of ``looked``, or at all.

    Answers from before all chances were kept give those that they named spot by spot.
    """
    for answer in answers:
        if "chances" in answer.document:
            for day, spot_id, taxon_id, prime, found in kept_chances(answer.document, looked):
                yield SpotForecast(answer.made_on, day, spot_id, taxon_id, prime, found)
            continue
        for chance in (row["chance"] for row in answer.document["spots"]):
            yield SpotForecast(
                answer.made_on,
                date.fromisoformat(chance["day"]),
                chance["spot_id"],
                chance["taxon_id"],
                chance["prime"],
                chance["found"],
            )


def picked_finds(
    visits: Iterable[Visit], verdicts: Mapping[str, LastVerdict], lots: Mapping[str, str]
) -> list[PickedFind]:
    """Weighed finds with their verdicts and lots; ``lots`` maps lot id to find id.

    What was past when it was found is taken for left where it stood, unless it was vetted or became a lot.
    """
    by_find: dict[str, list[str]] = {}
    for lot_id, find_id in lots.items():
        by_find.setdefault(find_id, []).append(lot_id)
    return [
        PickedFind(
            find_id=find.id,
            taxon_id=find.taxon_id,
            picked_on=visit.day,
            fresh_g=find.fresh_g,
            state=verdicts[find.id].state if find.id in verdicts else None,
            lot_ids=tuple(by_find.get(find.id, ())),
        )
        for visit in visits
        for find in visit.finds
        if find.fresh_g and (find.stage != "past" or find.id in verdicts or find.id in by_find)
    ]


def weighed_batches(
    batches: Iterable[Batch],
    net: Mapping[str, BatchNet],
    *,
    taxa: Mapping[str, str],
    methods: Mapping[str, Method],
) -> tuple[list[WeighedBatch], int]:
    """Batches whose product was weighed, and how many were only booked as planned.

    ``net`` is what their jars hold by batch id, ``taxa`` maps the ids of found lots to taxon ids; bought
    ones teach nothing of what is gathered. What was taken over from a plan would only repeat the book.
    """
    weighed, booked = [], 0
    for batch in batches:
        kinds = {taxa.get(lot_id, "") for lot_id, _ in batch.lots}
        method = methods.get(batch.method_id)
        if batch.id not in net or len(kinds) != 1 or "" in kinds or method is None or method.yields is None:
            continue
        if not batch.weighed:
            booked += 1
            continue
        fresh = sum(g for _, g in batch.lots)
        weighed.append(WeighedBatch(batch.id, kinds.pop(), batch.method_id, fresh, net[batch.id].filled_g))
    return weighed, booked
