"""Vetting against CategoricalNB on the same table, and guided checks against a fixed order."""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np
from sklearn.naive_bayes import CategoricalNB

from underoak.book.load import load_book
from underoak.vetting.batch import stand
from underoak.vetting.case import case, noted
from underoak.vetting.guidance import fixed_checks, guided_checks
from underoak.vetting.likelihood import log_prior, shares
from underoak.vetting.matrix import compiled
from underoak.vetting.next_check import next_checks
from underoak.vetting.simulate import FLAWLESS, ObserverError, Scene, as_document, finds
from underoak.vetting.verdict import evaluate

BOOK = load_book()
MATRIX = compiled(BOOK)
HONEY = "desarmillaria_caespitosa"


def best_of(runs: int, job: Callable[[], object]) -> float:
    """Shortest wall time of a job, s."""
    times = []
    for _ in range(runs):
        started = time.perf_counter()
        job()
        times.append(time.perf_counter() - started)
    return min(times)


def scene(truth: str, observer: ObserverError) -> Scene:
    """Finds of one taxon under the honey mushroom's name."""
    rows = MATRIX.rows
    return Scene(BOOK, MATRIX, rows[truth], rows[HONEY], observer, np.random.default_rng(3))


def reference() -> CategoricalNB:
    """CategoricalNB with one class a taxon, fitted to 30 simulated finds of each."""
    rng = np.random.default_rng(4)
    rows = [finds(Scene(BOOK, MATRIX, r, r, FLAWLESS, rng), 30) for r in range(len(MATRIX.taxa))]
    codes = np.concatenate([_codes(seen.observed) for seen in rows])
    widths = [len(c.states) + 1 for c in MATRIX.columns]
    return CategoricalNB(min_categories=widths).fit(codes, np.repeat(np.arange(len(rows)), 30))


def _codes(observed: np.ndarray) -> np.ndarray:
    """States as numbers, 0 for blank: the plain way, which takes blank for a value."""
    spans = [observed[:, c.span] for c in MATRIX.columns]
    return np.column_stack([np.where(s.any(axis=1), s.argmax(axis=1) + 1, 0) for s in spans])


def main() -> None:
    """Print the ratios."""
    model = reference()
    some = finds(scene("galerina_marginata", ObserverError()), 10_000)
    codes = _codes(some.observed)
    one = best_of(50, lambda: model.predict(codes[:1]))
    full = as_document(MATRIX, finds(scene(HONEY, FLAWLESS), 1), 0, HONEY)
    whole = best_of(50, lambda: evaluate(BOOK, full))
    print(
        f"one full evaluation, {len(BOOK.taxa)} taxa: {whole * 1e3:.1f} ms, "
        f"{whole / one:.1f} x CategoricalNB.predict of one row ({one * 1e3:.2f} ms); wanted under 5 ms"
    )
    find = noted(BOOK, as_document(MATRIX, some, 0, HONEY, frozenset({"form", "hymenium"})).bodies)
    under = case(BOOK, find, BOOK.taxa[HONEY])
    share = shares(MATRIX, find.seen, log_prior(BOOK, MATRIX, None))
    check = best_of(20, lambda: next_checks(under, 0, share))
    print(f"next check: {check * 1e3:.1f} ms, {check / one:.1f} x; wanted under 50 ms")
    many = best_of(3, lambda: stand(BOOK, MATRIX, HONEY, some))
    predicted = best_of(3, lambda: model.predict(codes))
    print(
        f"10,000 finds at once: {many:.2f} s, {many / predicted:.1f} x CategoricalNB.predict of 10,000 rows, "
        f"{whole * 10_000 / many:.0f} times faster than one by one"
    )
    _checks()


def _checks() -> None:
    guided, fixed = [], []
    for taxon in (t for t in BOOK.taxa.values() if t.gathered):
        row = MATRIX.rows[taxon.id]
        seen = finds(Scene(BOOK, MATRIX, row, row, FLAWLESS, np.random.default_rng(5)), 1)
        document = as_document(MATRIX, seen, 0, taxon.id)
        counts = guided_checks(BOOK, document), fixed_checks(BOOK, document)
        if counts[0] is not None and counts[1] is not None:
            guided.append(counts[0])
            fixed.append(counts[1])
    print(
        f"checks until consistent over {len(guided)} kinds: {np.mean(guided):.1f} guided, "
        f"{np.mean(fixed):.1f} in fixed order, ratio {sum(guided) / sum(fixed):.2f}; wanted at most 0.60"
    )


if __name__ == "__main__":
    main()
