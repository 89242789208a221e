"""The dangerous doubles of a name, and what stands against each of them on one body."""

from __future__ import annotations

import numpy as np

from underoak.model.vetting import Double, Evidence
from underoak.vetting.case import Case
from underoak.vetting.reasons import said


def doubles(case: Case, row: int) -> tuple[Double, ...]:
    """Every dangerous taxon of the book, those not ruled out first, then by danger."""
    found = [_double(case, row, int(t)) for t in np.flatnonzero(case.rules.groups > 0)]
    weight = {name: rule.weight for name, rule in case.book.danger_rules.items()}
    return tuple(sorted(found, key=lambda d: (d.excluded, -weight[d.danger], d.taxon_id)))


def _double(case: Case, row: int, t: int) -> Double:
    taxon = case.book.taxa[case.matrix.taxa[t]]
    body = case.noted.bodies[row]
    names = [case.matrix.characters[c] for c in np.flatnonzero(case.noted.exclusions.by[row, t])]
    evidence = tuple(
        Evidence(
            character=name,
            group=case.book.characters[name].group,
            means=case.book.characters[name].means,
            words=said(case.book, name, body.observations[name]),
        )
        for name in names
    )
    done = bool(case.done[row, t])
    missing = "" if done else _what_is_missing(case, row, t)
    return Double(taxon.id, taxon.scientific_name, taxon.harm.danger, done, evidence, missing)


def _what_is_missing(case: Case, row: int, t: int) -> str:
    exclusions, rules = case.noted.exclusions, case.rules
    parts = []
    lacking = int(rules.groups[t] - exclusions.groups[row, t])
    if lacking > 0:
        parts.append(f"{lacking} more independent character{'s' if lacking > 1 else ''}")
    if rules.strong[t] and not exclusions.strong[row, t]:
        parts.append("a spore print, a lengthwise cut or the dug-out base")
    for taxon, alternatives in rules.minimum:
        if taxon == t:
            parts += [
                " or ".join(case.matrix.characters[c].replace("_", " ") for c in a)
                for a in alternatives
                if not exclusions.by[row, t, list(a)].any()
            ]
    return "; ".join(parts)
