"""The verdict on a find: refused, open, or consistent; confirmed only by a named person.

No state says that anything may be eaten. Everything here is a pure function of the book and the
document; the order in which things were observed never matters.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from underoak.errors import BadData
from underoak.model.vetting import (
    STATES,
    Body,
    BodyVerdict,
    Candidate,
    NextCheck,
    Observations,
    Reason,
    State,
    Verdict,
)
from underoak.vetting.case import Case, case, noted
from underoak.vetting.characters import faults
from underoak.vetting.condition import ground_reasons
from underoak.vetting.doubles import doubles
from underoak.vetting.earlier import remembered, vanished
from underoak.vetting.likelihood import LEAST_FIT, fit_score, log_prior, shares
from underoak.vetting.matrix import Floats, Matrix
from underoak.vetting.next_check import next_checks
from underoak.vetting.reasons import body_reasons

if TYPE_CHECKING:
    from underoak.book.load import Book
    from underoak.model.book import Taxon

#: What each state says. None of them is a permission to eat.
STATE_WORDS: dict[State, str] = {
    "refused": "Refused: leave it.",
    "open": "Open: not enough was looked at, or something does not go together. It is not to be eaten.",
    "consistent": "Consistent: nothing in the book contradicts the name. "
    "It must still be confirmed by a person who knows, with the find in hand.",
    "confirmed": "Confirmed in hand by the person named below.",
}
NOT_REVIEWED = "This entry of the book has not been reviewed by a mycologist."


def evaluate(book: Book, document: Observations, earlier: Sequence[Observations] = ()) -> Verdict:
    """Vet one find.

    Parameters
    ----------
    document   what was looked at and seen, on every body
    earlier    older documents on the same find: what spoke against the name then still speaks against
               it when it is not looked at again, so leaving an observation out never helps

    Raises
    ------
    BadData    with every fault of the document

    Method: for each body, all required characters seen, every dangerous taxon of the book excluded by
    its danger's rule and the pair's minimum, nothing contradicting, fit and condition sound; else the
    worst reason counts. The lot takes the state of its worst body. Without a target the name that goes
    best is tried if it is gathered.

    **Fails towards** refused, then open.
    """
    problems = faults(book, document)
    if problems:
        raise BadData(problems)
    document = remembered(document, earlier)
    find = noted(book, sorted(document.bodies, key=lambda b: b.id))
    share = shares(find.matrix, find.seen, log_prior(book, find.matrix, document.day_of_year))
    target = _target(book, find.matrix, document, share)
    if target is None:
        return _nameless(book, find.matrix, document, find.bodies, share)
    under_name = case(book, find, target)
    verdicts = _bodies(under_name)
    reasons = [*_lot_reasons(target, document), *vanished(target, document, earlier)]
    reasons += _from_bodies(verdicts)
    state = _worst([r.state for r in reasons], "consistent")
    return Verdict(
        state=state,
        target=target.id,
        scientific_name=target.scientific_name,
        words=STATE_WORDS[state],
        reasons=tuple(_sorted(reasons)),
        bodies=verdicts,
        candidates=_candidates(book, find.matrix, share),
        next_checks=_checks(under_name, verdicts, share) if state == "open" else (),
        cautions=tuple(c.words for c in target.cautions),
        bodies_in_lot=document.bodies_in_lot,
        book_version=book.version,
        reviewed=reviewed(target),
    )


def _target(book: Book, matrix: Matrix, document: Observations, share: Floats) -> Taxon | None:
    """The taxon in mind, or the gathered one if it goes best of all with all bodies; else None."""
    if document.target is not None:
        return book.find(document.target)
    best = _best(share)
    taxon = book.taxa[matrix.taxa[best]] if best < len(matrix.taxa) else None
    return taxon if taxon is not None and taxon.gathered else None


def _best(share: Floats) -> int:
    """Row of the taxon that goes best with all bodies together; one past the last is "none of these"."""
    return int(np.log(np.maximum(share, 1e-300)).sum(axis=0).argmax())


def _nameless(
    book: Book, matrix: Matrix, document: Observations, bodies: Sequence[Body], share: Floats
) -> Verdict:
    """Without a name in mind, and what goes best is not gathered: refused, or nothing is known."""
    best = _best(share)
    if best < len(matrix.taxa):
        taxon = book.taxa[matrix.taxa[best]]
        words = f"It goes best with {taxon.called}, which this book lets nobody gather: leave it."
        reason = Reason("not_a_target", "refused", words, (), taxon.id)
    else:
        words = "It goes with nothing in the book: leave it, or ask a person who knows."
        reason = Reason("fit", "open", words)
    blank = tuple(BodyVerdict(b.id, reason.state, (reason,), (), 0.0) for b in bodies)
    return Verdict(
        state=reason.state,
        target=None,
        scientific_name="",
        words=STATE_WORDS[reason.state],
        reasons=(reason,),
        bodies=blank,
        candidates=_candidates(book, matrix, share),
        next_checks=(),
        cautions=(),
        bodies_in_lot=document.bodies_in_lot,
        book_version=book.version,
        reviewed="",
    )


def _bodies(under_name: Case) -> tuple[BodyVerdict, ...]:
    target = under_name.target
    scores = fit_score(under_name.matrix, under_name.noted.seen, under_name.rules.target, under_name.fit)
    verdicts = []
    for row, body in enumerate(under_name.noted.bodies):
        found = list(body_reasons(under_name, row))
        if scores[row] < LEAST_FIT:
            words = f"Too much of it is unusual for {target.called}: it may be none of these."
            found.append(Reason("fit", "open", words, (), target.id))
        state = _worst([r.state for r in found], "consistent")
        shown = doubles(under_name, row)
        verdicts.append(BodyVerdict(body.id, state, tuple(_sorted(found)), shown, float(scores[row])))
    return tuple(verdicts)


def _lot_reasons(target: Taxon, document: Observations) -> list[Reason]:
    reasons = list(ground_reasons(target, document.ground))
    missing = document.bodies_in_lot - sum(b.stems for b in document.bodies)
    if missing > 0:
        words = f"{missing} of {document.bodies_in_lot} bodies were not looked at; each one must be."
        reasons.append(Reason("count", "open", words, (), target.id, at_home=True))
    return reasons


def _from_bodies(verdicts: Sequence[BodyVerdict]) -> list[Reason]:
    many = len(verdicts) > 1
    return [
        replace(r, words=f"{named(v.body_id)}: {r.words}") if many else r for v in verdicts for r in v.reasons
    ]


def named(body_id: str) -> str:
    """A body's id as a heading: a bare number gets the word before it."""
    return f"Body {body_id}" if body_id.isdigit() else body_id


