"""What is likely: ranks names, notices when nothing in the book goes with the find. Never clears.

Probability may make a verdict stricter, never laxer: `underoak.vetting.verdict` reads the fit score to
hold a find, and the shares only to put names and checks in order.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from underoak.vetting.characters import Seen
from underoak.vetting.matrix import Floats, Matrix

if TYPE_CHECKING:
    from underoak.book.load import Book
    from underoak.vetting.exclusion import Fit

#: Prior share of "none of these": the woods hold far more kinds than the book.
#: Source: proposal of 0.1 to 0.2, own judgement.
OTHER_PRIOR = 0.15
#: A harmless or gathered taxon out of its season keeps at least this share of its prior; a dangerous
#: one keeps all of it, because season never speaks against a danger.
OUT_OF_SEASON = 0.1
#: The fit score below which a find is held, whatever else is seen. Own judgement: three rare states pass,
#: four do not.
LEAST_FIT = 0.0002


def log_likelihood(tables: Sequence[Floats], noted: Sequence[Floats]) -> Floats:
    """Log likelihood of what was noted under each class, shape (N, K).

    Parameters
    ----------
    tables   one (K, n) array a character: the chance of each of its n states in each of K classes
    noted    one (N, n) array of 0 and 1 a character: the states noted; a row of zeros is "not looked"

    Method: sum over characters of log(sum over noted states of their chance); blank rows add nothing.
    """
    total = np.zeros((len(noted[0]), len(tables[0])))
    for table, seen in zip(tables, noted, strict=True):
        chance = seen @ table.T
        blank = seen.sum(axis=1) == 0.0
        total += np.log(np.where(blank[:, None], 1.0, chance))
    return total


def posterior(log_prior: Floats, log_like: Floats) -> Floats:
    """Bayes' rule, rows summing to one. ``log_prior`` (K,) or (N, K); ``log_like`` (N, K)."""
    joint = log_prior + log_like
    joint = joint - joint.max(axis=1, keepdims=True)
    raw = np.exp(joint)
    shares: Floats = raw / raw.sum(axis=1, keepdims=True)
    return shares


def smoothed(counts: Floats, alpha: float) -> Floats:
    """Chances from counts (K, n) with ``alpha`` added to every cell (Laplace's rule for alpha = 1)."""
    raised = counts + alpha
    table: Floats = raised / raised.sum(axis=1, keepdims=True)
    return table


def shares(matrix: Matrix, seen: Seen, log_prior: Floats) -> Floats:
    """Share of each taxon and, last, of "none of these", shape (N, T + 1).

    Method: naive Bayes on likelihoods relative to a flat guess, so that "none of these" has ratio 1
    everywhere. The chance of a state is (1 - error) times the taxon's share of it plus error spread
    evenly. Within an evidence group the log ratios are averaged: correlated evidence counts once.

    Source: Willcox et al. 1973, J. Gen. Microbiol. 77, 317-330 (abstract seen): Bayes over a table of
    taxa and tests with missing data and an explicit allowance for test errors.
    """
    told = seen.told.astype(float)
    ratio = np.where(seen.told[:, None, :], _log_ratios(matrix, seen), 0.0)
    in_group = np.zeros((len(matrix.characters), len(matrix.groups)))
    in_group[np.arange(len(matrix.group)), matrix.group] = 1.0
    by_group = (ratio @ in_group) / np.maximum(told @ in_group, 1.0)[:, None, :]
    log_like = np.concatenate([by_group.sum(axis=2), np.zeros((len(seen), 1))], axis=1)
    return posterior(log_prior, log_like)


