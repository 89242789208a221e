"""Shares, counts, means and ratios with their uncertainty and the number of records behind them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

#: Confidence of every interval of the review.
CONFIDENCE = 0.95


@dataclass(frozen=True, slots=True)
class Estimate:
    """A figure with its 95 % interval; ``n`` records stand behind it.

    ``low`` and ``high`` are None where the records are too few to tell. ``standard_error`` and ``df``
    (degrees of freedom) are 0 where the interval is not that of a mean.
    """

    value: float
    low: float | None
    high: float | None
    n: int
    standard_error: float = 0.0
    df: float = 0.0

    def excludes(self, value: float) -> bool:
        """Whether the interval is known and lies wholly on one side of ``value``."""
        return self.low is not None and self.high is not None and not self.low <= value <= self.high

    def p_against(self, value: float) -> float:
        """Two-sided p of Student's test of a mean or ratio against ``value``; 1 where there is none."""
        from scipy.special import stdtr

        if self.standard_error <= 0.0 or self.df <= 0.0:
            return 1.0
        return 2.0 * float(stdtr(self.df, -abs(self.value - value) / self.standard_error))


def poisson_interval(count: int, confidence: float = CONFIDENCE) -> tuple[float, float]:
    """Exact interval for the mean of a Poisson count.

    Parameters
    ----------
    count : events seen, 0 or more
    confidence : 0 to 1, exclusive

    Returns
    -------
    lower and upper bound of the mean, events; the lower bound of a zero count is 0.

    Raises
    ------
    ValueError   when count is negative or confidence is outside 0 to 1

    Method
    ------
    lower = chi2(a/2; 2 count)/2, upper = chi2(1 - a/2; 2 count + 2)/2 with a = 1 - confidence.

    Source
    ------
    garwood_1936, from memory; published check: tests/published/review.toml

    Example
    -------
    >>> [round(bound, 2) for bound in poisson_interval(10)]
    [4.8, 18.39]
    """
    from scipy.special import gammaincinv

    if count < 0 or not 0.0 < confidence < 1.0:
        raise ValueError("count must be 0 or more and confidence between 0 and 1")
    tail = (1.0 - confidence) / 2.0
    low = float(gammaincinv(count, tail)) if count else 0.0
    return low, float(gammaincinv(count + 1, 1.0 - tail))


def share_of(count: int, of: int, confidence: float = CONFIDENCE) -> Estimate:
    """Share of records that have something, with the exact binomial interval.

    Raises ValueError unless 0 <= count <= of and of >= 1.

    Method: the bounds are quantiles of beta distributions: a/2 of Beta(k, n-k+1), 1 - a/2 of Beta(k+1, n-k).
    Source: clopper_pearson_1934, from memory; published check: tests/published/review.toml.
    """
    from scipy.special import betaincinv

    if not 0 <= count <= of or of < 1:
        raise ValueError("count must lie between 0 and a number of records of at least 1")
    tail = (1.0 - confidence) / 2.0
    low = float(betaincinv(count, of - count + 1, tail)) if count else 0.0
    high = float(betaincinv(count + 1, of - count, 1.0 - tail)) if count < of else 1.0
    return Estimate(count / of, low, high, of)


def chance_of_return(
    fruited: int, looked: int, prior_mean: float, prior_seasons: float, confidence: float = CONFIDENCE
) -> Estimate:
    """Chance that something happens in a season, from ``fruited`` of ``looked`` seasons and a prior.

    Parameters
    ----------
    fruited, looked : seasons, 0 <= fruited <= looked
    prior_mean : chance between 0 and 1, exclusive
    prior_seasons : how many seasons the prior counts as, more than 0

    Method
    ------
    Exact quantiles of the posterior Beta(m s + k, (1 - m) s + n - k), equal tails; value = its mean
    (m s + k) / (s + n).

    Source
    ------
    Beta-binomial conjugacy: standard result.
    """
    from scipy.special import betaincinv

    if not 0 <= fruited <= looked or not 0.0 < prior_mean < 1.0 or prior_seasons <= 0.0:
        raise ValueError("0 <= fruited <= looked, a prior between 0 and 1 and more than 0 seasons are needed")
    a = prior_mean * prior_seasons + fruited
    b = (1.0 - prior_mean) * prior_seasons + looked - fruited
    tail = (1.0 - confidence) / 2.0
    return Estimate(a / (a + b), float(betaincinv(a, b, tail)), float(betaincinv(a, b, 1.0 - tail)), looked)


def mean_of(values: Sequence[float]) -> Estimate:
    """Mean with Student's interval; without bounds for a single value. ValueError for none.

    Method: mean +- t(0.975; n-1) s / sqrt(n). Source: student_1908, from memory.
    """
    if not values:
        raise ValueError("a mean needs at least one value")
    return ratio_of(values, [1.0] * len(values))


def ratio_of(above: Sequence[float], below: Sequence[float]) -> Estimate:
    """Ratio of two sums over the same records, such as kilograms to hours over visits.

    Parameters
    ----------
    above, below : equal lengths, at least one; ``below`` sums to more than 0

    Returns
    -------
    the ratio; its bounds are None for a single record.

    Method
    ------
    r = sum y / sum x; s^2 = n / (n - 1) sum (y - r x)^2 / (sum x)^2; r +- t(0.975; n-1) s. Whole records
    are the unit, so finds that come in clumps widen it as they should.

    Source
    ------
    cochran_1977 section 2.11 (ratio estimator), from memory.
    """
    from scipy.special import stdtrit

    total = math.fsum(below)
    if len(above) != len(below) or total <= 0.0:
        raise ValueError("both lists need one length, and the lower one a sum of more than 0")
    n, ratio = len(above), math.fsum(above) / total
    if n < 2:
        return Estimate(ratio, None, None, n)
    scatter = math.fsum((y - ratio * x) ** 2 for y, x in zip(above, below, strict=True))
    error = math.sqrt(n / (n - 1) * scatter) / total
    wide = float(stdtrit(n - 1, 0.5 + CONFIDENCE / 2.0)) * error
    return Estimate(ratio, ratio - wide, ratio + wide, n, error, n - 1.0)


def difference(one: Estimate, other: Estimate) -> Estimate:
    """How much more ``one`` is than ``other``; both from `mean_of` or `ratio_of`.

    Method: Welch's interval with Satterthwaite's degrees of freedom (welch_1947, from memory). Without
    bounds where one of the two has none.
    """
    from scipy.special import stdtrit

    value, n = one.value - other.value, one.n + other.n
    if one.low is None or other.low is None:
        return Estimate(value, None, None, n)
    parts = one.standard_error**2, other.standard_error**2
    error = math.sqrt(sum(parts))
    if error == 0.0:
        return Estimate(value, value, value, n, 0.0, one.df + other.df)
    df = error**4 / (parts[0] ** 2 / one.df + parts[1] ** 2 / other.df)
    wide = float(stdtrit(df, 0.5 + CONFIDENCE / 2.0)) * error
    return Estimate(value, value - wide, value + wide, n, error, df)
