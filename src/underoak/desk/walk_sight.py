"""How far from the trail the household sees hosts: from its own finds where there are enough of them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from underoak.model.ground import Spot, Trail
    from underoak.woods.decay import Sight

#: With fewer finds of its own the household's sight is the prior: that alone is worth as many.
ENOUGH_FINDS = 8


def household_sight(trails: Sequence[Trail], found: Sequence[Spot]) -> tuple[Sight, str]:
    """The sight that a plan counts with, and a note that says where it comes from.

    ``found`` are the spots of all woods where anything was found; those count that stand in view of a trail.
    """
    from underoak.woods.decay import SEEN_WITHIN_M, find_distances_m, fit_sight

    distances = find_distances_m(trails, found)
    if len(distances) >= ENOUGH_FINDS:
        sight = fit_sight(distances, within_m=SEEN_WITHIN_M)
        whence = f"from {sight.finds} of your own finds beside trails"
    else:
        sight = fit_sight([])
        whence = (
            f"a first guess until {ENOUGH_FINDS} of your own finds beside trails are on record "
            f"({len(distances)} so far)"
        )
    span = f"{sight.sight_m:.0f} m from the trail ({sight.low_m:.0f} to {sight.high_m:.0f})"
    return sight, f"Six in ten flushes are taken to be seen {span}: {whence}."
