"""Every chance of an outlook, small enough to be kept with each answer."""

from __future__ import annotations

from collections.abc import Container, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from underoak.model.book import Taxon
    from underoak.model.ground import Spot
    from underoak.outlook.forecast import ChanceTable

#: Pairs of spot and taxon kept with one answer, those of the highest chance first: bounds the ledger.
MOST_PAIRS = 2000
#: Chances are kept as whole parts of this many.
PARTS = 100_000


@dataclass(frozen=True, slots=True)
class AllChances:
    """Chances of a prime flush at known spots, in parts of 100,000, one tuple of days for each pair.

    ``pairs`` are positions in ``spots`` and ``taxa``; ``detection`` is, by taxon, the chance that a thorough
    look shows a prime flush. ``left_out`` pairs of lower chance were not kept.
    """

    spots: tuple[str, ...]
    taxa: tuple[str, ...]
    detection: tuple[float, ...]
    pairs: tuple[tuple[int, int], ...]
    parts: tuple[tuple[int, ...], ...]
    left_out: int


def all_chances(spots: Sequence[Spot], taxa: Sequence[Taxon], table: ChanceTable) -> AllChances:
    """The chances of a table whose first spots are ``spots``."""
    import numpy as np

    prime = table.prime[: len(spots)]
    by_pair = prime.reshape(-1, prime.shape[2])
    kept = np.sort(np.argsort(-by_pair.max(axis=1), kind="stable")[:MOST_PAIRS])
    detection = table.found[:1, :, 0] / table.prime[:1, :, 0]
    return AllChances(
        spots=tuple(spot.id for spot in spots),
        taxa=tuple(taxon.id for taxon in taxa),
        detection=tuple(round(float(d), 4) for d in detection.ravel()),
        pairs=tuple((n // len(taxa), n % len(taxa)) for n in kept.tolist()),
        parts=tuple(tuple(row) for row in np.rint(PARTS * by_pair[kept]).astype(int).tolist()),
        left_out=len(by_pair) - len(kept),
    )


def kept_chances(
    document: Mapping[str, Any], looked: Container[tuple[str, date]] | None = None
) -> Iterator[tuple[date, str, str, float, float]]:
    """Day, spot, taxon, chance of prime and chance that a thorough look shows it, of a stored week.

    Only those of the spots and days of ``looked``, where it is given.
    """
    kept = document["chances"]
    days = [date.fromisoformat(day) for day in document["days"]]
    wanted = [
        [(n, day) for n, day in enumerate(days) if looked is None or (spot_id, day) in looked]
        for spot_id in kept["spots"]
    ]
    for (spot, taxon), parts in zip(kept["pairs"], kept["parts"], strict=True):
        for n, day in wanted[spot]:
            prime = parts[n] / PARTS
            yield day, kept["spots"][spot], kept["taxa"][taxon], prime, prime * kept["detection"][taxon]


def shortened(value: Any, digits: int = 4) -> Any:
    """Plain JSON values with every fraction cut to so many significant digits."""
    if isinstance(value, float):
        return float(f"{value:.{digits}g}")
    if isinstance(value, dict):
        return {key: shortened(one, digits) for key, one in value.items()}
    if isinstance(value, list):
        return [shortened(one, digits) for one in value]
    return value
