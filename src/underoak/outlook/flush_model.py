"""Hidden states of a flush within one season, and the exact filter over them.

A spot that fruits this season goes waiting -> young -> prime -> past, a day at a time; one that does not
stays idle. Chains are kept in stacks, so that one pass over the days serves thousands of them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from underoak.outlook.season import SEASON_DAYS

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.intp]

#: Hidden states of a spot that fruits.
STATES = ("waiting", "young", "prime", "past")
#: Share of flushes that keep to no season at all, spread evenly over the year: no find is impossible.
STRAY = 0.02
#: Chance that a hard freeze (-2.2 degrees C) ends a prime flush the same day (own judgement).
FREEZE_ENDS = 0.5


@dataclass(frozen=True, slots=True)
class Chains:
    """Daily chances of moving on, for a stack of chains that fruit this season.

    ``onset`` and ``ageing`` have shape (days, chains), ``ripening`` (chains,): the chance on that day to
    go from waiting to young, from prime to past, from young to prime. Days come first so that the chains
    of one day lie together in memory.
    """

    onset: FloatArray
    ripening: FloatArray
    ageing: FloatArray


@dataclass(frozen=True, slots=True)
class Evidence:
    """Outcomes seen on chains, sorted by ``day`` (looks,); ``chain`` (looks,) is a position in the stack.

    ``by_state`` (looks, 4) and ``idle`` (looks,) are chances of the outcome if the spot fruits, by state,
    and if it does not.
    """

    chain: IntArray
    day: IntArray
    by_state: FloatArray
    idle: FloatArray


@dataclass(frozen=True, slots=True)
class Filtered:
    """State chances, given that the spot fruits and all evidence up to and with a wanted day.

    ``states`` has shape (chains, wanted days, 4); ``fruited`` and ``blank`` (chains, wanted days) are the
    log-likelihoods of that evidence if the spot fruits and if it does not. ``before`` (looks, 4) holds
    the state chances just before each look: what was to be expected of it.
    """

    states: FloatArray
    fruited: FloatArray
    blank: FloatArray
    before: FloatArray


NO_EVIDENCE = Evidence(np.zeros(0, np.intp), np.zeros(0, np.intp), np.zeros((0, 4)), np.zeros(0))


def onset_hazard(
    mean_day: FloatArray, sd_days: FloatArray, days: int = SEASON_DAYS, *, first: int = 0
) -> FloatArray:
    """Chance (days, chains) that a flush not yet begun begins on each day from ``first`` on.

    Method
    ------
    Cumulative onset F(t) = 0.98 Phi((t - mean)/sd) + 0.02 t/366 at the end of day t; the daily hazard is
    1 - (1 - F(t+1))/(1 - F(t)): a discrete-time survival model whose complementary log-log is the log of
    the integrated hazard of the day, so that weather terms add to it. What would begin before the first
    day begins on it.
    """
    left = waiting_left(mean_day, sd_days, days, first)
    hazard: FloatArray = 1.0 - left[1:] / left[:-1]
    return hazard


def waiting_left(mean_day: FloatArray, sd_days: FloatArray, days: int, first: int) -> FloatArray:
    """Share (days + 1, chains) of flushes not yet begun at the start of each day; 1 at the first."""
    from scipy.special import ndtr

    edge = np.arange(first, first + days + 1.0)
    z = (edge[:, None] - mean_day[None, :]) / sd_days[None, :]
    stray = 1.0 - np.minimum(edge / (SEASON_DAYS + 1.0), 1.0)
    left: FloatArray = (1.0 - STRAY) * ndtr(-z) + STRAY * stray[:, None]
    left[0] = 1.0
    return left


def ageing_chance(prime_days: FloatArray, warmth: FloatArray, hard_freeze: FloatArray) -> FloatArray:
    """Chance (days, chains) that a prime flush goes past on each day.

    ``warmth`` (days, chains or 1) multiplies the rate 1/prime_days; ``hard_freeze`` is the chance of a
    hard freeze on the day, which ends a flush with chance `FREEZE_ENDS`.
    """
    kept = 1.0 - np.minimum(warmth / prime_days[None, :], 1.0)
    aged: FloatArray = 1.0 - kept * (1.0 - FREEZE_ENDS * hard_freeze)
    return aged


def filter_states(
    chains: Chains, evidence: Evidence, wanted: IntArray, passes: dict[int, list[IntArray]] | None = None
) -> Filtered:
    """Run the forward algorithm and keep the state chances of the wanted days.

    Parameters
    ----------
    chains : Chains
        The stack; days count from the first day of the season.
    evidence : Evidence
        Looks, sorted by day. Days without one simply pass.
    wanted : (wanted days,), ascending season day numbers
        Days to keep. Evidence after a wanted day does not change it (a filter, not a smoother); evidence
        after the last one is not used.
    passes : day -> groups of looks
        `look_passes` of the evidence where it is already known.

    Method
    ------
    alpha_t = (alpha_{t-1} A_t) * P(outcome_t | state), normalised whenever something was seen; the sum of
    the logarithms of the norms is the exact log-likelihood (Rabiner 1989, from memory). Each day a state
    moves at most one step. Outcomes of one chain and day multiply.

    Raises
    ------
    ValueError   when evidence is not sorted by day, or a day lies outside the chains
    """
    _check(chains, evidence, wanted)
    count = chains.onset.shape[1]
    alpha = np.zeros((4, count))
    alpha[0] = 1.0
    out = Filtered(
        states=np.zeros((count, len(wanted), 4)),
        fruited=np.zeros((count, len(wanted))),
        blank=np.zeros((count, len(wanted))),
        before=np.zeros((len(evidence.day), 4)),
    )
    flow = np.empty((3, count))
    fruited, blank = np.zeros(count), np.zeros(count)
    keep = {int(day): position for position, day in enumerate(wanted)}
    passes = look_passes(evidence) if passes is None else passes
    for t in range(int(wanted[-1]) + 1 if len(wanted) else 0):
        move(alpha, flow, chains, t)
        for looks in passes.get(t, ()):
            chain = evidence.chain[looks]
            out.before[looks] = alpha[:, chain].T
            fruited[chain] += np.log(weigh(alpha, evidence, looks))
            blank[chain] += np.log(evidence.idle[looks])
        if t in keep:
            out.states[:, keep[t]] = alpha.T
            out.fruited[:, keep[t]], out.blank[:, keep[t]] = fruited, blank
    return out


def move(alpha: FloatArray, flow: FloatArray, chains: Chains, day: int) -> None:
    """Advance the state chances (4, chains) by one day, in place; ``flow`` (3, chains) is scratch."""
    np.multiply(alpha[0], chains.onset[day], out=flow[0])
    np.multiply(alpha[1], chains.ripening, out=flow[1])
    np.multiply(alpha[2], chains.ageing[day], out=flow[2])
    alpha[:3] -= flow
    alpha[1:] += flow


def look_passes(evidence: Evidence) -> dict[int, list[IntArray]]:
    """Day -> looks of that day in groups that hold each chain at most once."""
    order = np.lexsort((evidence.chain, evidence.day))
    day, chain = evidence.day[order], evidence.chain[order]
    place = np.arange(len(order))
    begins = np.ones(len(order), dtype=bool)
    begins[1:] = (np.diff(day) != 0) | (np.diff(chain) != 0)
    turn = place - np.maximum.accumulate(np.where(begins, place, 0))  # the how manieth of its chain and day
    by_turn = np.lexsort((order, turn, day))
    changes = np.flatnonzero((np.diff(day[by_turn]) != 0) | (np.diff(turn[by_turn]) != 0)) + 1
    passes: dict[int, list[IntArray]] = {}
    for group in np.split(by_turn, changes) if len(order) else ():
        passes.setdefault(int(day[group[0]]), []).append(order[group])
    return passes


def weigh(alpha: FloatArray, evidence: Evidence, looks: IntArray) -> FloatArray:
    """Multiply the state chances (4, chains) by looks of different chains, in place; the norms (looks,)."""
    chain = evidence.chain[looks]
    weighed = alpha[:, chain] * evidence.by_state[looks].T
    norm: FloatArray = weighed.sum(axis=0)
    alpha[:, chain] = weighed / norm
    return norm


def _check(chains: Chains, evidence: Evidence, wanted: IntArray) -> None:
    if np.any(np.diff(evidence.day) < 0) or np.any(np.diff(wanted) <= 0):
        raise ValueError("days must ascend")
    days = chains.onset.shape[0]
    for name, numbers in (("evidence", evidence.day), ("wanted days", wanted)):
        if len(numbers) and not (numbers[0] >= 0 and numbers[-1] < days):
            raise ValueError(f"{name} must lie within 0 to {days - 1}")
