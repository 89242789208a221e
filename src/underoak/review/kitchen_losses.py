"""What became of everything that was picked, and why some of it was lost."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from underoak.model.kitchen import Batch, Jar

PUT_UP, NOT_PUT_UP, REFUSED, OPEN, NOT_VETTED, THROWN, ADVICE = (
    "put up",
    "let through by vetting, in no batch on record",
    "refused by vetting",
    "left open by vetting",
    "never vetted",
    "put up, then thrown away",
    "put up against the advice",
)
#: A find may weigh a little more in its batches than when it was picked.
_SLACK_G = 1.0


@dataclass(frozen=True, slots=True)
class PickedFind:
    """One find that was weighed: its day, its last verdict's state (None: never vetted) and its lots."""

    find_id: str
    taxon_id: str
    picked_on: date
    fresh_g: float
    state: str | None
    lot_ids: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Fate:
    """What became of so many fresh kilograms from so many finds or jars.

    ``why`` is the reason as far as somebody noted one; ``records`` counts finds, for jars jars.
    """

    fate: str
    why: str
    kg: float
    share: float
    records: int


def fates(finds: Sequence[PickedFind], batches: Mapping[str, Batch], jars: Iterable[Jar]) -> tuple[Fate, ...]:
    """Fresh kilograms by fate, most first.

    Parameters
    ----------
    finds : weighed finds of the seasons looked at
    batches : all batches by id
    jars : all jars of the batches of which any jar was thrown away; others may be among them

    Returns
    -------
    fates whose kilograms sum to those of the finds, but for finds that weighed more in the kitchen.

    Method
    ------
    Grams of a find's lots that batches took are put up; what is left has the fate its verdict gives it. A
    thrown jar takes its share (net grams) of its batch's fresh grams.
    """
    thrown = _thrown_shares(batches, jars)
    taken = _taken(batches)
    kg: dict[tuple[str, str], float] = defaultdict(float)
    records: dict[tuple[str, str], int] = defaultdict(int)
    for find in finds:
        put_up = 0.0
        for lot_id in find.lot_ids:
            for batch_id, grams in taken.get(lot_id, ()):
                put_up += grams
                _spread(kg, records, grams, batches[batch_id], thrown.get(batch_id, ()))
        left = find.fresh_g - put_up
        if left > _SLACK_G:
            key = (_left_fate(find.state), "")
            kg[key] += left / 1000.0
            records[key] += 1
    total = sum(kg.values())
    rows = [Fate(fate, why, x, x / total, records[fate, why]) for (fate, why), x in kg.items() if x > 0.0]
    return tuple(sorted(rows, key=lambda row: (-row.kg, row.fate, row.why)))


def _left_fate(state: str | None) -> str:
    known = {"refused": REFUSED, "open": OPEN, None: NOT_VETTED}
    return known.get(state, NOT_PUT_UP)


def _taken(batches: Mapping[str, Batch]) -> dict[str, list[tuple[str, float]]]:
    taken: dict[str, list[tuple[str, float]]] = defaultdict(list)
    for batch in batches.values():
        for lot_id, grams in batch.lots:
            taken[lot_id].append((batch.id, grams))
    return taken


def _thrown_shares(
    batches: Mapping[str, Batch], jars: Iterable[Jar]
) -> dict[str, tuple[tuple[str, float, int], ...]]:
    """Batch id -> (why, share of the batch, jars) for its thrown jars."""
    net: dict[str, float] = defaultdict(float)
    lost: dict[str, dict[str, list[float]]] = defaultdict(lambda: defaultdict(list))
    for jar in jars:
        net[jar.batch_id] += jar.net_g
        if jar.state == "thrown":
            lost[jar.batch_id][jar.state_note.strip() or "no reason noted"].append(jar.net_g)
    return {
        batch_id: tuple((why, sum(grams) / net[batch_id], len(grams)) for why, grams in by_why.items())
        for batch_id, by_why in lost.items()
        if batch_id in batches
    }


def _spread(
    kg: dict[tuple[str, str], float],
    records: dict[tuple[str, str], int],
    grams: float,
    batch: Batch,
    thrown: Iterable[tuple[str, float, int]],
) -> None:
    """Part the grams a batch took among what is still there and what was thrown."""
    kept = 1.0
    for why, share, jars in thrown:
        kg[THROWN, why] += grams * share / 1000.0
        records[THROWN, why] += jars if grams == max(g for _, g in batch.lots) else 0
        kept -= share
    key = (ADVICE, "; ".join(batch.against_advice)) if batch.against_advice else (PUT_UP, "")
    kg[key] += grams * max(kept, 0.0) / 1000.0
    records[key] += 1
