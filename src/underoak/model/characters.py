"""Characters: what can be looked at on a find, and what a taxon shows there."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Literal

from pydantic import Field, model_validator

from underoak.model.sourced import Sourced

#: How often a state is met among sound specimens of a taxon.
Constancy = Literal["always", "usually", "sometimes", "rarely", "never"]

#: How the evidence is won. The last three are the ones a deadly look-alike must be excluded by.
Means = Literal["look", "measure", "touch", "smell", "lens", "reagent", "print", "cut", "dug_base"]

#: Means of which at least one must stand against every deadly look-alike.
STRONG_MEANS: frozenset[Means] = frozenset({"print", "cut", "dug_base"})

#: The state that means: looked at, and there is none.
ABSENT = "absent"


#: Ids of characters that are no words of every day.
_EVERYDAY = {
    "hymenium": "underside",
    "section": "lengthwise cut",
    "latex": "juice",
    "print_colour": "spore print",
}


def character_name(character_id: str) -> str:
    """A character in a reader's words, without the unit that its id ends with."""
    plain = _EVERYDAY.get(character_id, character_id).replace("_", " ")
    return plain.removesuffix(" mm").removesuffix(" cm")


class Character(Sourced):
    """One thing to look at: a neutral question, its states, how to check it and what that costs.

    A character has either ``states`` (id -> sentence) or a ``unit`` with ``limits``, never both. The
    state ``absent`` is offered only where the character lists it.

    ``error`` is the chance that a careful amateur notes a wrong state. ``group`` names the evidence
    group: several characters of one group count once. ``needs`` maps another character to the states
    under which this one makes sense. ``near`` lists pairs of states that are easily taken for each
    other: seeing one never excludes a taxon that shows the other. ``washes_off`` lists states whose
    absence proves nothing because weather or age takes them away: seeing ``absent`` then excludes
    nothing. ``each_stem`` asks for a look at every stem of a joined cluster. ``ranks_only`` characters
    never exclude.
    """

    question: Annotated[str, Field(min_length=10)]
    states: Mapping[str, str] = {}
    unit: Literal["", "mm", "cm"] = ""
    limits: tuple[float, float] | None = None
    how: Annotated[str, Field(min_length=10)]
    minutes: Annotated[float, Field(gt=0.0, le=1440.0)]
    tool: str = ""
    means: Means
    error: Annotated[float, Field(gt=0.0, lt=0.5)]
    at_home: bool
    group: Annotated[str, Field(min_length=3)]
    needs: Mapping[str, tuple[str, ...]] = {}
    near: tuple[tuple[str, str], ...] = ()
    washes_off: bool = False
    each_stem: bool = False
    ranks_only: bool = False
    drawing: str = ""

    @model_validator(mode="after")
    def _one_kind(self) -> Character:
        if bool(self.states) == bool(self.unit):
            raise ValueError("a character has either states or a unit")
        if bool(self.unit) != (self.limits is not None):
            raise ValueError("a measure needs unit and limits")
        strangers = {state for pair in self.near for state in pair} - set(self.states)
        if strangers:
            raise ValueError(f"near names states that do not exist: {', '.join(sorted(strangers))}")
        if self.washes_off and ABSENT not in self.states:
            raise ValueError("washes_off makes sense only with a state 'absent'")
        return self


#: Smallest ever, common smallest, common largest, largest ever.
Spread = tuple[float, float, float, float]


class Look(Sourced):
    """What one taxon shows.

    ``states``: character -> state -> how constant it is. A state that is not listed is never shown; a
    character that is not listed means that the book is silent, which excludes nothing.
    ``measures``: character -> (smallest ever, common smallest, common largest, largest ever).
    ``fades``: character -> states it may fade, wash or age to; these exclude nothing.
    ``ages``: what it looks like at each age, in words.
    """

    states: Annotated[Mapping[str, Mapping[str, Constancy]], Field(min_length=1)]
    measures: Mapping[str, Spread] = {}
    fades: Mapping[str, tuple[str, ...]] = {}
    ages: Mapping[Literal["button", "young", "mature", "old"], str] = {}

    @model_validator(mode="after")
    def _plausible(self) -> Look:
        faults = [f"{name}: no state it can show" for name, row in self.states.items() if not _shown(row)]
        faults += [
            f"{name}: a state is 'always' shown, so no other can be shown too"
            for name, row in self.states.items()
            if "always" in row.values() and len(_shown(row)) > 1
        ]
        faults += [
            f"{name}: the four numbers must not fall"
            for name, spread in self.measures.items()
            if list(spread) != sorted(spread)
        ]
        if faults:
            raise ValueError("; ".join(faults))
        return self


def _shown(row: Mapping[str, Constancy]) -> list[str]:
    return [state for state, constancy in row.items() if constancy != "never"]
