"""Published times from a meal to the first symptom, by harm class, as strict records."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from underoak.model.book import HarmClass, Sourced
from underoak.model.strict import Strict


class Window(Sourced):
    """Hours from meal to first symptom by one source, shortest and longest."""

    hours: tuple[Annotated[float, Field(ge=0.0)], Annotated[float, Field(gt=0.0, le=1000.0)]]


class Onset(Strict):
    """All windows of one harm class; ``after_alcohol`` counts only when alcohol was drunk."""

    harm: HarmClass
    words: Annotated[str, Field(min_length=3)]
    after_alcohol: bool = False
    windows: Annotated[tuple[Window, ...], Field(min_length=1)]

    @property
    def widest_h(self) -> tuple[float, float]:
        """From the shortest to the longest hours of any source: never narrower than one of them."""
        return min(w.hours[0] for w in self.windows), max(w.hours[1] for w in self.windows)


class Onsets(Strict):
    """The whole table."""

    onset: tuple[Onset, ...]
