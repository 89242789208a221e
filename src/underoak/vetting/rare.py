"""How likely a false "consistent" is, where counting simulated finds would hardly ever meet one.

The same invented finds as `underoak.vetting.simulate`, but each character is drawn given that it does
not contradict the hoped name, and the find is weighted by the chance of that.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from underoak.vetting.batch import stand
from underoak.vetting.characters import Seen
from underoak.vetting.exclusion import fit
from underoak.vetting.matrix import Bools, Floats, Matrix, compiled
from underoak.vetting.simulate import ObserverError, Scene, measures, noted_shares

if TYPE_CHECKING:
    from underoak.book.load import Book

#: Measures drawn once for each character, from which those that contradict nothing are picked.
POOL = 4000


@dataclass(frozen=True, slots=True)
class FalseChance:
    """Chance that one find of ``truth`` becomes consistent as ``hoped``, and its standard error."""

    truth: str
    hoped: str
    danger: str
    chance: float
    error: float


def false_chance(
    book: Book, truth: str, hoped: str, *, number: int, seed: int, observer: ObserverError
) -> FalseChance:
    """Estimate one pair's chance from ``number`` weighted finds.

    Method: importance sampling. Noted characters are independent of each other, apart from those that
    are dropped because their parent makes them senseless. Each is drawn from its own distribution given
    that it fits (required ones) or does not contradict (others) the hoped name; the product of the
    chances of that is the find's weight. The chance is the mean of weight times "consistent" by the
    same `underoak.vetting.batch.stand` that counts elsewhere.

    Source: Owen 2013, Monte Carlo theory, methods and examples, chapter 9 (from memory).
    """
    matrix = compiled(book)
    rng = np.random.default_rng([seed, *map(ord, f"{truth}/{hoped}")])
    scene = Scene(book, matrix, matrix.rows[truth], matrix.rows[hoped], observer, rng)
    seen, weight = _unopposed(scene, number, [matrix.positions[n] for n in book.taxa[hoped].required])
    counted = weight * stand(book, matrix, hoped, seen).consistent
    error = float(counted.std() / np.sqrt(number))
    return FalseChance(truth, hoped, book.taxa[truth].harm.danger, float(counted.mean()), error)


@dataclass(frozen=True, slots=True)
class _Answers:
    """What may be noted of one character: as a find of its own each, how likely, and whether welcome."""

    seen: Seen
    likely: Floats
    welcome: Bools

    @property
    def share(self) -> float:
        """Chance that a note is welcome."""
        return float(self.likely[self.welcome].sum())

    def draw(self, rng: np.random.Generator, number: int, *, welcome: bool) -> npt.NDArray[np.int64]:
        """Rows of ``seen``, drawn from all answers or from the welcome ones."""
        likely = np.where(self.welcome, self.likely, 0.0) / self.share if welcome else self.likely
        return rng.choice(len(likely), size=number, p=likely)


def _unopposed(scene: Scene, number: int, required: list[int]) -> tuple[Seen, Floats]:
    """Finds in which nothing noted contradicts the hoped name, and the chance of each."""
    matrix, rng = scene.matrix, scene.rng
    total = _blank(matrix, number)
    weight = np.ones(number)
    for position in sorted(range(len(matrix.characters)), key=lambda p: any(p == n[0] for n in matrix.needs)):
        answers = _answers(scene, position, position in required)
        looked = _looked(scene, position, position in required)
        passes = 1.0 - looked + looked * answers.share
        dropped = _dropped(matrix, total.observed, position)
        noted = ~dropped & (rng.random(number) * passes < looked * answers.share)
        weight *= np.where(dropped, 1.0, passes)
        rows = answers.draw(rng, number, welcome=False)
        if answers.share > 0.0:
            rows = np.where(noted, answers.draw(rng, number, welcome=True), rows)
        total.told[:, position] = noted
        if position < len(matrix.columns):
            span = matrix.columns[position].span
            total.observed[:, span] = answers.seen.observed[rows, span]
        else:
            measure = position - len(matrix.columns)
            total.value[:, measure] = np.where(noted, answers.seen.value[rows, measure], np.nan)
    for position, column in enumerate(matrix.columns):
        total.observed[:, column.span] &= total.told[:, position, None]
    return Seen(total.observed, total.told, total.told.copy(), total.value), weight


def _blank(matrix: Matrix, number: int) -> Seen:
    told = np.zeros((number, len(matrix.characters)), dtype=bool)
    observed = np.zeros((number, matrix.shown.shape[1]), dtype=bool)
    return Seen(observed, told, told, np.full((number, len(matrix.measures)), np.nan))


def _looked(scene: Scene, position: int, required: bool) -> float:
    """Chance that anything is noted of a character that makes sense."""
    if scene.matrix.silent[[scene.truth, scene.hoped], position].all():
        return 0.0
    return 1.0 if required else 1.0 - scene.observer.missing


def _answers(scene: Scene, position: int, required: bool) -> _Answers:
    """Every state, or a pool of measures, with its chance; welcome: fits, or does not contradict."""
    matrix = scene.matrix
    if position < len(matrix.columns):
        likely = noted_shares(scene, position)
        seen = _blank(matrix, len(likely))
        seen.observed[:, matrix.columns[position].span] = np.eye(len(likely), dtype=bool)
    else:
        likely = np.full(POOL, 1.0 / POOL)
        seen = _blank(matrix, POOL)
        seen.value[:] = measures(scene, POOL)
    measure = position >= len(matrix.columns)
    seen.told[:, position] = np.isfinite(seen.value[:, position - len(matrix.columns)]) if measure else True
    against = fit(matrix, seen, scene.hoped)
    welcome = against.fits[:, position] if required else ~against.mismatch[:, position]
    return _Answers(seen, likely, welcome & (seen.told[:, position]))


def _dropped(matrix: Matrix, observed: Bools, position: int) -> Bools:
    """Nobody notes the gills of what they see as a polypore."""
    gone = np.zeros(len(observed), dtype=bool)
    for child, parent, wanted in matrix.needs:
        if child == position:
            gone |= ~observed[:, matrix.columns[parent].span][:, wanted].any(axis=1)
    return gone


def false_chances(
    book: Book, pairs: Sequence[tuple[str, str]], *, number: int, seed: int, observer: ObserverError
) -> Iterator[FalseChance]:
    """The chance of each (dangerous, gathered) pair."""
    for truth, hoped in pairs:
        yield false_chance(book, truth, hoped, number=number, seed=seed, observer=observer)
