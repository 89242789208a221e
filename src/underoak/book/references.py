"""Every reference inside the book must lead somewhere."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from underoak.model.book import Clash, Confusion, NeverRule, Taxon
from underoak.model.characters import Character
from underoak.model.problem import Problem
from underoak.model.sourced import Sourced


def dangling(
    *,
    characters: Mapping[str, Character],
    taxa: Sequence[Taxon],
    pairs: Sequence[Confusion],
    rules: Sequence[NeverRule],
    clashes: Sequence[Clash],
    sources: Mapping[str, Any],
) -> list[Problem]:
    """One problem for each character, state, taxon or source that is named but does not exist."""
    problems: list[Problem] = []
    ids = {t.id for t in taxa}
    for name, character in characters.items():
        where = f"characters.toml, {name}"
        problems += _unknown_states(character.needs, characters, where, "needs")
        problems += _unknown_sources([character], sources, where)
    for taxon in taxa:
        problems += _in_taxon(taxon, characters, sources)
    for pair in pairs:
        problems += _in_pair(pair, characters, ids, sources)
    for rule in rules:
        where = f"never_gather.toml, {rule.id}"
        problems += _unknown_states(rule.when, characters, where, "when")
        problems += _unknown_names(rule.taxa, ids, where, "taxon")
        problems += _unknown_sources([rule], sources, where)
    for number, clash in enumerate(clashes, 1):
        where = f"clashes.toml, clash {number}"
        problems += _unknown_states(clash.first, characters, where, "first")
        problems += _unknown_states(clash.second, characters, where, "second")
        problems += _unknown_sources([clash], sources, where)
    problems += _twice(((p.target, p.lookalike) for p in pairs), "confusions")
    return problems


def _in_taxon(taxon: Taxon, characters: Mapping[str, Character], sources: Mapping[str, Any]) -> list[Problem]:
    where = f"{taxon.id}.toml"
    problems = _unknown_states(taxon.look.states, characters, where, "look.states")
    problems += _unknown_states(taxon.look.fades, characters, where, "look.fades")
    problems += _unknown_names(taxon.required, characters, where, "required character")
    known = set(taxon.look.states) | set(taxon.look.measures)
    problems += [
        Problem(
            f"requires {name}, but says nothing about it", where, "an entry in look.states or look.measures"
        )
        for name in taxon.required
        if name in characters and name not in known
    ]
    for name, spread in taxon.look.measures.items():
        limits = characters[name].limits if name in characters else None
        if limits is None:
            problems.append(
                Problem(f"{name} is no measure", f"{where}, look.measures", "a character with a unit")
            )
        elif spread[0] < limits[0] or spread[3] > limits[1]:
            problems.append(
                Problem(f"{name} is outside {limits[0]} to {limits[1]}", f"{where}, look.measures")
            )
    blocks: list[Sourced | None] = [taxon.habitat, taxon.look, taxon.harm, taxon.season, taxon.memory]
    blocks += [taxon.weight, taxon.kitchen, *taxon.cautions]
    return problems + _unknown_sources(blocks, sources, where)


def _in_pair(
    pair: Confusion, characters: Mapping[str, Character], ids: set[str], sources: Mapping[str, Any]
) -> list[Problem]:
    where = f"confusions, {pair.target} and {pair.lookalike}"
    problems = _unknown_names((pair.target, pair.lookalike), ids, where, "taxon")
    for alternatives in pair.minimum:
        problems += _unknown_names(alternatives, characters, where, "character")
    return problems + _unknown_sources([pair], sources, where)


def _unknown_states(
    named: Mapping[str, Iterable[str]], characters: Mapping[str, Character], where: str, field: str
) -> list[Problem]:
    problems = []
    for name, states in named.items():
        place = f"{where}, {field}.{name}"
        if name not in characters:
            problems.append(Problem("no such character", place, "one of characters.toml"))
            continue
        problems += [
            Problem(
                f"no such state: {s}",
                place,
                f"one of {', '.join(characters[name].states) or 'none: a measure'}",
            )
            for s in states
            if s not in characters[name].states
        ]
    return problems


def _unknown_names(names: Iterable[str], known: Iterable[str], where: str, kind: str) -> list[Problem]:
    there = set(known)
    return [Problem(f"no such {kind}: {name}", where) for name in names if name not in there]


def _unknown_sources(
    blocks: Iterable[Sourced | None], sources: Mapping[str, Any], where: str
) -> list[Problem]:
    missing = {b.source for b in blocks if b is not None and b.source not in sources}
    return [Problem(f"no such source: {key}", where, "a key of sources.toml") for key in sorted(missing)]


def _twice(keys: Iterable[Any], where: str) -> Iterator[Problem]:
    for key, times in Counter(keys).items():
        if times > 1:
            yield Problem(f"{key} stands there {times} times", where, "each pair once")
