"""The log-likelihood of many chains and its exact slopes, by forward and backward passes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from underoak.outlook.flush_model import Chains, Evidence, look_passes, move, weigh

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Slopes:
    """Log-likelihood if the spot fruits, and if not (chains,), and slopes of the first.

    ``onset`` and ``ageing`` (days, chains), ``ripening`` (chains,) and ``by_state`` (looks, 4) hold the
    derivative by each daily chance and by each chance of an outcome.
    """

    fruited: FloatArray
    blank: FloatArray
    onset: FloatArray
    ripening: FloatArray
    ageing: FloatArray
    by_state: FloatArray


def likelihood_slopes(
    chains: Chains, evidence: Evidence, passes: dict[int, list[IntArray]] | None = None
) -> Slopes:
    """Exact log-likelihood of the evidence on each chain, and its slopes.

    ``passes`` is `flush_model.look_passes` of the evidence where it is already known.

    Method
    ------
    Forward pass with alpha normalised at each look; backward pass with beta scaled alike, so that
    sum(alpha_t beta_t) = 1 on every day. Then d logL / d onset_t = alpha_{t-1}(waiting) *
    (v(young) - v(waiting)), v being beta_t times the chance of the day's outcome over its norm; ripening
    and ageing alike; d logL / d P(outcome | state) = P(state | everything) / P(outcome | state).

    Source
    ------
    rabiner_1989 (from memory) for the passes; the slopes follow by differentiation and are tested against
    finite differences.
    """
    passes = look_passes(evidence) if passes is None else passes
    alphas, norms = _forward(chains, evidence, passes)
    days, count = chains.onset.shape
    out = Slopes(
        fruited=np.zeros(count),
        blank=np.zeros(count),
        onset=np.empty((days, count)),
        ripening=np.zeros(count),
        ageing=np.empty((days, count)),
        by_state=np.zeros_like(evidence.by_state),
    )
    np.add.at(out.fruited, evidence.chain, np.log(norms))
    np.add.at(out.blank, evidence.chain, np.log(evidence.idle))
    beta = np.ones((4, count))
    for t in range(days - 1, -1, -1):
        if t in passes:
            everything = alphas[t + 1] * beta  # chance of each state given all looks, of any day
        for looks in passes.get(t, ()):
            chain, chances = evidence.chain[looks], evidence.by_state[looks]
            out.by_state[looks] = everything[:, chain].T / chances
            beta[:, chain] *= chances.T / norms[looks]
        step = beta[1:] - beta[:-1]
        flow = alphas[t, :3] * step
        out.onset[t] = flow[0]
        out.ripening[:] += flow[1]
        out.ageing[t] = flow[2]
        beta[0] += chains.onset[t] * step[0]
        beta[1] += chains.ripening * step[1]
        beta[2] += chains.ageing[t] * step[2]
    return out


def _forward(
    chains: Chains, evidence: Evidence, passes: dict[int, list[IntArray]]
) -> tuple[FloatArray, FloatArray]:
    """State chances (days + 1, 4, chains) after each day and its looks; norm (looks,) of each look."""
    days, count = chains.onset.shape
    alphas = np.empty((days + 1, 4, count))
    alphas[0] = 0.0
    alphas[0, 0] = 1.0
    norms, flow = np.ones(len(evidence.day)), np.empty((3, count))
    for t in range(days):
        alphas[t + 1] = alphas[t]
        move(alphas[t + 1], flow, chains, t)
        for looks in passes.get(t, ()):
            norms[looks] = weigh(alphas[t + 1], evidence, looks)
    return alphas, norms
