"""Two walks crossed: a stretch of one put into the other."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from underoak.walk.tour import Lay

#: Share of the prizes of the other walk that a stretch of it holds.
STRETCH = (0.1, 0.6)


def crossed(lay: Lay, sequence: list[int], other: list[int], rng: np.random.Generator) -> list[int]:
    """``sequence`` with a random stretch of ``other`` where it costs least, forwards or backwards.

    What the stretch gathers is taken out elsewhere. The walk may then last too long.

    Source: crossing routes by whole stretches, Nagata and Braysy 2009, Networks 54, 205-215 (from memory).
    """
    modes = lay.modes
    count = min(max(2, int(len(other) * rng.uniform(*STRETCH))), len(other))
    first = int(rng.integers(0, len(other) - count + 1))
    stretch = other[first : first + count]
    gathered = set(modes.prize[stretch].tolist())
    rest = [mode for mode in sequence if int(modes.prize[mode]) not in gathered]
    turned = [int(modes.other[mode]) for mode in reversed(stretch)]
    (forth, at), (back, at_turned) = _cheapest_gap(lay, rest, stretch), _cheapest_gap(lay, rest, turned)
    if forth <= back:
        return rest[:at] + stretch + rest[at:]
    return rest[:at_turned] + turned + rest[at_turned:]


def _cheapest_gap(lay: Lay, sequence: list[int], stretch: list[int]) -> tuple[float, int]:
    """Minutes more, and where: from a gap's end to the stretch and on, and through the stretch itself."""
    leave, enter = lay.ends(sequence)
    first, last = np.array(stretch[0]), np.array(stretch[-1])
    more = lay.between(leave, first) + lay.between(last, enter) - lay.between(leave, enter)
    inside = (
        lay.between(np.array(stretch[:-1]), np.array(stretch[1:])).sum() + lay.modes.minutes[stretch].sum()
    )
    at = int(np.argmin(more))
    return float(more[at] + inside), at
