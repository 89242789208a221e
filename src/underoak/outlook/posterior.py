"""The log posterior of one taxon's parameters, with exact slopes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from underoak.outlook.flush_gradient import Slopes, likelihood_slopes
from underoak.outlook.flush_model import FREEZE_ENDS, STRAY, Chains, Evidence, look_passes, waiting_left
from underoak.outlook.looks import outcome_chances, outcome_slopes
from underoak.outlook.memory import PSEUDO_SEASONS, return_chances
from underoak.outlook.parameters import COMMON
from underoak.outlook.record import TaxonRecord
from underoak.outlook.season_prior import ONSET_SHARE, PLACE_SHARE, SEASON_SHARE, SPOT_SHARE, YOUNG_SHARE

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.intp]
_INDEX = {name: position for position, name in enumerate(COMMON)}


class Posterior:
    """Log posterior of a parameter vector (see `parameters.Layout`), up to a constant.

    Method
    ------
    Likelihood of a spot over its seasons: sum_l v_l [psi sum_k w_k prod_y (phi_k L1_yl + (1 - phi_k) L0_y)
    + (1 - psi) prod_y L0_y], with psi the chance that it is inhabited, l the points of the spot's own
    timing, phi_k, w_k the points and weights of the chance of return, L1 from `flush_gradient` and L0 the
    chance of the outcomes where nothing fruits. Reports add their days given season and region.
    Parameters have normal priors.
    """

    def __init__(self, record: TaxonRecord) -> None:
        self.record = record
        self.prior_sd = record.layout.prior_sd
        sd = record.season_block.sd_days
        self._residual = sd * np.sqrt(ONSET_SHARE**2 - SEASON_SHARE**2 - PLACE_SHARE**2 - SPOT_SHARE**2)
        self._spot_sd = SPOT_SHARE * sd
        self._phi, self._phi_weight = return_chances(record.memory.returns)
        self._logit = _logit(record.inhabited)
        strands = record.strands
        keys = np.column_stack([strands.group, strands.score, strands.wide])
        self._keys, key_of_strand = np.unique(keys, axis=0, return_inverse=True)
        self._key_of_strand = key_of_strand.ravel()
        self._key_group = self._keys[:, 0].astype(np.intp)
        self._detection = _logit(record.memory.detection)
        by_state, idle = outcome_chances(record.looks, record.memory.detection)
        self._idle = idle
        self._passes = look_passes(self._evidence(by_state))
        known = np.isin(record.reports.season, record.layout.seasons)
        self._reports = record.reports.where(known)
        self._report_season = np.searchsorted(record.layout.seasons, self._reports.season)

    def value_and_slope(self, theta: FloatArray) -> tuple[float, FloatArray]:
        """Log posterior and its gradient (parameters,)."""
        slope = -theta / self.prior_sd**2
        value = -0.5 * float(((theta / self.prior_sd) ** 2).sum())
        chains, parts = self._chains(theta)
        by_state, d_by_state = outcome_slopes(self.record.looks, self._detects(theta))
        found = likelihood_slopes(chains, self._evidence(by_state), self._passes)
        bears, inhabited, returns, gained = self._memory(theta, found)
        slope[_INDEX["inhabited"]] += inhabited
        slope[_INDEX["returns"]] += returns
        self._add_timing(slope, found, parts, bears)
        by_look = (found.by_state * d_by_state).sum(axis=1)
        slope[_INDEX["detection"]] += float(by_look @ bears[self.record.strand_of_look])
        return value + gained + self._add_reports(theta, slope), slope

    def _detects(self, theta: FloatArray) -> float:
        return float(1.0 / (1.0 + np.exp(-self._detection - theta[_INDEX["detection"]])))

    def _evidence(self, by_state: FloatArray) -> Evidence:
        record = self.record
        return Evidence(record.strand_of_look, record.looks.day - record.first, by_state, self._idle)

    def _chains(self, theta: FloatArray) -> tuple[Chains, _Parts]:
        record, plan, groups = self.record, self.record.layout, self.record.groups
        shift = theta[plan.start("place") + groups.place] + theta[plan.start("season") + groups.season]
        mean = (groups.onset_mean + theta[_INDEX["timing"]] + shift)[self._key_group]
        mean += self._spot_sd * self._keys[:, 1]
        varying = (self._residual * np.exp(theta[_INDEX["log_spread"]])) ** 2
        extra = groups.anchor_sd[self._key_group] ** 2 + self._keys[:, 2] * self._spot_sd**2
        sd = np.sqrt(varying + extra)
        push = groups.terms @ theta[plan.start("term") :] if plan.terms else None
        onset, d_mean, d_spread, d_push = _hazard(
            mean, sd, push if push is None else push[:, self._key_group], record.days, record.first
        )
        scale = np.exp(theta[_INDEX["log_prime"]])
        prime = max(record.season_block.prime_days * scale, 1.0)
        young = max(YOUNG_SHARE * record.season_block.prime_days * scale, 1.0)
        rate = np.minimum(groups.warmth / prime, 1.0)
        kept = 1.0 - FREEZE_ENDS * groups.hard_freeze
        d_ageing = np.where((rate < 1.0) & (prime > 1.0), -rate * kept, 0.0)
        strands = len(self._key_of_strand)
        chains = Chains(
            onset[:, self._key_of_strand],
            np.full(strands, 1.0 / young),
            (1.0 - (1.0 - rate) * kept)[:, record.strands.group],
        )
        return chains, _Parts(
            d_mean, d_spread * varying / sd**2, d_push, -1.0 / young if young > 1.0 else 0.0, d_ageing
        )

    def _memory(self, theta: FloatArray, found: Slopes) -> tuple[FloatArray, float, float, float]:
        """What the spots say over their seasons.

        Chance (strands,) that each strand is true and fruited, slopes by inhabited and returns, and the
        log-likelihood. Blank likelihoods are the same for all strands of a row; one of them is counted.
        """
        strands = self.record.strands
        ratio = np.clip(found.fruited - found.blank, -700.0, 700.0)
        log_weight, tilt = self._return_weights(theta[_INDEX["returns"]])
        step = np.logaddexp(np.log(self._phi) + ratio[:, None], np.log1p(-self._phi))
        total = np.zeros((len(strands.log_weight), len(self._phi)))
        np.add.at(total, strands.case, step)
        cells = total + log_weight
        evidence = np.logaddexp.reduce(cells, axis=1)
        logit = self._logit + theta[_INDEX["inhabited"]]
        log_psi, log_empty = -np.logaddexp(0.0, -logit), -np.logaddexp(0.0, logit)
        lives = log_psi[strands.spot_of_case] + evidence
        whole = np.logaddexp(lives, log_empty[strands.spot_of_case]) + strands.log_weight
        by_spot = np.full(len(strands.spot), -np.inf)
        np.logaddexp.at(by_spot, strands.spot_of_case, whole)
        inhabited = np.exp(lives + strands.log_weight - by_spot[strands.spot_of_case])
        posterior = np.exp(cells - evidence[:, None]) * inhabited[:, None]
        fruits = np.exp(np.log(self._phi) + ratio[:, None] - step)
        bears = (posterior[strands.case] * fruits).sum(axis=1)
        slope = float(inhabited.sum() - np.exp(log_psi).sum())
        blank = found.blank @ np.exp(strands.log_weight[strands.case])
        return bears, slope, float((posterior @ tilt).sum()), float(by_spot.sum() + blank)

    def _return_weights(self, offset: float) -> tuple[FloatArray, FloatArray]:
        """Log weights of the points of the chance of return when its mean moves, and their slope."""
        m0 = self.record.memory.returns
        m = 1.0 / (1.0 + np.exp(-_logit(m0) - offset))
        score = np.log(self._phi) - np.log1p(-self._phi)
        log_weight = np.log(self._phi_weight) + PSEUDO_SEASONS * (m - m0) * score
        log_weight -= np.logaddexp.reduce(log_weight)
        tilt = PSEUDO_SEASONS * m * (1.0 - m) * (score - np.exp(log_weight) @ score)
        return log_weight, tilt

    def _add_timing(self, slope: FloatArray, found: Slopes, parts: _Parts, bears: FloatArray) -> None:
        groups, plan, strands = self.record.groups, self.record.layout, self.record.strands
        onset = _summed(found.onset * bears, self._key_of_strand, len(self._keys))
        by_key = (onset * parts.mean).sum(axis=0)
        slope[_INDEX["timing"]] += by_key.sum()
        np.add.at(slope, plan.start("place") + groups.place[self._key_group], by_key)
        np.add.at(slope, plan.start("season") + groups.season[self._key_group], by_key)
        slope[_INDEX["log_spread"]] += float((onset * parts.log_spread).sum())
        ageing = _summed(found.ageing * bears, strands.group, len(groups.place))
        slope[_INDEX["log_prime"]] += float((ageing * parts.ageing).sum())
        slope[_INDEX["log_prime"]] += float(found.ripening @ bears) * parts.ripening
        if parts.push is not None:
            pushed = (onset * parts.push)[:, :, None] * groups.terms[:, self._key_group]
            slope[plan.start("term") :] += pushed.sum(axis=(0, 1))

    def _add_reports(self, theta: FloatArray, slope: FloatArray) -> float:
        if not len(self._reports.season):
            return 0.0
        at = self.record.layout.start("season") + self._report_season
        shift = theta[_INDEX["region"]] + theta[at]
        each, by_shift = self._reports.whole_seasons(shift)
        slope[_INDEX["region"]] += by_shift.sum()
        np.add.at(slope, at, by_shift)
        return float(each.sum())


@dataclass(frozen=True, slots=True)
class _Parts:
    """Slopes of the daily chances.

    Of onset (days, keys) by mean day, log spread and push; of ageing (days, groups) and ripening by the log
    of prime days.
    """

    mean: FloatArray
    log_spread: FloatArray
    push: FloatArray | None
    ripening: float
    ageing: FloatArray


def _hazard(
    mean: FloatArray, sd: FloatArray, push: FloatArray | None, days: int, first: int
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray | None]:
    """Onset hazard (days, keys) and its slopes by mean day, log spread and push."""
    left = waiting_left(mean, sd, days, first)
    edge = np.arange(first, first + days + 1.0)
    z = (edge[:, None] - mean[None, :]) / sd[None, :]
    density = (1.0 - STRAY) * np.exp(-0.5 * z * z) / np.sqrt(2.0 * np.pi)
    density[0] = 0.0
    by_mean = density / sd
    by_spread = density * z
    stay = left[1:] / left[:-1]
    d_mean = (stay * by_mean[:-1] - by_mean[1:]) / left[:-1]
    d_spread = (stay * by_spread[:-1] - by_spread[1:]) / left[:-1]
    if push is None:
        return 1.0 - stay, d_mean, d_spread, None
    # complementary log-log: the day's integrated hazard -log(stay) is multiplied by exp(push)
    factor = np.exp(push)
    pushed = np.power(stay, factor)
    chain = factor * pushed / stay
    return 1.0 - pushed, d_mean * chain, d_spread * chain, -factor * pushed * np.log(stay)


def _summed(values: FloatArray, key: IntArray, keys: int) -> FloatArray:
    """Sums (days, keys) of the columns of values (days, strands) that share a key."""
    order = np.argsort(key, kind="stable")
    starts = np.searchsorted(key[order], np.arange(keys))
    sums: FloatArray = np.add.reduceat(values[:, order], starts, axis=1)
    return sums


def _logit(chance: FloatArray | float) -> FloatArray:
    odds: FloatArray = np.log(np.asarray(chance)) - np.log1p(-np.asarray(chance))
    return odds
