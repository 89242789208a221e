"""Read ``book/methods``: every entry strictly, every fault at once."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib import resources
from importlib.resources.abc import Traversable

from underoak.errors import BadData
from underoak.model.method import Method
from underoak.model.problem import Problem
from underoak.model.strict import validate_document


@cache
def load_methods() -> Mapping[str, Method]:
    """All methods of the book by id, in the order of their ids.

    Raises
    ------
    BadData   with every fault of every file
    """
    folder = resources.files("underoak.book") / "methods"
    methods, problems = read_methods([f for f in folder.iterdir() if f.name.endswith(".toml")])
    if problems:
        raise BadData(problems)
    return methods


def read_methods(files: list[Traversable]) -> tuple[dict[str, Method], tuple[Problem, ...]]:
    """Methods of these files and everything that is wrong with them."""
    methods: dict[str, Method] = {}
    problems: list[Problem] = []
    for file in sorted(files, key=lambda f: f.name):
        try:
            document = tomllib.loads(file.read_text("utf-8"))
        except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
            problems.append(Problem(str(error), file.name, "TOML in UTF-8"))
            continue
        method, faults = validate_document(Method, document, file.name)
        problems += faults
        if method is not None:
            problems += policy_faults(method, file.name)
            methods[method.id] = method
    return methods, tuple(problems)


def policy_faults(method: Method, where: str) -> list[Problem]:
    """What a method entry must never say, and what it must.

    Fails towards refusing: an entry that would open canning, or acid or oil at room temperature, for
    gathered mushrooms is a fault, not a setting.
    """
    faults: list[Problem] = []

    def fault(what: str, expected: str) -> None:
        faults.append(Problem(what, where, expected))

    if f"{method.id}.toml" != where:
        fault(f"the id is {method.id!r}", "the name of the file")
    if method.for_wild and method.process == "canned":
        fault("canning is marked for wild mushrooms", "for_wild = false: no tested process exists")
    warm = [s for s in method.storage if s.where in ("room", "cool_room")]
    if method.for_wild and warm and (method.process in ("acid", "fresh") or method.in_oil):
        fault("acid, oil or fresh mushrooms at room temperature for wild ones", "the refrigerator or freezer")
    if method.in_oil and method.for_wild and any(s.days > 4 for s in method.storage if s.where != "freezer"):
        fault("more than 4 days in oil", "at most 4 days in the refrigerator")
    if method.outcome == "keep" and not method.storage:
        fault("no storage life", "at least one [[storage]]")
    if method.outcome == "keep" and (method.packing is None or method.yields is None):
        fault("kept, but without packing or yield", "[packing] and [yields]")
    if any(low > high for low, high in _ranges(method)):
        fault("a yield range runs backwards", "[lowest, highest]")
    return faults


def _ranges(method: Method) -> list[tuple[float, float]]:
    if method.yields is None:
        return []
    return [method.yields.product_g_per_kg, *method.yields.by_taxon.values()]
