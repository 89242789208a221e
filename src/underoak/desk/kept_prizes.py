"""The prizes of a planned walk, kept with its answer: on the way nobody has time for a new outlook."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import numpy.typing as npt

    from underoak.desk.walk_limits import Limits
    from underoak.desk.walk_plan import Outing
    from underoak.ledger.answers import GivenAnswer
    from underoak.walk.problem import Prize

#: What is kept of a prize, in this order.
FIELDS = ("kg", "minutes", "edge", "node", "place", "name", "chance", "key")


def ground_mark(
    outing: Outing, limits: Limits, walk_min: npt.NDArray[Any], taxa: Sequence[str], book_version: str
) -> str:
    """A mark of all that prizes stand on beside the outlook: the same mark, the same prizes on one day.

    Trails with their walking times, what is closed or avoided, spots, trees, what is looked for, the book.
    """
    ground = limits.ground
    told = [outing.ground.place.id, outing.ground.car_park.id, book_version, *sorted(taxa)]
    told += [
        f"{edge.start},{edge.end},{edge.length_m:.1f},{minutes:.3f},{int(shut or edge.closed)}"
        for edge, minutes, shut in zip(ground.network.edges, walk_min, limits.closed, strict=True)
    ]
    told += [spot.id for spot in ground.spots]
    told += [f"{tree.id},{tree.host_group},{tree.condition},{tree.diameter_cm}" for tree in ground.trees]
    told += [f"{patch.id},{patch.stems_ha:.3f}" for patch in ground.patches]
    return hashlib.sha256("|".join(told).encode()).hexdigest()[:16]


def rows_of(prizes: Sequence[Prize]) -> list[list[object]]:
    """The prizes as plain rows of `FIELDS`."""
    return [[getattr(prize, name) for name in FIELDS] for prize in prizes]


def prizes_kept(answer: GivenAnswer | None, mark: str) -> tuple[Prize, ...] | None:
    """The prizes kept with an answer, None where there are none or the ground's mark has changed."""
    from underoak.walk.problem import Prize

    if answer is None or answer.inputs.get("ground_mark") != mark:
        return None
    rows = [dict(zip(FIELDS, row, strict=True)) for row in answer.inputs["prizes"]]
    return tuple(
        Prize(**{**row, "chance": math.nan if row["chance"] is None else row["chance"]}) for row in rows
    )
