"""Safety trials: how often an invented dangerous find would be called by a gathered name.

``python -m underoak.vetting.trials`` prints the tables. They bound the rules and the code, not nature.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from underoak.book.load import Book, load_book
from underoak.vetting.batch import stand
from underoak.vetting.exclusion import looks_alike
from underoak.vetting.matrix import Matrix, compiled
from underoak.vetting.rare import FalseChance, false_chances
from underoak.vetting.simulate import FLAWLESS, ObserverError, Scene, finds

#: A deadly pair must be less likely than this to go wrong: more is required of the name until it is.
MOST_DEADLY = 1e-5


@dataclass(frozen=True, slots=True)
class PairTrial:
    """False "consistent" among simulated finds of one dangerous taxon under one hoped name."""

    truth: str
    hoped: str
    danger: str
    finds: int
    false_consistent: int

    @property
    def upper_95(self) -> float:
        """Exact one-sided 95 % upper bound of the rate (Clopper and Pearson 1934, from memory)."""
        return upper_bound(self.false_consistent, self.finds)


def upper_bound(events: int, trials: int, level: float = 0.95) -> float:
    """Exact one-sided upper bound of a binomial rate.

    Method: 1 - (1 - level)^(1/n) for no events (the rule of three, 3/n, is its approximation: Eypasch
    et al. 1995, BMJ 311, 619, seen); else the ``level`` quantile of Beta(events + 1, trials - events).
    """
    if events == 0:
        return float(1.0 - (1.0 - level) ** (1.0 / trials))
    if events >= trials:
        return 1.0
    from scipy.stats import beta

    return float(beta.ppf(level, events + 1, trials - events))


def confused_pairs(book: Book, matrix: Matrix) -> list[tuple[str, str]]:
    """(dangerous, gathered): every dangerous taxon under every name it can look like.

    Deadly ones are put on trial under every gathered name, alike or not.
    """
    pairs = []
    for target in book.taxa.values():
        if not target.gathered:
            continue
        alike = looks_alike(book, matrix, target.id)
        pairs += [
            (taxon.id, target.id)
            for row, taxon in enumerate(book.taxa.values())
            if taxon.id != target.id and (taxon.harm.danger == "deadly" or (taxon.dangerous and alike[row]))
        ]
    return sorted(pairs)


def danger_trial(
    book: Book, truth: str, hoped: str, *, number: int, seed: int, observer: ObserverError
) -> PairTrial:
    """``number`` finds of ``truth``, all noted with ``hoped`` in mind.

    What the hoped name requires is always noted (the observer is diligent), the rest goes missing at
    the observer's rate. Age, condition, ground and count are taken as sound and complete.
    """
    matrix = compiled(book)
    rng = np.random.default_rng([seed, *map(ord, f"{truth}/{hoped}")])
    keep = [matrix.positions[name] for name in book.taxa[hoped].required]
    scene = Scene(book, matrix, matrix.rows[truth], matrix.rows[hoped], observer, rng)
    standing = stand(book, matrix, hoped, finds(scene, number, keep))
    return PairTrial(truth, hoped, book.taxa[truth].harm.danger, number, int(standing.consistent.sum()))


def danger_trials(
    book: Book, pairs: Sequence[tuple[str, str]], *, number: int, seed: int, observer: ObserverError
) -> Iterator[PairTrial]:
    """One trial for each (dangerous, gathered) pair."""
    for truth, hoped in pairs:
        yield danger_trial(book, truth, hoped, number=number, seed=seed, observer=observer)


@dataclass(frozen=True, slots=True)
class LeftOut:
    """Finds of a taxon the book does not know: how many became consistent, under which name."""

    taxon: str
    danger: str
    finds: int
    consistent: int
    worst_target: str


def without(book: Book, taxon_id: str) -> Book:
    """The book as if nobody had ever written this entry."""
    return replace(
        book,
        version=f"{book.version} without {taxon_id}",
        taxa={k: v for k, v in book.taxa.items() if k != taxon_id},
        confusions={k: v for k, v in book.confusions.items() if taxon_id not in k},
    )


def left_out_trial(book: Book, taxon_id: str, *, number: int, seed: int) -> LeftOut:
    """Finds of ``taxon_id`` against the book without it, under every gathered name it can look like."""
    poorer, matrix = without(book, taxon_id), compiled(book)
    small = matrix.without(taxon_id)
    rng = np.random.default_rng([seed, *map(ord, taxon_id)])
    row = matrix.rows[taxon_id]
    total, most, worst = 0, 0, ""
    targets = [t.id for t in poorer.taxa.values() if t.gathered and looks_alike(book, matrix, t.id)[row]]
    for target in targets:
        keep = [matrix.positions[name] for name in book.taxa[target].required]
        scene = Scene(book, matrix, row, matrix.rows[target], ObserverError(), rng)
        hits = int(stand(poorer, small, target, finds(scene, number, keep)).consistent.sum())
        total += hits
        if hits > most:
            most, worst = hits, target
    return LeftOut(taxon_id, book.taxa[taxon_id].harm.danger, number * len(targets), total, worst)


@dataclass(frozen=True, slots=True)
class Usefulness:
    """Complete and correct finds of a gathered taxon that reach consistent."""

    taxon: str
    finds: int
    consistent: int

    @property
    def share(self) -> float:
        """Share that reaches consistent."""
        return self.consistent / self.finds


def usefulness(book: Book, taxon_id: str, *, number: int = 1000, seed: int = 1) -> Usefulness:
    """Finds of a gathered taxon, everything noted and nothing wrong or faded."""
    matrix = compiled(book)
    rng = np.random.default_rng([seed, *map(ord, taxon_id)])
    row = matrix.rows[taxon_id]
    seen = finds(Scene(book, matrix, row, row, FLAWLESS, rng), number)
    return Usefulness(taxon_id, number, int(stand(book, matrix, taxon_id, seen).consistent.sum()))


def main(arguments: list[str] | None = None) -> int:
    """Print the safety tables; 1 when a deadly find was called by a gathered name, or too likely to be."""
    options = _options(arguments)
    book = load_book()
    only = [book.find(name).id for name in options.only] or list(book.taxa)
    pairs = [p for p in confused_pairs(book, compiled(book)) if p[0] in only]
    deadly = [p for p in pairs if book.taxa[p[0]].harm.danger == "deadly"]
    observer = ObserverError(hoped=options.wishful, missing=options.missing)
    tried = deadly if options.deadly else pairs
    trials = list(danger_trials(book, tried, number=options.finds, seed=options.seed, observer=observer))
    _print(_danger_lines(trials, observer))
    few = max(1, options.finds // 10)
    if not options.deadly:
        _print(_left_out_lines([left_out_trial(book, t, number=few, seed=options.seed) for t in only]))
        useful = [t for t in only if book.taxa[t].gathered]
        _print(_useful_lines([usefulness(book, t, seed=options.seed) for t in useful]))
    chances = list(false_chances(book, deadly, number=few, seed=options.seed, observer=observer))
    _print(_chance_lines(chances, options.finds))
    called = any(t.false_consistent for t in trials if t.danger == "deadly")
    return 1 if called or any(c.chance > MOST_DEADLY for c in chances) else 0


def _options(arguments: list[str] | None) -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="underoak.vetting.trials", description=__doc__)
    parser.add_argument("--finds", type=int, default=3000, help="simulated finds for each pair")
    parser.add_argument("--seed", type=int, default=1)
    usual = ObserverError()
    parser.add_argument("--wishful", type=float, default=usual.hoped, help="share of wrong notes hoped for")
    parser.add_argument("--missing", type=float, default=usual.missing, help="chance a note is missing")
    parser.add_argument("--only", action="append", default=[], metavar="TAXON", help="only these true taxa")
    parser.add_argument("--deadly", action="store_true", help="only the tables of the deadly kinds")
    return parser.parse_args(arguments)


def _print(lines: Iterator[str]) -> None:
    sys.stdout.writelines(f"{line}\n" for line in lines)


def _danger_lines(trials: list[PairTrial], observer: ObserverError) -> Iterator[str]:
    yield "1. Dangerous finds called by a gathered name"
    yield f"   {observer}; a character's own error is 0.20 for colour and shape, 0.05 for structure"
    yield "   danger  pairs    finds  false  worst pair: false, exact 95 % upper bound"
    for danger in ("deadly", "organ", "severe", "mild"):
        of_kind = [t for t in trials if t.danger == danger]
        if not of_kind:
            continue
        worst = max(of_kind, key=lambda t: (t.false_consistent, t.truth, t.hoped))
        finds_made = sum(t.finds for t in of_kind)
        false = sum(t.false_consistent for t in of_kind)
        yield (
            f"   {danger:7} {len(of_kind):5} {finds_made:8} {false:6}  {worst.truth} as {worst.hoped}: "
            f"{worst.false_consistent} of {worst.finds}, {worst.upper_95:.2%}"
        )
    yield "   every pair with a false one:"
    for t in sorted(trials, key=lambda t: -t.false_consistent):
        if t.false_consistent:
            rate = f"{t.false_consistent} of {t.finds}, at most {t.upper_95:.2%}"
            yield f"   {t.danger:7} {t.truth} as {t.hoped}: {rate}"


def _left_out_lines(left: list[LeftOut]) -> Iterator[str]:
    yield "2. Finds of a kind that was taken out of the book"
    for kind in ("deadly", "organ", "severe", "mild", "none"):
        some = [t for t in left if t.danger == kind and t.finds]
        if some:
            finds_made, hits = sum(t.finds for t in some), sum(t.consistent for t in some)
            share = f"{hits:6} consistent ({hits / finds_made:.3%})"
            yield f"   {kind:7} {len(some):4} taxa {finds_made:8} finds {share}"
    for t in sorted(left, key=lambda t: -t.consistent):
        if t.consistent:
            yield f"   {t.danger:7} {t.taxon}: {t.consistent} of {t.finds}, most as {t.worst_target}"


def _useful_lines(useful: list[Usefulness]) -> Iterator[str]:
    yield "3. Complete and correct finds that reach consistent"
    for u in sorted(useful, key=lambda u: u.share):
        yield f"   {u.share:6.1%} {u.taxon}"


def _chance_lines(chances: list[FalseChance], finds_each: int) -> Iterator[str]:
    yield "4. How likely a deadly find is called by a gathered name, by weighted finds"
    expected = finds_each * sum(c.chance for c in chances)
    total = finds_each * len(chances)
    yield f"   {expected:.2f} expected among {total} finds; each pair is wanted below {MOST_DEADLY:g}"
    for c in sorted(chances, key=lambda c: -c.chance)[:12]:
        yield f"   {c.chance:.1e} (standard error {c.error:.0e}) {c.truth} as {c.hoped}"


if __name__ == "__main__":
    sys.exit(main())
