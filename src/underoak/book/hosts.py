"""Host trees: which group a name of a tree means, and how groups stand to each other."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from functools import cache
from importlib import resources
from typing import Annotated, Literal

from pydantic import Field

from underoak.errors import BadData
from underoak.model.problem import Problem
from underoak.model.strict import Strict, validate_document

_WORD = re.compile(r"[^\W_]+|[|]")
#: A tree of which only "hardwood" or "conifer" is known is worth this share of the best host of that kind.
#: Judgement.
UNKNOWN_SHARE = 0.2


class HostGroup(Strict):
    """One table of ``book/hosts.toml``. ``growth`` is years for each inch of diameter, or None."""

    words: Annotated[str, Field(min_length=1)]
    kind: Literal["hardwood", "conifer", "unknown"]
    parent: str = ""
    synonyms: Annotated[tuple[str, ...], Field(min_length=1)]
    codes: tuple[str, ...] = ()
    growth: Annotated[float, Field(gt=0.0, le=20.0)] | None = None
    growth_of: str = ""


@cache
def host_groups() -> Mapping[str, HostGroup]:
    """All groups by key, in the order of the file.

    Raises
    ------
    BadData   when the shipped file is not as it must be: all faults at once
    """
    text = (resources.files("underoak.book") / "hosts.toml").read_text("utf-8")
    groups: dict[str, HostGroup] = {}
    problems: list[Problem] = []
    for key, document in tomllib.loads(text).items():
        group, faults = validate_document(HostGroup, document, f"hosts.toml, [{key}]")
        problems.extend(faults)
        if group is not None:
            groups[key] = group
    problems += [
        Problem(f"parent {group.parent!r} does not exist", f"hosts.toml, [{key}]")
        for key, group in groups.items()
        if group.parent and group.parent not in groups
    ]
    if problems:
        raise BadData(problems)
    return groups


@cache
def match_host(text: str) -> str:
    """Key of the host group a tree's name means; "unknown" when no name is recognised.

    Method: an inventory code must be the whole text; else the longest synonym that stands in the text as
    whole words wins ("northern red oak" is a red oak, "tulip poplar" no poplar). "Red oaks" is a red oak too.
    """
    if text.strip().upper() in _codes():
        return _codes()[text.strip().upper()]
    if text.strip().casefold() in host_groups():
        return text.strip().casefold()
    head, comma, tail = text.casefold().partition(",")
    names = f"{tail} {head} | {head} {tail}" if comma else head  # "Oak, white" is a white oak
    found = _WORD.findall(names)
    words = f" {' '.join(found)} | {' '.join(map(_singular, found))} "
    return next((key for name, key in _synonyms() if f" {name} " in words), "unknown")


def _singular(word: str) -> str:
    """An English word without the ending of its plural: beeches, cherries, oaks; Latin stays (quercus)."""
    if word.endswith(("ches", "shes")):
        return word[:-2]
    if word.endswith("ies"):
        return f"{word[:-3]}y"
    return word[:-1] if word.endswith("s") and not word.endswith(("ss", "us", "is")) else word


@cache
def _codes() -> Mapping[str, str]:
    return {code: key for key, group in host_groups().items() for code in group.codes}


@cache
def _synonyms() -> tuple[tuple[str, str], ...]:
    pairs = [(name, key) for key, group in host_groups().items() for name in group.synonyms]
    return tuple(sorted(pairs, key=lambda pair: (-len(pair[0]), pair)))


def host_preference(hosts: Mapping[str, float], group: str) -> float:
    """How well a tree of ``group`` suits a taxon whose book entry prefers ``hosts``, 0 to 1.

    Parameters
    ----------
    hosts : key of a host group -> relative preference, 0 to 1, as in `Habitat.hosts`
    group : key of the tree's host group

    Method
    ------
    The group's own value; else that of its wider group; for a wider group ("oak") the mean of its named
    parts; for a tree of which only the kind is known, 0.2 of the best host of that kind (judgement);
    for a wholly unknown tree 0.2 of that again. Otherwise 0.
    """
    groups = host_groups()
    if group in hosts:
        return hosts[group]
    if group in groups and groups[group].parent in hosts:
        return hosts[groups[group].parent]
    parts = [hosts[key] for key, other in groups.items() if other.parent == group and key in hosts]
    if parts:
        return sum(parts) / len(parts)
    if group in ("unknown_hardwood", "unknown_conifer"):
        kind = groups[group].kind
        same = [value for key, value in hosts.items() if key in groups and groups[key].kind == kind]
        return UNKNOWN_SHARE * max(same, default=0.0)
    if group == "unknown":
        return UNKNOWN_SHARE**2 * max(hosts.values(), default=0.0)
    return 0.0
