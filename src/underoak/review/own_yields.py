"""Fresh to jar: what the household's own batches gave, beside the book's range and feeding back into it."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

#: Batches of one's own that the book's range counts as; own judgement.
BOOK_BATCHES = 3.0


@dataclass(frozen=True, slots=True)
class WeighedBatch:
    """A batch of one taxon: fresh grams that went in and grams of product that were weighed."""

    batch_id: str
    taxon_id: str
    method_id: str
    fresh_g: float
    product_g: float


@dataclass(frozen=True, slots=True)
class OwnYield:
    """Grams of product from one kilogram of fresh mushrooms, lowest and highest.

    ``own`` spans the household's batches, ``book`` is the book's value as it stands, ``joined`` the range
    that both give together.
    """

    taxon_id: str
    method_id: str
    batches: int
    own: tuple[float, float]
    book: tuple[float, float] | None
    joined: tuple[float, float]


def own_yields(
    batches: Iterable[WeighedBatch], book: Mapping[tuple[str, str], tuple[float, float]]
) -> tuple[OwnYield, ...]:
    """Yields by taxon and method.

    Parameters
    ----------
    batches : weighed batches of a single taxon; what was only planned has no place here
    book : (taxon id, method id) -> grams of product from one kilogram fresh, lowest and highest

    Raises
    ------
    ValueError   for a batch without weight
    """
    found: dict[tuple[str, str], list[float]] = defaultdict(list)
    for batch in batches:
        if batch.fresh_g <= 0.0 or batch.product_g <= 0.0:
            raise ValueError(f"batch {batch.batch_id} weighs nothing")
        found[batch.taxon_id, batch.method_id].append(1000.0 * batch.product_g / batch.fresh_g)
    return tuple(
        OwnYield(*key, len(own), (min(own), max(own)), book.get(key), joined_range(book.get(key), own))
        for key, own in sorted(found.items())
    )


def joined_range(book: tuple[float, float] | None, own: list[float]) -> tuple[float, float]:
    """The book's range moved and narrowed or widened by one's own figures.

    Parameters
    ----------
    book : lowest and highest, more than 0, or None where the book has no value
    own : figures more than 0 in the same unit; without the book at least one

    Method
    ------
    On logarithms: the book's range is its mean m0 +- 2 deviations s0 and counts as 3 batches. With n own
    figures of mean m: mean (3 m0 + n m) / (3 + n); variance (3 s0^2 + sum (x - m)^2
    + 3 n / (3 + n) (m - m0)^2) / (3 + n); range = mean +- 2 deviations. Without own figures it is the
    book's range; without the book it is that of the figures.

    Source
    ------
    Normal-inverse-gamma conjugacy: standard result. The weight of 3 is own judgement.
    """
    if book is None:
        return min(own), max(own)
    low, high = math.log(book[0]), math.log(book[1])
    m0, s0 = (low + high) / 2.0, (high - low) / 4.0
    logs = [math.log(x) for x in own]
    n = len(logs)
    m = sum(logs) / n if n else m0
    weight = BOOK_BATCHES + n
    mean = (BOOK_BATCHES * m0 + n * m) / weight
    spread = (
        BOOK_BATCHES * s0**2 + sum((x - m) ** 2 for x in logs) + BOOK_BATCHES * n / weight * (m - m0) ** 2
    )
    wide = 2.0 * math.sqrt(spread / weight)
    return math.exp(mean - wide), math.exp(mean + wide)
