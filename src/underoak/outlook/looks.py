"""What visits saw, as chances of the outcome under each hidden state."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.intp]

#: Outcomes of one look at one spot for one taxon.
NONE, YOUNG, PRIME, PAST = range(4)
#: The look of a person on hands and knees; the book's detection is meant for it.
THOROUGH = 0.9
#: A find at a spot that the visit did not list as searched was seen by a look around.
UNLISTED_LOOK = 0.6
#: How well each state shows, against a prime flush (waiting, young, prime, past; own judgement).
SHOWS = np.array([0.0, 0.6, 1.0, 0.8])
#: Stage written down (columns: young, prime, past) for what stood there (own judgement).
STAGE_WRITTEN = np.array([[1.0, 0.0, 0.0], [0.94, 0.06, 0.0], [0.06, 0.90, 0.04], [0.0, 0.06, 0.94]])
#: Chance of an outcome the states cannot explain: a slip of the pen. It keeps every likelihood positive.
SLIP = 1e-4


@dataclass(frozen=True, slots=True)
class Looks:
    """Looks of one taxon, sorted by day number; all arrays have shape (looks,).

    ``spot`` is a position in the list of spots, ``season`` a year, ``day`` a season day number,
    ``outcome`` one of `NONE`, `YOUNG`, `PRIME`, `PAST`.
    """

    spot: IntArray
    season: IntArray
    day: IntArray
    outcome: IntArray
    thoroughness: FloatArray

    def where(self, keep: npt.NDArray[np.bool_]) -> Looks:
        """The looks for which ``keep`` (looks,) is true."""
        return self.at(np.flatnonzero(keep))

    def at(self, position: IntArray) -> Looks:
        """The looks at these positions; a position may come several times."""
        return Looks(
            self.spot[position],
            self.season[position],
            self.day[position],
            self.outcome[position],
            self.thoroughness[position],
        )


def outcome_chances(looks: Looks, at_thorough: float) -> tuple[FloatArray, FloatArray]:
    """Chance of each look's outcome if the spot fruits, by state (looks, 4), and if it does not (looks,).

    Finding nothing is an outcome like the others: it speaks against states that would have shown. Looks
    add like independent effort: a state shows with chance 1 - (1 - d shows)^(thoroughness / 0.9).

    Source
    ------
    Imperfect detection by visit: mackenzie_2002 (abstract seen). Stage slips: own judgement.
    """
    by_state, _ = outcome_slopes(looks, at_thorough)
    return by_state, np.where(looks.outcome == NONE, 1.0 - SLIP + SLIP / 4.0, SLIP / 4.0)


def outcome_slopes(looks: Looks, at_thorough: float) -> tuple[FloatArray, FloatArray]:
    """The chances by state of `outcome_chances` (looks, 4), and their slopes by the logit of detection."""
    d = at_thorough
    effort = looks.thoroughness[:, None] / THOROUGH
    missed = np.power(1.0 - d * SHOWS[None, :], effort)
    d_seen = effort * SHOWS * missed / (1.0 - d * SHOWS) * d * (1.0 - d)
    written = np.column_stack([np.zeros(4), STAGE_WRITTEN])[:, looks.outcome].T
    blank = (looks.outcome == NONE)[:, None]
    by_state = (1.0 - SLIP) * np.where(blank, missed, (1.0 - missed) * written) + SLIP / 4.0
    return by_state, (1.0 - SLIP) * np.where(blank, -d_seen, d_seen * written)
