"""The same filter for whole seasons, in leaps from look to look: what it costs grows with looks, not rows.

Rows of one place and season move alike until somebody looks. So the moves of the days between looks are put
together once for all of them, and rows that were looked at alike, with the same outcome, are reckoned once.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from underoak.outlook.flush_model import Chains, Evidence, move

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.intp]


def leap_likelihood(chains: Chains, kind: IntArray, evidence: Evidence, *, points: int) -> FloatArray:
    """Log-likelihood (rows, points) of all looks of each row if its spot fruits.

    Parameters
    ----------
    chains : Chains
        One for each kind and point, the points running fastest.
    kind : (rows,)
        Which kind of chain each row follows.
    evidence : Evidence
        In any order; ``chain`` holds the row of each look.
    points : int
        Points of the unknown timing.

    Method
    ------
    With A_t the moves of day t: alpha at a look on day b after one on day a is alpha_a A_{a+1} ... A_b, and
    the product is the same for all rows of a kind. Equal to `flush_model.filter_states` up to rounding.
    """
    if not len(evidence.day):
        return np.zeros((len(kind), points))
    histories = _histories(kind, evidence)
    first = int(evidence.day.min())
    alpha = _until(chains, first).reshape(4, -1, points)[:, histories.kind]
    total = np.zeros((len(histories.kind), points))
    kinds = len(chains.ripening) // points
    leap, flow = _stay(len(chains.ripening)), np.empty((3, 4, len(chains.ripening)))
    for t in range(first, int(evidence.day.max()) + 1):
        if t > first:
            move(leap, flow, chains, t)
        here, chances = histories.on(t)
        if not len(here):
            continue
        reached = np.zeros(kinds, dtype=bool)
        reached[histories.kind[here]] = True
        moving = np.flatnonzero(reached[histories.kind])
        by_kind = leap.reshape(4, 4, kinds, points)
        alpha[:, moving] = (by_kind[:, :, histories.kind[moving]] * alpha[None, :, moving]).sum(axis=1)
        by_kind[:, :, reached] = np.eye(4)[:, :, None, None]
        seen = alpha[:, here] * chances.T[:, :, None]
        norm = seen.sum(axis=0)
        alpha[:, here] = seen / norm
        total[here] += np.log(norm)
    return total[histories.of_row]


@dataclass(frozen=True, slots=True)
class _Histories:
    """Distinct histories of looks: their kind, which one each row has, and the looks by day."""

    kind: IntArray
    of_row: IntArray
    by_day: dict[int, tuple[IntArray, FloatArray]]

    def on(self, day: int) -> tuple[IntArray, FloatArray]:
        """Histories with a look on a day, and the chances of its outcome (histories, 4)."""
        return self.by_day.get(day, (np.zeros(0, dtype=np.intp), np.zeros((0, 4))))


def _histories(kind: IntArray, evidence: Evidence) -> _Histories:
    """Looks of one row and day multiply; rows of one kind with equal looks are one history."""
    order = np.lexsort((evidence.day, evidence.chain))
    row, day = evidence.chain[order], evidence.day[order]
    starts = np.flatnonzero(np.append([True], (np.diff(row) != 0) | (np.diff(day) != 0)))
    row, day = row[starts], day[starts]
    chances = np.multiply.reduceat(evidence.by_state[order], starts, axis=0)
    edges = np.searchsorted(row, np.arange(len(kind) + 1)).tolist()
    number: dict[tuple[int, bytes, bytes], int] = {}
    of_row, spans = [], []
    for k, low, high in zip(kind.tolist(), edges, edges[1:], strict=False):
        key = (k, day[low:high].tobytes(), chances[low:high].tobytes())
        if key not in number:
            number[key] = len(number)
            spans.append(np.arange(low, high))
        of_row.append(number[key])
    kept = np.concatenate(spans)
    history = np.repeat(np.arange(len(spans)), [len(span) for span in spans])
    on = {t: np.flatnonzero(day[kept] == t) for t in np.unique(day[kept]).tolist()}
    by_day = {t: (history[at], chances[kept[at]]) for t, at in on.items()}
    return _Histories(np.array([k for k, _, _ in number], dtype=np.intp), np.array(of_row), by_day)


def _until(chains: Chains, day: int) -> FloatArray:
    """State chances (4, chains) of all chains at the end of a day, with nothing seen."""
    alpha, flow = np.zeros((4, len(chains.ripening))), np.empty((3, len(chains.ripening)))
    alpha[0] = 1.0
    for t in range(day + 1):
        move(alpha, flow, chains, t)
    return alpha


def _stay(chains: int) -> FloatArray:
    """The leap of no day: (state after, state before, chains)."""
    return np.repeat(np.eye(4)[:, :, None], chains, axis=2)
