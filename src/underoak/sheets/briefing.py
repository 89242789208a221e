"""The briefing of a party: three kinds to look for, what they are taken for, and who checks."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from underoak.model.book import DANGER_WORDS
from underoak.sheets.pdf import compile_typst
from underoak.sheets.wording import BRIEFING_CAUTIONS, EATING_CAUTIONS, NEVER_EATEN

if TYPE_CHECKING:
    from underoak.sheets.pack.cards import Card

#: More than three nobody remembers who begins.
MOST_TARGETS = 3
#: Look-alikes told of each: the worst ones.
MOST_DOUBLES = 3


def briefing_pdf(
    *,
    place: str,
    day: str,
    turn_back: str,
    meeting: str,
    party: Sequence[tuple[str, bool]],
    checks: Sequence[str],
    cards: Sequence[Card],
    poison_help: str,
    paper: str,
) -> bytes:
    """PDF of the briefing.

    Parameters
    ----------
    party : (name, whether a child) of everybody who walks
    checks : who looks at every find before it is picked; empty is told as a gap to fill in by hand
    cards : what may be looked for; only the first `MOST_TARGETS` are told
    turn_back, meeting : time of turning back, and where all meet again
    """
    children = [name for name, child in party if child]
    data: dict[str, Any] = {
        "title": f"Briefing: {place}, {day}",
        "paper": paper,
        "never": NEVER_EATEN,
        "rules": list(BRIEFING_CAUTIONS),
        "eating": list(EATING_CAUTIONS),
        "facts": [
            ["Who walks", ", ".join(name for name, _ in party)],
            ["Children, each with one grown-up", ", ".join(children) or "none"],
            ["Who checks every find", ", ".join(checks) or "write a name here before you leave:"],
            ["Turn back", f"{turn_back}, all together"],
            ["Lost? Meet at", meeting],
            ["If anybody ate something", f"call {poison_help} at once"],
        ],
        "targets": [_target(card) for card in cards[:MOST_TARGETS]],
    }
    return compile_typst("briefing", data)


def _target(card: Card) -> dict[str, Any]:
    return {
        "name": card.common_name or card.scientific_name,
        "latin": card.scientific_name,
        "words": card.words,
        "doubles": [
            {
                "name": one.common_name or one.scientific_name,
                "danger": DANGER_WORDS[one.danger],
                "grave": one.danger in ("deadly", "organ"),
                "this": one.this_shows,
                "that": one.that_shows,
                "how": one.how,
            }
            for one in card.look_alikes[:MOST_DOUBLES]
        ],
        "cautions": list(card.cautions),
        "reviewed": card.reviewed,
    }
