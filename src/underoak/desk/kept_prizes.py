"""What is kept with the answer of a planned walk: on the way nobody has time for a new outlook."""

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
    from underoak.walk.result import Leg, WalkResult

#: What is kept of a prize and of a leg, in this order.
FIELDS = ("kg", "minutes", "edge", "node", "place", "name", "chance", "key")
LEG_FIELDS = ("edge", "forward", "begins_min", "walk_min", "stop_min", "prizes")


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
    told += [f"{patch.id},{patch.stems_ha:.3f},{patch.polygons}" for patch in ground.patches]
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


def leg_rows(result: WalkResult) -> list[list[object]]:
    """The legs of a walk as plain rows of `LEG_FIELDS`."""
    return [[getattr(leg, name) for name in LEG_FIELDS] for leg in result.legs]


def legs_kept(answer: GivenAnswer | None, mark: str, done: int) -> tuple[Leg, ...]:
    """The legs of a kept walk after its first ``done`` turns; none where the ground's mark has changed."""
    from underoak.walk.result import Leg

    if answer is None or answer.inputs.get("ground_mark") != mark:
        return ()
    rows = [dict(zip(LEG_FIELDS, row, strict=True)) for row in answer.inputs.get("legs", ())]
    turns = answer.document["turns"]
    if done >= len(turns):
        return ()
    begins_min = turns[done]["turn"]["begins_min"]
    return tuple(
        Leg(**{**row, "prizes": tuple(row["prizes"])}) for row in rows if row["begins_min"] >= begins_min
    )


def taxa_kept(answer: GivenAnswer | None, asked: Sequence[str], book_version: str) -> list[str]:
    """Ids of the taxa that a kept walk looks for, where it was asked for the same out of the same book."""
    same = answer and answer.book_version == book_version and list(answer.inputs["taxa"]) == list(asked)
    return list(answer.inputs.get("taxon_ids", ())) if answer and same else []
