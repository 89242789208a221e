"""Invented finds of a known taxon, with honest variation and honest mistakes.

Synthetic finds bound the rules and the code, not nature: what the book does not know about a taxon,
no simulation can show.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from underoak.model.vetting import Body, Condition, Ground, Observation, Observations
from underoak.vetting.characters import Seen
from underoak.vetting.matrix import Bools, Floats, Matrix

if TYPE_CHECKING:
    from underoak.book.load import Book


@dataclass(frozen=True, slots=True)
class ObserverError:
    """How an observer goes wrong.

    ``scale`` multiplies each character's own error (0.20 colour and shape, 0.05 structure).
    ``hoped`` is the share of wrong notes that fall on a state of the kind hoped for; the others fall
    evenly on all other states. ``missing`` is the chance that an optional character is not noted.
    ``lost`` is the chance that a mark that can fade, wash off or age has done so.

    Source: 0.20 from Waeldchen et al. 2022, People and Nature 4, 1603-1615 (abstract seen); all other
    numbers are own assumptions, the share of wishful notes meant to be harsh.
    """

    scale: float = 1.0
    hoped: float = 0.5
    missing: float = 0.2
    lost: float = 0.2


#: Everything noted, nothing wrong, nothing faded: for the trials of usefulness.
FLAWLESS = ObserverError(scale=0.0, hoped=0.0, missing=0.0, lost=0.0)


@dataclass(frozen=True, eq=False)
class Scene:
    """Bodies of taxon row ``truth``, noted by someone who hopes for taxon row ``hoped``."""

    book: Book
    matrix: Matrix
    truth: int
    hoped: int
    observer: ObserverError
    rng: np.random.Generator

    def told_by(self, position: int) -> int:
        """The row states are drawn from; where the book is silent on the truth, the hoped one's.

        That is the worst case: what nobody knows is taken to look just like the name hoped for.
        """
        return self.hoped if self.matrix.silent[self.truth, position] else self.truth


def finds(scene: Scene, number: int, keep: Sequence[int] = ()) -> Seen:
    """``number`` bodies of a scene; ``keep`` holds positions of characters that are never left out."""
    matrix, rng = scene.matrix, scene.rng
    told = np.ones((number, len(matrix.characters)), dtype=bool)
    optional = np.ones(len(matrix.characters), dtype=bool)
    optional[list(keep)] = False
    told &= ~(matrix.silent[scene.truth] & matrix.silent[scene.hoped])
    told &= ~(optional & (rng.random(told.shape) < scene.observer.missing))
    observed = np.zeros((number, matrix.shown.shape[1]), dtype=bool)
    for position, column in enumerate(matrix.columns):
        wrong = rng.random(number) < matrix.error[position] * scene.observer.scale
        states = _true_states(scene, position, number)
        noted = np.where(wrong, _wrong_states(scene, position, states), states)
        observed[np.arange(number), column.start + noted] = True
    value = measures(scene, number)
    _drop_senseless(scene.book, matrix, observed, told, value)
    _blank(matrix, observed, value, told)
    return Seen(observed, told, told.copy(), value)


def _true_states(scene: Scene, position: int, number: int) -> npt.NDArray[np.int64]:
    matrix, rng = scene.matrix, scene.rng
    column = matrix.columns[position]
    row = scene.told_by(position)
    share = matrix.share[row, column.span]
    states = rng.choice(len(share), size=number, p=share)
    look = scene.book.taxa[matrix.taxa[row]].look
    faded = [column.states.index(s) for s in look.fades.get(column.name, ())]
    if faded and scene.observer.lost > 0.0:
        gone = rng.random(number) < scene.observer.lost
        states = np.where(gone, rng.choice(faded, size=number), states)
    return states


def noted_shares(scene: Scene, position: int) -> Floats:
    """How often each state of one character is noted, mistakes included: what `finds` draws from."""
    matrix, observer = scene.matrix, scene.observer
    column, row = matrix.columns[position], scene.told_by(position)
    true = matrix.share[row, column.span]
    faded = scene.book.taxa[matrix.taxa[row]].look.fades.get(column.name, ())
    if faded:
        gone = np.array([s in faded for s in column.states]) / len(faded)
        true = (1.0 - observer.lost) * true + observer.lost * gone
    other = (1.0 - true) / (len(true) - 1)
    wished = matrix.share[scene.hoped, column.span]
    wrong = float(matrix.error[position]) * observer.scale
    mistaken = observer.hoped * wished + (1.0 - observer.hoped) * other
    noted: Floats = (1.0 - wrong) * true + wrong * mistaken
    return noted


def _wrong_states(scene: Scene, position: int, states: npt.NDArray[np.int64]) -> npt.NDArray[np.int64]:
    rng, column = scene.rng, scene.matrix.columns[position]
    width = len(column.states)
    other = (states + rng.integers(1, width, size=len(states))) % width
    wished = rng.choice(width, size=len(states), p=scene.matrix.share[scene.hoped, column.span])
    return np.where(rng.random(len(states)) < scene.observer.hoped, wished, other)


def measures(scene: Scene, number: int) -> Floats:
    """(number, M) measures as noted; NaN where the book is silent on both kinds."""
    matrix, rng = scene.matrix, scene.rng
    value = np.full((number, len(matrix.measures)), np.nan)
    for measure in range(len(matrix.measures)):
        position = len(matrix.columns) + measure
        true = _draw(matrix.spread[scene.told_by(position), measure], number, rng)
        wrong = rng.random(number) < matrix.error[position] * scene.observer.scale
        wished = _draw(matrix.spread[scene.hoped, measure], number, rng)
        careless = true * rng.uniform(0.5, 2.0, number)
        misread = np.where(rng.random(number) < scene.observer.hoped, wished, careless)
        value[:, measure] = np.where(wrong & np.isfinite(misread), misread, true)
    return value


def _draw(spread: Floats, number: int, rng: np.random.Generator) -> Floats:
    """Measures of sound bodies: nine in ten within the common range, the rest out to the extremes."""
    if not np.isfinite(spread).all():
        return np.full(number, np.nan)
    least, low, high, most = spread
    common = rng.uniform(low, high, number)
    small, large = rng.uniform(least, low, number), rng.uniform(high, most, number)
    rare = np.where(rng.random(number) < 0.5, small, large)
    return np.where(rng.random(number) < 0.9, common, rare)


def _drop_senseless(book: Book, matrix: Matrix, observed: Bools, told: Bools, value: Floats) -> None:
    """Nobody notes the gills of what they see as a polypore."""
    for position, name in enumerate(matrix.characters):
        for parent, states in book.characters[name].needs.items():
            column = matrix.column(parent)
            wanted = [column.start + column.states.index(s) for s in states]
            told[:, position] &= observed[:, wanted].any(axis=1)
        if position >= len(matrix.columns):
            told[:, position] &= np.isfinite(value[:, position - len(matrix.columns)])


def _blank(matrix: Matrix, observed: Bools, value: Floats, told: Bools) -> None:
    for position, column in enumerate(matrix.columns):
        observed[:, column.span] &= told[:, position, None]
    for measure in range(len(matrix.measures)):
        value[~told[:, len(matrix.columns) + measure], measure] = np.nan


def as_document(
    matrix: Matrix, seen: Seen, row: int, target: str | None, only: frozenset[str] | None = None
) -> Observations:
    """One simulated body as an observation document of sound condition and known ground.

    ``only`` keeps just these characters.
    """
    noted: dict[str, Observation] = {}
    for position in np.flatnonzero(seen.told[row]):
        name = matrix.characters[position]
        if only is None or name in only:
            noted[name] = _observation(matrix, seen, row, int(position))
    sound = Condition(wormy="no", soaked="no", frozen="no", rotten="no")
    ground = Ground(treated="no", roadside="no", flooded_or_dumped="no")
    body = Body(id="1", age="mature", condition=sound, observations=noted)
    return Observations(
        format="underoak observations 1", target=target, bodies_in_lot=1, ground=ground, bodies=(body,)
    )


def _observation(matrix: Matrix, seen: Seen, row: int, position: int) -> Observation:
    if position >= len(matrix.columns):
        return Observation(look="seen", value=float(seen.value[row, position - len(matrix.columns)]))
    column = matrix.columns[position]
    states = tuple(s for i, s in enumerate(column.states) if seen.observed[row, column.start + i])
    return Observation(look="absent") if states == ("absent",) else Observation(look="seen", states=states)


def complete(book: Book, matrix: Matrix, taxon_id: str, rng: np.random.Generator) -> Observations:
    """Everything there is to note on one body of a taxon, without a mistake, under its own name."""
    row = matrix.rows[taxon_id]
    seen = finds(Scene(book, matrix, row, row, FLAWLESS, rng), 1)
    return as_document(matrix, seen, 0, taxon_id)
