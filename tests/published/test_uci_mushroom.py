"""The likelihood and information code on the UCI mushroom table, against scikit-learn and scipy.

The table (Schlimmer 1987, drawn from 23 descriptions of Lincoff 1981) serves as data for the arithmetic
only: perfect scores on it mean nothing for anybody's safety. It comes from the Debian package
r-cran-cba (GPL-2), read without R, and is skipped where UNDEROAK_OUTSIDE_DATA does not hold it.
"""

from __future__ import annotations

import warnings
from typing import Any

import numpy as np
import numpy.typing as npt
import pytest
from scipy.stats import entropy

from tests.outside_data import outside
from underoak.vetting.likelihood import log_likelihood, posterior, smoothed
from underoak.vetting.next_check import information_gain

Floats = npt.NDArray[np.float64]
Codes = npt.NDArray[np.int64]
#: 120 of 3528 odourless rows are poisonous: check-values of the research notes, measured there.
ODOURLESS_POISONOUS = 0.034


@pytest.fixture(scope="module")
def table() -> Any:
    """The table as a data frame of text levels."""
    rdata = pytest.importorskip("rdata")
    base = ("r-cran-cba", "usr", "lib", "R", "site-library", "cba", "data", "Mushroom.rda")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return rdata.read_rda(str(outside(*base)))["Mushroom"]


@pytest.fixture(scope="module")
def coded(table: Any) -> tuple[Codes, Codes]:
    """Class codes (rows,) and character codes (rows, 21); the root, often missing, is left out."""
    columns = [c for c in table.columns if c != "class" and not table[c].isna().any()]
    codes = np.column_stack([table[c].astype("category").cat.codes for c in columns])
    return np.asarray(table["class"].astype("category").cat.codes), codes.astype(np.int64)


def our_tables(classes: Codes, codes: Codes, alpha: float) -> tuple[Floats, list[Floats]]:
    prior = np.bincount(classes) / len(classes)
    tables = []
    for column in codes.T:
        counts = np.zeros((2, int(column.max()) + 1))
        np.add.at(counts, (classes, column), 1.0)
        tables.append(smoothed(counts, alpha))
    return np.log(prior), tables


def one_hot(codes: Codes, tables: list[Floats]) -> list[Floats]:
    return [np.eye(t.shape[1])[column] for column, t in zip(codes.T, tables, strict=True)]


@pytest.mark.outside
def test_the_table_has_the_published_size(table: Any) -> None:
    assert table.shape == (8124, 23)
    assert (table["class"] == "edible").sum() == 4208


@pytest.mark.outside
@pytest.mark.parametrize("alpha", [1.0, 0.1])
def test_posterior_equals_categorical_naive_bayes(coded: tuple[Codes, Codes], alpha: float) -> None:
    """Reference: sklearn.naive_bayes.CategoricalNB with the same smoothing, to 1e-9."""
    naive_bayes = pytest.importorskip("sklearn.naive_bayes")
    classes, codes = coded
    train = np.arange(len(classes)) % 3 != 0
    model = naive_bayes.CategoricalNB(alpha=alpha, min_categories=codes.max(axis=0) + 1)
    model.fit(codes[train], classes[train])
    prior, _ = our_tables(classes[train], codes[train], alpha)
    tables = [np.exp(log) for log in model.feature_log_prob_]
    ours = []
    for width, column in zip(codes.max(axis=0) + 1, codes[train].T, strict=True):
        counts = np.zeros((2, width))
        np.add.at(counts, (classes[train], column), 1.0)
        ours.append(smoothed(counts, alpha))
    for mine, theirs in zip(ours, tables, strict=True):
        np.testing.assert_allclose(mine, theirs, atol=1e-12)
    noted = one_hot(codes[~train], ours)
    shares = posterior(prior, log_likelihood(ours, noted))
    np.testing.assert_allclose(shares, model.predict_proba(codes[~train]), atol=1e-9)


@pytest.mark.outside
def test_blank_characters_add_nothing(coded: tuple[Codes, Codes]) -> None:
    """A row in which nothing was noted keeps the prior: blank is no value."""
    classes, codes = coded
    prior, tables = our_tables(classes, codes, 1.0)
    blank = [np.zeros((1, t.shape[1])) for t in tables]
    np.testing.assert_allclose(posterior(prior, log_likelihood(tables, blank))[0], np.exp(prior))


@pytest.mark.outside
def test_information_gain_equals_the_difference_of_entropies(coded: tuple[Codes, Codes]) -> None:
    """Reference: scipy.stats.entropy of the class before and within each state."""
    classes, codes = coded
    prior = np.bincount(classes) / len(classes)
    for column in codes.T:
        counts = np.zeros((2, int(column.max()) + 1))
        np.add.at(counts, (classes, column), 1.0)
        within = sum(n.sum() / len(classes) * entropy(n) for n in counts.T if n.sum())
        ours = information_gain(prior, counts / counts.sum(axis=1, keepdims=True))
        assert ours == pytest.approx(entropy(prior) - within, abs=1e-12)


@pytest.mark.outside
def test_no_odour_leaves_the_published_share_of_poisonous_rows(table: Any) -> None:
    """One character alone is never enough: among odourless rows 3.4 % are poisonous."""
    odourless = table[table["odor"] == "none"]
    assert len(odourless) == 3528
    share = (odourless["class"] == "poisonous").mean()
    assert share == pytest.approx(ODOURLESS_POISONOUS, abs=0.0005)