def _worst(states: Sequence[State], best: State) -> State:
    return min([*states, best], key=STATES.index)


def _sorted(reasons: Sequence[Reason]) -> list[Reason]:
    return sorted(
        set(reasons), key=lambda r: (STATES.index(r.state), -r.weight, r.kind, r.words, r.characters)
    )


def _candidates(book: Book, matrix: Matrix, share: Floats, most: int = 8) -> tuple[Candidate, ...]:
    """The names that go best with any one body."""
    highest = share.max(axis=0)
    order = np.argsort(-np.round(highest, 9), kind="stable")[:most].tolist()
    return tuple(
        Candidate(None, "none of these", float(highest[i]))
        if i == len(matrix.taxa)
        else Candidate(matrix.taxa[i], book.taxa[matrix.taxa[i]].scientific_name, float(highest[i]))
        for i in order
    )


def _checks(under_name: Case, verdicts: Sequence[BodyVerdict], share: Floats) -> tuple[NextCheck, ...]:
    """What to look at next on the first body that is still open."""
    for row, verdict in enumerate(verdicts):
        if verdict.state == "open":
            return next_checks(under_name, row, share)
    return ()


def reviewed(target: Taxon) -> str:
    """Who has reviewed the entry, or that nobody has."""
    if target.reviewed_by is None:
        return NOT_REVIEWED
    return f"Entry reviewed by {target.reviewed_by} on {target.reviewed_on}."
