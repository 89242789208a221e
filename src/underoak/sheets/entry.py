"""One entry of the book as a page to print: what it shows, and its doubles side by side."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from underoak.model.book import DANGER_WORDS, harm_words
from underoak.model.characters import character_name
from underoak.sheets.pdf import compile_typst
from underoak.sheets.wording import EATING_CAUTIONS, NO_DOUBLES


def write_entry(path: Path, entry: Any, paper: str) -> Path:
    """Write the page and hand back its path."""
    path.write_bytes(compile_typst("entry", entry_content(entry, paper)))
    return path


def entry_content(entry: Any, paper: str) -> dict[str, Any]:
    """Everything on the page as plain data."""
    taxon = entry.taxon
    never = [f"Never gathered: {taxon.never_gather_reason}"] if taxon.never_gather else []
    return {
        "title": f"{taxon.scientific_name} {taxon.authority}",
        "paper": paper,
        "names": ", ".join((*taxon.common_names, *taxon.synonyms)),
        "members": ", ".join(taxon.members),
        "words": taxon.words,
        "cautions": [*never, *(c.words for c in taxon.cautions), EATING_CAUTIONS[0]],
        "harm": _harm(taxon),
        "shows": [[character_name(name), words] for name, words in entry.shows.items()],
        "ages": [[age, words] for age, words in taxon.look.ages.items()],
        "required": ", ".join(character_name(name) for name in taxon.required),
        "doubles": [_double(beside) for beside in entry.doubles],
        "no_doubles": NO_DOUBLES,
        "source": f"Source: {entry.source} {entry.reviewed} Book {entry.book_version}.",
    }


def _harm(taxon: Any) -> str:
    onset = taxon.harm.onset_hours
    hours = f" Begins {onset[0]:g} to {onset[1]:g} hours after the meal." if onset else ""
    return f"{harm_words(taxon.harm.classes)}. {taxon.harm.words}{hours}"


def _double(beside: Any) -> dict[str, Any]:
    pair = beside.pair
    return {
        "heading": f"{beside.scientific_name} ({DANGER_WORDS[beside.danger]}: {harm_words(beside.harm)})",
        "pair": [pair.target_shows, pair.lookalike_shows, pair.how] if pair else [],
        "rows": [_row(difference) for difference in beside.differences],
    }


def _row(difference: Any) -> list[str]:
    name = character_name(difference.character)
    decides = "yes" if difference.decisive else ""
    return [name, difference.mine or "not told", difference.other or "not told", decides]
