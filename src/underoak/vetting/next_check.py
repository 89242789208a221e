"""What to look at next: the most danger removed for each minute."""

from __future__ import annotations

import numpy as np

from underoak.model.vetting import NextCheck
from underoak.vetting.case import Case
from underoak.vetting.exclusion import Exclusions, TargetRules
from underoak.vetting.matrix import Bools, Floats, Matrix

#: Losses for the expected value of information: a find thrown away, and one kept that is something
#: else. Danger weights come from the book. Own judgement.
LOST_FIND = 1.0
UNKNOWN_KEPT = 30.0
#: What a required character that has not been seen weighs against danger removed: it must be looked at in any
#: case, and what it rules out needs no further check. Own judgement: five deadly kinds.
REQUIRED_WEIGHT = 5000.0


def next_checks(
    case: Case, row: int, shares: Floats, *, at_home: bool = False, most: int = 5
) -> tuple[NextCheck, ...]:
    """The checks worth most on one body of a find, best first.

    Parameters
    ----------
    shares    (N, T + 1) from `underoak.vetting.likelihood.shares`
    at_home   only checks that can still be made at home

    Method: for each character not yet noted, the sum over open dangers of weight times the chance that
    the character brings its exclusion forward if the target is right, each danger shared over the
    evidence it still needs; a missing required character adds a fixed weight; divided by minutes.
    Ties by the expected value of information (`information_value`).
    """
    open_danger = (case.rules.groups > 0) & ~case.done[row]
    scored = []
    for position in _candidates(case, row, at_home):
        score = _worth(case, row, open_danger, position)
        if score > 0.0:
            value = information_value(case.matrix, case.rules, shares[row], position)
            scored.append((-round(score, 9), -round(value, 9), position))
    return tuple(_as_check(case, open_danger, position) for _, _, position in sorted(scored)[:most])


def _candidates(case: Case, row: int, at_home: bool) -> list[int]:
    matrix, target = case.matrix, case.rules.target
    useful = ~case.noted.seen.told[row] & ~matrix.silent[target] & matrix.excludes & matrix.applies[target]
    return [
        int(position)
        for position in np.flatnonzero(useful)
        if case.book.characters[matrix.characters[position]].at_home or not at_home
    ]


def _worth(case: Case, row: int, open_danger: Bools, position: int) -> float:
    chance = _exclusion_chance(case.matrix, case.rules.target, position)
    lift = _lift(case.matrix, case.rules, case.noted.exclusions, row, position)
    gain = float((open_danger * case.rules.weight * chance * lift).sum())
    if position in case.missing(row):
        gain += REQUIRED_WEIGHT
    return gain / case.book.characters[case.matrix.characters[position]].minutes


def _exclusion_chance(matrix: Matrix, target: int, position: int) -> Floats:
    """(T,): chance that looking at this excludes the taxon when the target is right."""
    senseless = ~matrix.applies[:, position]
    if position < len(matrix.columns):
        span = matrix.columns[position].span
        chance: Floats = (~matrix.stretched[:, span]) @ matrix.share[target, span]
    else:
        measure = position - len(matrix.columns)
        chance = _measure_chance(matrix.spread[:, measure], matrix.spread[target, measure])
    told: Floats = np.where(senseless, 1.0, np.where(matrix.silent[:, position], 0.0, chance))
    return told


def _measure_chance(spread: Floats, mine: Floats) -> Floats:
    """(T,): share of the target's common range that lies outside each taxon's extremes."""
    low, high = mine[1], mine[2]
    width = max(high - low, 1e-9)
    below = np.clip(spread[:, 0] - low, 0.0, width)
    above = np.clip(high - spread[:, 3], 0.0, width)
    share: Floats = np.nan_to_num(np.minimum((below + above) / width, 1.0))
    return share


