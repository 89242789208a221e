"""What a named person who knows says about a find: the only way a verdict becomes confirmed."""

from __future__ import annotations

from dataclasses import replace

from underoak.model.vetting import Opinion, Reason, State, Verdict
from underoak.vetting.verdict import STATE_WORDS

#: Reasons that a person who holds the find in hand can settle by knowing it.
SETTLED_BY_A_PERSON = frozenset({"missing", "unclear", "danger", "fit", "earlier"})


def with_opinion(verdict: Verdict, opinion: Opinion) -> Verdict:
    """The verdict after a named person who knows has answered.

    A dissent, or another name than the target, refuses. Agreement confirms what is `consistent`; seen
    in hand it also settles what was open about the name, but never age, condition, place, count,
    contradictions, or anything refused.

    **Fails towards** refused on dissent, towards no change on agreement.
    """
    signed = f"{opinion.person}, {opinion.day}"
    if not opinion.agrees or opinion.taxon_id != verdict.target:
        said = opinion.words or "it is something else"
        reason = Reason("person", "refused", f"{signed}: {said}.", (), opinion.taxon_id)
        return _restated(verdict, "refused", (reason, *verdict.reasons), opinion)
    if verdict.state == "refused":
        return verdict
    left = [r for r in verdict.reasons if r.state == "open" and not _settles(opinion, r)]
    if left:
        return verdict
    reason = Reason(
        "person", "confirmed", f"{signed}: agrees with {verdict.scientific_name}.", (), verdict.target
    )
    confirmed = _restated(verdict, "confirmed", (reason,), opinion)
    return replace(confirmed, confirmed_by=opinion.person, confirmed_on=opinion.day)


def _settles(opinion: Opinion, reason: Reason) -> bool:
    return opinion.saw == "hand" and reason.kind in SETTLED_BY_A_PERSON


def _restated(verdict: Verdict, state: State, reasons: tuple[Reason, ...], opinion: Opinion) -> Verdict:
    words = f"{STATE_WORDS[state]} {opinion.person}, {opinion.day}."
    return replace(verdict, state=state, words=words, reasons=reasons, next_checks=())
