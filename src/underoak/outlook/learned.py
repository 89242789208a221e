"""What was learned of one taxon, as a record that can be kept: means and covariance of its parameters."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Learned:
    """Parameters of one taxon after its records: a normal around the most probable values.

    ``names`` are those of `parameters.Layout.names`; ``means`` (parameters,) are departures from the book;
    ``covariance`` (parameters, parameters). ``finds`` and ``looks`` say from how much, ``seasons`` from
    when. ``climatology`` is true where the model has not beaten climatology in left-out seasons.
    """

    taxon_id: str
    names: tuple[str, ...]
    means: FloatArray
    covariance: FloatArray
    seasons: tuple[int, ...]
    looks: int
    finds: int
    climatology: bool = False

    def mean(self, name: str) -> float:
        """Departure from the book, 0 for what was not learned."""
        return float(self.means[self.names.index(name)]) if name in self.names else 0.0

    def knows(self, name: str) -> bool:
        """True where the parameter was learned."""
        return name in self.names

    def total(self, names: Iterable[str]) -> tuple[float, float]:
        """Mean and variance of the sum of the named parameters; unknown ones are left out."""
        at = [self.names.index(name) for name in names if name in self.names]
        return float(self.means[at].sum()), float(self.covariance[np.ix_(at, at)].sum())

    def interval(self, name: str, half_width: float = 1.6448536269514722) -> tuple[float, float]:
        """Bounds of the 90 % interval (or of ``half_width`` standard deviations) of a parameter."""
        at = self.names.index(name)
        apart = half_width * float(np.sqrt(self.covariance[at, at]))
        return float(self.means[at]) - apart, float(self.means[at]) + apart

    def moved(self, step: Mapping[str, float]) -> Learned:
        """The same with some means moved; one that was not learned is added without uncertainty."""
        more = [name for name in step if name not in self.names]
        names, size = (*self.names, *more), len(self.names)
        means = np.concatenate([self.means, np.zeros(len(more))])
        means += np.array([step.get(name, 0.0) for name in names])
        covariance = np.zeros((len(names), len(names)))
        covariance[:size, :size] = self.covariance
        return replace(self, names=names, means=means, covariance=covariance)

    @property
    def terms(self) -> tuple[str, ...]:
        """Weather terms that are switched on."""
        return tuple(name.removeprefix("term:") for name in self.names if name.startswith("term:"))

    def document(self) -> dict[str, Any]:
        """The record as plain JSON values."""
        return {
            "taxon_id": self.taxon_id,
            "names": list(self.names),
            "means": self.means.tolist(),
            "covariance": self.covariance.tolist(),
            "seasons": list(self.seasons),
            "looks": self.looks,
            "finds": self.finds,
            "climatology": self.climatology,
        }


def learned_from(document: dict[str, Any]) -> Learned:
    """The record that `Learned.document` wrote; KeyError or ValueError when it is damaged."""
    names: Sequence[str] = document["names"]
    means = np.array(document["means"], dtype=np.float64)
    covariance = np.array(document["covariance"], dtype=np.float64).reshape(len(names), len(names))
    if len(means) != len(names):
        raise ValueError(f"{len(names)} names, {len(means)} means")
    return Learned(
        taxon_id=document["taxon_id"],
        names=tuple(names),
        means=means,
        covariance=covariance,
        seasons=tuple(document["seasons"]),
        looks=document["looks"],
        finds=document["finds"],
        climatology=document["climatology"],
    )
