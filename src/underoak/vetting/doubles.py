"""The dangerous doubles of a name, and what stands against each of them on one body."""

from __future__ import annotations

import numpy as np

from underoak.model.characters import character_name
from underoak.model.vetting import Double, Evidence
from underoak.vetting.case import Case
from underoak.vetting.reasons import said


def doubles(case: Case, row: int) -> tuple[Double, ...]:
    """Every dangerous taxon of the book, those not ruled out first, then by danger."""
    evidence = [_evidence(case, row, int(c)) for c in range(len(case.matrix.characters))]
    by = case.noted.exclusions.by[row]
    found = []
    for t in map(int, np.flatnonzero(case.rules.groups > 0)):
        taxon = case.book.taxa[case.matrix.taxa[t]]
        done = bool(case.done[row, t])
        against = tuple(e for c in np.flatnonzero(by[t]) if (e := evidence[c]) is not None)
        missing = "" if done else _what_is_missing(case, row, t)
        found.append(Double(taxon.id, taxon.scientific_name, taxon.harm.danger, done, against, missing))
    weight = {name: rule.weight for name, rule in case.book.danger_rules.items()}
    return tuple(sorted(found, key=lambda d: (d.excluded, -weight[d.danger], d.taxon_id)))


def _evidence(case: Case, row: int, position: int) -> Evidence | None:
    """What was noted of one character, the same for every taxon it rules out; None where nothing was."""
    if not case.noted.seen.told[row, position]:
        return None
    name = case.matrix.characters[position]
    character = case.book.characters[name]
    noted = case.noted.bodies[row].observations[name]
    return Evidence(name, character.group, character.means, said(case.book, name, noted))


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
                " or ".join(character_name(case.matrix.characters[c]) for c in a)
                for a in alternatives
                if not exclusions.by[row, t, list(a)].any()
            ]
    return "; ".join(parts)
