"""Vetting on paper: one sheet for one bag, every answer to tick, nothing ticked beforehand."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from underoak.model.book import DANGER_WORDS
from underoak.sheets.pack.cards import cards
from underoak.sheets.pdf import compile_typst
from underoak.sheets.wording import EATING_CAUTIONS, NEVER_EATEN
from underoak.vetting.condition import BODY_QUESTIONS, GROUND_QUESTIONS

if TYPE_CHECKING:
    from underoak.book.load import Book
    from underoak.model.book import Taxon
    from underoak.model.characters import Character

#: Look-alikes listed on the sheet, the worst first.
MOST_DOUBLES = 8


def vetting_sheet_pdf(book: Book, taxon: Taxon, *, poison_help: str, paper: str) -> bytes:
    """PDF of the sheet for finds that somebody takes for ``taxon``.

    It asks for everything the book requires of that name and for what decides against its look-alikes,
    in the order of the book. The verdict is not worked out on paper: the answers are typed in at home.
    """
    names = _asked(book, taxon)
    card = cards(book, [taxon.id])[0]
    data: dict[str, Any] = {
        "title": f"Vetting sheet: {card.common_name or card.scientific_name}",
        "latin": taxon.scientific_name,
        "paper": paper,
        "never": NEVER_EATEN,
        "cautions": list(EATING_CAUTIONS),
        "own_cautions": list(card.cautions),
        "help": poison_help,
        "questions": [_question(book.characters[name], name in taxon.required) for name in names],
        "ages": ["closed: a button or egg", "just open", "fully open", "old"],
        "conditions": [name.replace("_", " ") for name in BODY_QUESTIONS],
        "grounds": [name.replace("_", " ") for name in GROUND_QUESTIONS],
        "doubles": [
            {
                "name": one.common_name or one.scientific_name,
                "latin": one.scientific_name,
                "danger": DANGER_WORDS[one.danger],
                "how": one.how,
            }
            for one in card.look_alikes[:MOST_DOUBLES]
        ],
        "reviewed": card.reviewed,
        "version": book.version,
    }
    return compile_typst("vetting_sheet", data)


def _asked(book: Book, taxon: Taxon) -> list[str]:
    """Required characters and those that tell look-alikes apart, in the order of the book."""
    wanted = set(taxon.required)
    for (target, _), pair in book.confusions.items():
        if target == taxon.id:
            wanted |= {name for alternatives in pair.minimum for name in alternatives}
    return [name for name in book.characters if name in wanted and name != "age"]


def _question(character: Character, required: bool) -> dict[str, Any]:
    states = [words for state, words in character.states.items() if state != "absent"]
    absent = character.states.get("absent")
    return {
        "question": character.question,
        "how": character.how,
        "states": states,
        "absent": f"looked, absent: {absent}" if absent else "",
        "unit": character.unit,
        "required": required,
        "where": "can wait until home" if character.at_home else "only in the woods",
    }
