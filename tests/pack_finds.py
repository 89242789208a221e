"""Random observation documents of every kind a telephone may hold: plausible, mixed up, half looked at."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from underoak.model.vetting import Observations
from underoak.vetting.matrix import compiled
from underoak.vetting.simulate import ObserverError, Scene, as_document, finds

if TYPE_CHECKING:
    from underoak.book.load import Book

ANSWERS = ("yes", "no", "no", "no", "no", "not_looked")
AGES = ("button", "young", "mature", "mature", "mature", "old", None)


@dataclass(frozen=True)
class Someone:
    """Who looks: a careful one asks everything and seldom errs."""

    book: Book
    rng: np.random.Generator
    careful: bool


def random_finds(book: Book, number: int, seed: int) -> Iterator[Observations]:
    """``number`` documents: nine in ten of a simulated kind under a hoped-for name, the rest pure chance."""
    rng = np.random.default_rng(seed)
    taxa = compiled(book).taxa
    gathered = [t.id for t in book.taxa.values() if t.gathered]
    for _ in range(number):
        target = str(rng.choice(gathered if rng.random() < 0.8 else taxa))
        truth = target if rng.random() < 0.5 else str(rng.choice(taxa))
        someone = Someone(book, rng, bool(rng.random() < 0.4))
        many = int(rng.choice([1, 1, 1, 2, 3]))
        bodies = tuple(_body(someone, str(n + 1), truth, target) for n in range(many))
        yield Observations.model_validate(
            {
                "format": "underoak observations 1",
                "target": None if rng.random() < 0.1 else target,
                "day_of_year": None if rng.random() < 0.3 else int(rng.integers(1, 366)),
                "bodies_in_lot": sum(body["stems"] for body in bodies) + int(rng.random() < 0.1),
                "ground": _answers(someone, "treated", "roadside", "flooded_or_dumped"),
                "bodies": bodies,
            }
        )


def _answers(someone: Someone, *names: str) -> dict[str, str]:
    return {name: "no" if someone.careful else str(someone.rng.choice(ANSWERS)) for name in names}


def _body(someone: Someone, name: str, truth: str, target: str) -> dict[str, Any]:
    rng = someone.rng
    stems = int(rng.integers(2, 9)) if rng.random() < 0.3 else 1
    noted = _chance_notes(someone) if rng.random() < 0.1 else _simulated(someone, truth, target)
    return {
        "id": name,
        "kind": "cluster" if stems > 1 else "single",
        "stems": stems,
        "age": "mature" if someone.careful else AGES[int(rng.integers(len(AGES)))],
        "condition": _answers(someone, "wormy", "soaked", "frozen", "rotten"),
        "observations": {name: _mangled(someone, name, dict(o), stems) for name, o in noted.items()},
    }


def _simulated(someone: Someone, truth: str, target: str) -> dict[str, Any]:
    matrix = compiled(someone.book)
    observer = ObserverError(scale=0.1, missing=0.05) if someone.careful else ObserverError(scale=1.5)
    scene = Scene(someone.book, matrix, matrix.rows[truth], matrix.rows[target], observer, someone.rng)
    document = as_document(matrix, finds(scene, 1), 0, target)
    noted: dict[str, Any] = document.model_dump()["bodies"][0]["observations"]
    return noted


def _chance_notes(someone: Someone) -> dict[str, dict[str, Any]]:
    rng, noted = someone.rng, {}
    for name, character in someone.book.characters.items():
        if rng.random() < 0.5:
            continue
        if character.limits is not None:
            low, high = character.limits
            noted[name] = {"look": "seen", "value": round(float(rng.uniform(low, high)), 1)}
        else:
            state = str(rng.choice(list(character.states)))
            noted[name] = {"look": "absent"} if state == "absent" else {"look": "seen", "states": (state,)}
    return noted


def _mangled(someone: Someone, name: str, observation: dict[str, Any], stems: int) -> dict[str, Any]:
    """Sometimes unsure, from a photo, or looked at on some stems only."""
    rng = someone.rng
    odd = rng.random(4) < (0.01 if someone.careful else 0.06)
    if odd[0]:
        return {"look": str(rng.choice(["not_looked", "cant_tell"]))}
    states = someone.book.characters[name].states
    if odd[1] and observation.get("states"):
        other = str(rng.choice([s for s in states if s != "absent"]))
        observation["states"] = tuple(dict.fromkeys((*observation["states"], other)))
    if odd[2]:
        observation["by"] = "photo"
    if stems > 1:
        observation["stems"] = stems if not odd[3] else int(rng.integers(1, stems + 1))
    return observation
