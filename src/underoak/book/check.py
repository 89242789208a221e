"""Rules across the files of the book that need no comparing of characters.

`underoak.vetting.check_book` adds those that do, and prints them all.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from underoak.book.load import Book
from underoak.model.book import NeverRule, Taxon
from underoak.model.problem import Problem


def broken_rules(book: Book, hosts: Mapping[str, Any], methods: Mapping[str, Any]) -> list[Problem]:
    """One problem for each never-gather rule, host, kitchen method, danger or review that does not hold.

    Parameters
    ----------
    hosts, methods   the books of host trees and of kitchen methods, by id
    """
    problems: list[Problem] = []
    for rule in book.never_rules:
        problems += _rule_broken(book, rule)
    for taxon in book.taxa.values():
        where = f"{taxon.id}.toml"
        problems += [Problem(f"no such host: {h}", where) for h in taxon.habitat.hosts if h not in hosts]
        problems += _kitchen(taxon, methods)
        problems += _danger(book, taxon)
    return problems


def _rule_broken(book: Book, rule: NeverRule) -> Iterator[Problem]:
    where = f"never_gather.toml, {rule.id}"
    for taxon in book.taxa.values():
        covered = taxon.id in rule.taxa or taxon.scientific_name.split()[0] in rule.genera
        if covered and not taxon.never_gather:
            yield Problem(f"{taxon.id} is not marked never_gather", where)
        if taxon.gathered and rule.when and _always_falls_under(taxon, rule):
            yield Problem(f"{taxon.id} is gathered, but the rule would refuse each of its finds", where)


def _always_falls_under(taxon: Taxon, rule: NeverRule) -> bool:
    """Every state the taxon can show for every character of the rule lies in the rule."""
    rows = taxon.look.states
    return all(
        name in rows and {s for s, c in rows[name].items() if c != "never"} <= set(states)
        for name, states in rule.when.items()
    )


def _kitchen(taxon: Taxon, methods: Mapping[str, Any]) -> Iterator[Problem]:
    if taxon.kitchen is None:
        return
    for name in (*taxon.kitchen.methods, *taxon.kitchen.refused):
        if name not in methods:
            yield Problem(f"no such kitchen method: {name}", f"{taxon.id}.toml, kitchen")
    both = sorted(set(taxon.kitchen.methods) & set(taxon.kitchen.refused))
    if both:
        yield Problem(f"allowed and refused at once: {', '.join(both)}", f"{taxon.id}.toml, kitchen")


def _danger(book: Book, taxon: Taxon) -> Iterator[Problem]:
    where = f"{taxon.id}.toml"
    if taxon.harm.danger != "none" and taxon.harm.danger not in book.danger_rules:
        yield Problem(f"no rule for the danger {taxon.harm.danger}", where)
    if taxon.harm.danger in ("deadly", "organ", "severe") and taxon.gathered:
        yield Problem(f"gathered, but its danger is {taxon.harm.danger}", where)
    deadly = {"amatoxin", "orellanine", "gyromitrin"} & set(taxon.harm.classes)
    if deadly and taxon.harm.danger not in ("deadly", "organ"):
        yield Problem(f"carries {', '.join(sorted(deadly))}, but its danger is {taxon.harm.danger}", where)
    if taxon.harm.onset_hours and taxon.harm.onset_hours[0] > taxon.harm.onset_hours[1]:
        yield Problem("onset_hours fall", where)
