"""Every reason in words, with the characters behind it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

import numpy as np

from underoak.model.vetting import Body, Observation, Reason, ReasonKind, State
from underoak.vetting import condition
from underoak.vetting.case import Case

if TYPE_CHECKING:
    from underoak.book.load import Book
    from underoak.model.book import Taxon

#: A mismatch on a character with at most this error refuses at once; a colour may be looked at again.
STRUCTURE_ERROR = 0.10


def body_reasons(case: Case, row: int) -> Iterator[Reason]:
    """Everything that keeps one body from being called by the target's name."""
    body = case.noted.bodies[row]
    yield from _policy(case.book, case.target, body)
    yield from _contradictions(case.book, body)
    yield from _mismatches(case, row)
    yield from _required(case, row)
    yield from _open_dangers(case, row)
    yield from condition.body_reasons(case.target, body)
    yield from condition.host_reasons(case.target, body)


def _policy(book: Book, target: Taxon, body: Body) -> Iterator[Reason]:
    if target.never_gather:
        yield Reason("never_gather", "refused", target.never_gather_reason, (), target.id)
    elif not target.gathered:
        words = f"{target.called} is not among the kinds this book lets anyone gather."
        yield Reason("not_a_target", "refused", words, (), target.id)
    for rule in book.never_rules:
        if rule.when and _holds(body, rule.when):
            yield Reason("never_gather", "refused", rule.words, tuple(sorted(rule.when)), target.id)


def _contradictions(book: Book, body: Body) -> Iterator[Reason]:
    for clash in book.clashes:
        if _holds(body, clash.first) and _holds(body, clash.second):
            names = tuple(sorted({*clash.first, *clash.second}))
            shown = "; ".join(said(book, n, body.observations[n]) for n in names)
            words = f"{clash.words} Noted: {shown} Look again at both."
            yield Reason("contradiction", "open", words, names, at_home=True)
    for name, observation in body.observations.items():
        for parent in _senseless(book, body, name, observation):
            shown = f"{said(book, name, observation)} {said(book, parent, body.observations[parent])}"
            words = f"These two do not go together. Noted: {shown} Look again at both."
            yield Reason("contradiction", "open", words, tuple(sorted((name, parent))), at_home=True)


def _senseless(book: Book, body: Body, name: str, observation: Observation) -> Iterator[str]:
    """Characters whose noted state makes this observation senseless."""
    if observation.look != "seen":
        return
    for parent, states in book.characters[name].needs.items():
        other = body.observations.get(parent)
        if other is not None and other.look == "seen" and not set(other.states) & set(states):
            yield parent


def _holds(body: Body, when: Mapping[str, tuple[str, ...]]) -> bool:
    """Every character named was seen, and all that was noted lies in the states named."""
    for name, states in when.items():
        observation = body.observations.get(name)
        if observation is None or observation.look not in ("seen", "absent"):
            return False
        if not set(noted_states(observation)) <= set(states):
            return False
    return True


def _mismatches(case: Case, row: int) -> Iterator[Reason]:
    """A mismatch in structure or in a required character refuses; so do two of different groups."""
    book, target, body = case.book, case.target, case.noted.bodies[row]
    positions = np.flatnonzero(case.fit.mismatch[row])
    groups = {int(case.matrix.group[p]) for p in positions}
    for position in positions:
        name = case.matrix.characters[position]
        character = book.characters[name]
        hard = character.error <= STRUCTURE_ERROR or name in target.required or len(groups) > 1
        state: State = "refused" if hard else "open"
        again = "" if hard else " Look again in daylight."
        words = f"{target.called} never shows this: {said(book, name, body.observations[name])}{again}"
        at_home = None if hard else character.at_home
        yield Reason("mismatch", state, words, (name,), target.id, at_home=at_home)


def _required(case: Case, row: int) -> Iterator[Reason]:
    seen, target, body = case.noted.seen, case.target, case.noted.bodies[row]
    for name in target.required:
        position = case.matrix.positions[name]
        settled = case.fit.fits[row, position] or case.fit.mismatch[row, position]
        if settled or (case.off[row, position] and not seen.told[row, position]):
            continue
        character = case.book.characters[name]
        observation = body.observations.get(name)
        if observation is None or not seen.told[row, position]:
            why = (
                "could not be told"
                if observation and observation.look == "cant_tell"
                else "was not looked at"
            )
            words = f"{character.question} This {why}. {character.how}"
        elif not seen.counts[row, position]:
            words = f"{character.question} Look in hand, at each of the {body.stems} stems."
        else:
            noted = said(case.book, name, observation)
            words = f"May be a faded or neighbouring state and says nothing for the name: {noted}"
        kind: ReasonKind = "unclear" if seen.counts[row, position] else "missing"
        yield Reason(kind, "open", words, (name,), target.id, at_home=character.at_home)


def _open_dangers(case: Case, row: int) -> Iterator[Reason]:
    for position in np.flatnonzero((case.rules.groups > 0) & ~case.done[row]):
        taxon = case.book.taxa[case.matrix.taxa[position]]
        pair = case.book.confusions.get((case.target.id, taxon.id))
        advice = f" {pair.how}" if pair else ""
        names = tuple(sorted({c for alternatives in pair.minimum for c in alternatives})) if pair else ()
        words = f"Not ruled out: {taxon.called}, {taxon.harm.told}.{advice}"
        weight = float(case.rules.weight[position])
        yield Reason("danger", "open", words, names, taxon.id, weight=weight)


def noted_states(observation: Observation) -> tuple[str, ...]:
    """The states an observation stands for; empty where nothing was seen."""
    return ("absent",) if observation.look == "absent" else observation.states


def said(book: Book, name: str, observation: Observation) -> str:
    """What was noted, as question and answer in the book's words."""
    character = book.characters[name]
    if observation.value is not None:
        return f"{character.question} {observation.value:g} {character.unit}."
    return f"{character.question} {' or '.join(character.states[s] for s in noted_states(observation))}."