def _lift(matrix: Matrix, rules: TargetRules, exclusions: Exclusions, row: int, position: int) -> Floats:
    """(T,): how far a new exclusion by this character brings each open danger forward, 0 to 1."""
    by, groups, strong = exclusions.by[row], exclusions.groups[row], exclusions.strong[row]
    group = np.where(matrix.applies[:, position], matrix.group[position], matrix.parent[position])
    fresh = (by & (matrix.group[None, :] == group[:, None])).sum(axis=1) == 0
    lacking = np.maximum(rules.groups - groups, 0)
    needs_strong = rules.strong & ~strong
    # Enough in number, but without a strong proof one more is asked.
    needs_more = ~strong & (lacking == 0) & (groups < rules.spare)
    steps = lacking + ((needs_strong | needs_more) & (lacking == 0))
    helps = (fresh & (lacking > 0)) | (needs_strong & matrix.strong[position])
    helps |= needs_more & (fresh | matrix.strong[position])
    lift = np.asarray(helps / np.maximum(steps, 1), dtype=float)
    # What lacks a strong proof is brought forward most by one.
    last_without = ~strong & (rules.spare > rules.groups) & (lacking == 1)
    lift[(needs_strong | last_without) & ~matrix.strong[position]] *= 0.5
    for taxon, alternatives in rules.minimum:
        unmet = [a for a in alternatives if not by[taxon, list(a)].any()]
        if unmet:
            lift[taxon] = 1.0 if any(position in a for a in unmet) else 0.5 * lift[taxon]
    return lift


def information_value(matrix: Matrix, rules: TargetRules, p: Floats, position: int) -> float:
    """Expected value of looking at one character, in lost finds, without its cost in minutes.

    ``p`` (T + 1,) is the share of each taxon and of "none of these".

    Method: EVOI = min over actions of expected loss now - expected minimum loss after the answer, for
    the actions keep (loss: danger weight of the truth, `UNKNOWN_KEPT` for "none of these") and leave
    (loss: `LOST_FIND` if the target was right).
    """
    if position >= len(matrix.columns):
        return 0.0
    keep = np.append(rules.weight, UNKNOWN_KEPT)
    leave = np.zeros(len(p))
    leave[rules.target] = LOST_FIND
    error = float(matrix.error[position])
    column = matrix.columns[position]
    width = len(column.states)
    table = (1.0 - error) * matrix.share[:, column.span] + error / width
    table = np.vstack([table, np.full((1, width), 1.0 / width)])
    joint = p[:, None] * table
    after = np.minimum(keep @ joint, leave @ joint).sum()
    now = min(float(keep @ p), float(leave @ p))
    return now - float(after)


def information_gain(prior: Floats, table: Floats) -> float:
    """Expected fall in the entropy of the class, in nats, from seeing one character.

    ``prior`` (K,) and ``table`` (K, n), the chance of each state in each class.
    Method: H(class) - sum over states of P(state) H(class | state).
    """
    joint = prior[:, None] * table
    by_state = joint.sum(axis=0)
    after = sum(total * _entropy(joint[:, i] / total) for i, total in enumerate(by_state) if total > 0.0)
    return _entropy(prior) - float(after)


def _entropy(p: Floats) -> float:
    positive = p[p > 0.0]
    return float(-(positive * np.log(positive)).sum())


def _as_check(case: Case, open_danger: Bools, position: int) -> NextCheck:
    name = case.matrix.characters[position]
    character = case.book.characters[name]
    chance = _exclusion_chance(case.matrix, case.rules.target, position)
    weight = case.rules.weight
    settles = np.flatnonzero(open_danger & (chance > 0.5))
    heaviest = sorted(settles, key=lambda t: (-weight[t], case.matrix.taxa[t]))
    return NextCheck(
        character=name,
        question=character.question,
        how=character.how,
        minutes=character.minutes,
        at_home=character.at_home,
        danger_weight=float((open_danger * weight * chance).sum()),
        settles=tuple(case.matrix.taxa[t] for t in heaviest[:6]),
    )
