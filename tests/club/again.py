"""Take the tests of another module as they are, to run them on a ledger that a server keeps."""

from __future__ import annotations

from importlib import import_module
from typing import Any


def again(module: str, *, without: tuple[str, ...] = ()) -> dict[str, Any]:
    """All tests and fixtures of a module but those named; what is left out stands in conftest.py."""
    there = vars(import_module(module))
    return {
        name: thing
        for name, thing in there.items()
        if (name.startswith("test_") or _is_fixture(thing)) and name not in without
    }


def _is_fixture(thing: Any) -> bool:
    return type(thing).__name__ == "FixtureFunctionDefinition" or hasattr(thing, "_pytestfixturefunction")
