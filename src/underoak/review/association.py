"""Whether two things noted of finds go together: exact tests for few records, honest about how few."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations, permutations
from typing import TypeVar

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
_Number = TypeVar("_Number", np.float64, np.intp)

#: Rearrangements looked at where all of them are too many, and their seed.
DRAWN, SEED = 9_999, 1
_MOST_ENUMERATED = 20_000
_MOST_DRAWN = 60
_ALMOST = 1.0 - 1e-9


@dataclass(frozen=True, slots=True)
class Association:
    """What a test showed: its statistic, the chance of one at least so far out, and on how many records.

    ``least_p`` is the smallest p that records like these could have given at all: where it lies above 0.05
    nothing could have been shown. ``exact`` is false where rearrangements were drawn at random.
    """

    test: str
    statistic: float
    p: float
    least_p: float
    n: int
    exact: bool

    @property
    def could_show(self) -> bool:
        """Whether any outcome of so few records would have shown something at the 5 % level."""
        return self.least_p <= 0.05


def rank_correlation(x: Sequence[float], y: Sequence[float]) -> Association:
    """Kendall's tau-b with a two-sided p over all orders of ``y``.

    Parameters
    ----------
    x, y : equal lengths, at least 2; ties are allowed

    Raises
    ------
    ValueError   for unequal lengths, fewer than 2 records, or where all x or all y are equal

    Method
    ------
    tau-b = S / sqrt((n0 - ties x)(n0 - ties y)). p: all n! orders up to n = 8; beyond it the exact null
    distribution without ties; with ties 9,999 drawn orders (the one seen added) up to n = 60, then the
    normal distribution.

    Source
    ------
    kendall_1970, from memory; published check: tests/published/review.toml.
    """
    return _rank_correlation(tuple(x), tuple(y))


@lru_cache(maxsize=1024)
def _rank_correlation(x: tuple[float, ...], y: tuple[float, ...]) -> Association:
    """The same, kept: every season that is over asks it anew with the same records."""
    a, b = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
    n = len(a)
    if n != len(b) or n < 2 or len(np.unique(a)) < 2 or len(np.unique(b)) < 2:
        raise ValueError("two lists of one length that both vary are needed")
    first, second = np.triu_indices(n, 1)
    signs = np.sign(a[first] - a[second])
    norm = math.sqrt(float((signs**2).sum()) * float((np.sign(b[first] - b[second]) ** 2).sum()))

    turned = np.sign(b[:, None] - b).ravel()  # how each two values of y stand to each other

    def tau(pairs: npt.NDArray[np.intp]) -> FloatArray:
        result: FloatArray = turned[pairs] @ signs / norm
        return result

    seen = float(tau(first * n + second))
    tied = len(np.unique(a)) < n or len(np.unique(b)) < n
    if n > 8 and (n > _MOST_DRAWN or not tied):
        from scipy.stats import kendalltau

        p = float(kendalltau(a, b, method="asymptotic" if tied else "exact").pvalue)
        return Association("Kendall", seen, p, 0.0 if tied else 2.0 / math.factorial(min(n, 20)), n, not tied)
    pairs = _pairs_in_all_orders(n) if n <= 8 else _pairs_of(_drawn_orders(np.arange(n)))
    p, least = _two_sided(np.abs(tau(pairs)), abs(seen), drawn=n > 8)
    return Association("Kendall", seen, p, least, n, n <= 8)


def two_groups(one: Sequence[float], other: Sequence[float]) -> Association:
    """Mann and Whitney's U of ``one`` against ``other`` with a two-sided p, exact also with ties.

    Raises ValueError where a group is empty.

    Method: U = R1 - n1 (n1 + 1) / 2 with mean ranks; p over all ways to part the ranks, up to 20,000 of
    them, else over 9,999 drawn ones. Source: mann_whitney_1947, from memory.
    """
    from scipy.stats import rankdata

    if not one or not other:
        raise ValueError("both groups need a record")
    ranks = np.asarray(rankdata([*one, *other]), dtype=float)
    n, size = len(ranks), len(one)
    least_sum, middle = size * (size + 1) / 2.0, size * (n + 1) / 2.0
    seen = float(ranks[:size].sum())
    exact = math.comb(n, size) <= _MOST_ENUMERATED
    if exact:
        sums = np.array([sum(part) for part in combinations(ranks.tolist(), size)])
    else:
        sums = _drawn_orders(ranks)[:, :size].sum(axis=1)
    p, least = _two_sided(np.abs(sums - middle), abs(seen - middle), drawn=not exact)
    return Association("Mann-Whitney", seen - least_sum, p, least, n, exact)


def contingency(table: Sequence[Sequence[int]]) -> Association:
    """Fisher's exact test of a table of counts, of any size; the statistic is the table's own chance.

    Raises ValueError for a table without two filled rows and two filled columns.

    Method
    ------
    p = sum of the chances of all tables with these margins that are no likelier than the one seen
    (Freeman and Halton); where there are over 20,000 of them, the share of 9,999 drawn ones.

    Source
    ------
    fisher_1935, freeman_halton_1951, from memory; published check: tests/published/review.toml.
    """
    counts = np.asarray(table, dtype=np.int64)
    counts = counts[counts.sum(axis=1) > 0][:, counts.sum(axis=0) > 0]
    if counts.ndim != 2 or min(counts.shape) < 2:
        raise ValueError("a table needs two rows and two columns with records")
    rows, columns = counts.sum(axis=1).tolist(), counts.sum(axis=0).tolist()
    n = int(counts.sum())
    fixed = sum(map(math.lgamma, (m + 1 for m in [*rows, *columns]))) - math.lgamma(n + 1)
    seen = math.exp(fixed - sum(math.lgamma(int(c) + 1) for c in counts.ravel()))
    chances = _table_chances(rows, columns, fixed)
    if chances is not None:
        p = float(chances[chances * _ALMOST <= seen].sum())
        least = float(chances[chances * _ALMOST <= chances.min()].sum())
        return Association("Fisher", seen, min(p, 1.0), least, n, True)
    drawn = _drawn_chances(counts, fixed)
    p = (1 + int((drawn * _ALMOST <= seen).sum())) / (DRAWN + 1)
    return Association("Fisher", seen, p, 1.0 / (DRAWN + 1), n, False)


def holm(p: Sequence[float]) -> list[float]:
    """Holm's step-down correction of several p, in the order given.

    Method: sorted upward, p(i) times (m - i + 1), never smaller than the one before, at most 1.
    Source: holm_1979, from memory.
    """
    adjusted = [0.0] * len(p)
    most = 0.0
    for rank, at in enumerate(sorted(range(len(p)), key=lambda n: p[n])):
        most = max(most, min(1.0, (len(p) - rank) * p[at]))
        adjusted[at] = most
    return adjusted


def _two_sided(values: FloatArray, seen: float, *, drawn: bool) -> tuple[float, float]:
    """Share of rearrangements at least as far out as the one seen, and as the farthest."""
    if drawn:
        return (1 + int((values >= seen - 1e-9).sum())) / (len(values) + 1), 1.0 / (len(values) + 1)
    return float((values >= seen - 1e-9).mean()), float((values >= values.max() - 1e-9).mean())


@lru_cache(maxsize=16)
def _pairs_in_all_orders(n: int) -> npt.NDArray[np.intp]:
    return _pairs_of(np.array(list(permutations(range(n))), dtype=np.intp))


def _pairs_of(orders: npt.NDArray[np.intp]) -> npt.NDArray[np.intp]:
    """Number i n + j of each two places i, j in every order (orders, n): shape (orders, n (n - 1) / 2)."""
    n = orders.shape[1]
    first, second = np.triu_indices(n, 1)
    pairs: npt.NDArray[np.intp] = orders[:, first] * n + orders[:, second]
    return pairs


def _drawn_orders(values: npt.NDArray[_Number]) -> npt.NDArray[_Number]:
    rng = np.random.default_rng(SEED)
    return rng.permuted(np.tile(values, (DRAWN, 1)), axis=1)


def _table_chances(rows: list[int], columns: list[int], fixed: float) -> FloatArray | None:
    """Chance of every table with these margins, None where they are too many."""
    most = math.prod(min(row, column) + 1 for row in rows[1:] for column in columns[1:])
    if most > 5 * _MOST_ENUMERATED:  # an upper bound: the last row and column follow from the others
        return None
    logs: list[float] = []
    for log_cells in _tables(rows, columns):
        logs.append(fixed - log_cells)
        if len(logs) > _MOST_ENUMERATED:
            return None
    chances: FloatArray = np.exp(np.array(logs))
    return chances


def _tables(rows: list[int], columns: list[int]) -> Iterator[float]:
    """Sum of log factorials of the cells, for every table with these margins."""
    if len(columns) == 1:
        yield sum(math.lgamma(left + 1) for left in rows)
        return
    for column in _fillings(rows, columns[0]):
        cells = sum(math.lgamma(cell + 1) for cell in column)
        left = [total - cell for total, cell in zip(rows, column, strict=True)]
        for rest in _tables(left, columns[1:]):
            yield cells + rest


def _fillings(rows: list[int], total: int) -> Iterator[tuple[int, ...]]:
    """All ways to put ``total`` records into one column, no more than each row has left."""
    if len(rows) == 1:
        if total <= rows[0]:
            yield (total,)
        return
    for cell in range(max(0, total - sum(rows[1:])), min(rows[0], total) + 1):
        for rest in _fillings(rows[1:], total - cell):
            yield (cell, *rest)


def _drawn_chances(counts: npt.NDArray[np.int64], fixed: float) -> FloatArray:
    from scipy.special import gammaln

    height, width = counts.shape
    row = np.repeat(np.arange(height), counts.sum(axis=1))
    column = np.repeat(np.arange(width), counts.sum(axis=0)).astype(float)
    cells = row * width + _drawn_orders(column).astype(np.intp)
    flat = (np.arange(DRAWN)[:, None] * (height * width) + cells).ravel()
    tables = np.bincount(flat, minlength=DRAWN * height * width).reshape(DRAWN, -1)
    chances: FloatArray = np.exp(fixed - gammaln(tables + 1.0).sum(axis=1))
    return chances
