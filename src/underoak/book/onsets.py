"""Read ``book/onsets.toml``: the published times from meal to first symptom."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib import resources

from underoak.errors import BadData
from underoak.model.onset import Onset, Onsets
from underoak.model.problem import Problem
from underoak.model.strict import validate_document


@cache
def load_onsets() -> tuple[Onset, ...]:
    """Every harm class with its windows; BadData with every fault of the file."""
    text = (resources.files("underoak.book") / "onsets.toml").read_text("utf-8")
    table, problems = validate_document(Onsets, tomllib.loads(text), "onsets.toml")
    if table is None:
        raise BadData(problems)
    faults = [
        Problem(f"{onset.harm}: {window.hours} runs backwards", "onsets.toml", "[shortest, longest]")
        for onset in table.onset
        for window in onset.windows
        if window.hours[0] > window.hours[1]
    ]
    if faults:
        raise BadData(faults)
    return table.onset