def _log_ratios(matrix: Matrix, seen: Seen) -> Floats:
    """(N, T, C): log of the chance of what was noted, against a flat guess. Silence says nothing."""
    widths = np.diff(np.append(matrix.starts, matrix.shown.shape[1]))
    chance = np.add.reduceat(seen.observed[:, None, :] * matrix.chance, matrix.starts, axis=2)
    many = np.maximum(np.add.reduceat(seen.observed, matrix.starts, axis=1, dtype=float), 1.0)
    ratio = np.log(np.maximum(chance, 1e-9) * (widths / many)[:, None, :])
    densities = [
        _log_density(seen.value[:, m], matrix.spread[:, m], float(matrix.error[len(matrix.columns) + m]))
        for m in range(len(matrix.measures))
    ]
    ratio = np.concatenate([ratio, np.stack(densities, axis=2)], axis=2)
    quiet = matrix.silent & matrix.applies
    told: Floats = np.where(quiet, 0.0, np.where(matrix.applies, ratio, np.log(matrix.error)))
    return told


def _log_density(value: Floats, spread: Floats, error: float) -> Floats:
    """(N, T): log density of a measure against a flat one over a factor of 100, on a log scale.

    Method: a trapezoid over log(value), full between the common bounds, falling to zero at the
    extremes, mixed with ``error`` times the flat density.
    """
    logs = np.log(np.nan_to_num(spread, nan=1.0))
    least, low, high, most = (logs[None, :, i] for i in range(4))
    x = np.log(np.nan_to_num(value, nan=1.0))[:, None]
    gap = 1e-9
    rising = np.clip((x - least + gap) / (low - least + gap), 0.0, 1.0)
    falling = np.clip((most - x + gap) / (most - high + gap), 0.0, 1.0)
    area = (high - low) + 0.5 * ((low - least) + (most - high)) + 1e-6
    height = np.minimum(rising, falling) * np.log(100.0) / np.maximum(area, 0.1)
    density: Floats = np.log((1.0 - error) * height + error)
    return density


def log_prior(book: Book, matrix: Matrix, day_of_year: int | None) -> Floats:
    """Log prior of each taxon and of "none of these", shape (T + 1,).

    Even over the book, lowered out of season for taxa that are not dangerous: an entry out of its
    season raises "none of these", and a danger is never lowered.
    """
    weight = np.ones(len(matrix.taxa))
    if day_of_year is not None:
        for row, taxon in enumerate(book.taxa.values()):
            if taxon.season is None or taxon.dangerous or taxon.season.anchor != "day_of_year":
                continue
            apart = abs(day_of_year - taxon.season.median)
            away = min(apart, 365.0 - apart) / taxon.season.sd_days
            weight[row] = max(OUT_OF_SEASON, float(np.exp(-0.5 * max(0.0, away - 1.0) ** 2)))
    share = weight / len(matrix.taxa) * (1.0 - OTHER_PRIOR)
    logs: Floats = np.log(np.append(share, 1.0 - share.sum()))
    return logs


def fit_score(matrix: Matrix, seen: Seen, row: int, against: Fit) -> Floats:
    """How well N bodies go with one taxon: 1 nothing odd, towards 0 many odd things at once, (N,).

    Method: product over evidence groups of the chance of what was noted relative to the taxon's most
    usual state, taken only over doubtful and contradicting observations.

    Source: Wayne et al. 1984, J. Clin. Microbiol. 20, 722-729 (abstract seen): beside the score that
    separates candidates stands a second one for the fit to the best of them, and a bad fit rejects.
    """
    score = np.ones((len(seen), len(matrix.groups)))
    odd = against.doubtful | against.mismatch
    for position in np.flatnonzero(odd.any(axis=0)):
        error = float(matrix.error[position])
        chance = np.full(len(seen), error)
        if position < len(matrix.columns):
            span = matrix.columns[position].span
            share = matrix.share[row, span]
            met = (seen.observed[:, span] * share).max(axis=1) / share.max()
            chance = np.maximum(met, error)
        group = matrix.group[position]
        score[:, group] = np.where(odd[:, position], np.minimum(score[:, group], chance), score[:, group])
    product: Floats = score.prod(axis=1)
    return product
