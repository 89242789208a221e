"""The book's characters as one DELTA text, so that a mycologist can read and edit them outside.

DELTA (DEscription Language for TAxonomy) is an open text format: ``*CHARACTER LIST`` names characters
and states, ``*ITEM DESCRIPTIONS`` what each taxon shows (details from memory). Our ids and constancies
stand in DELTA comments, between angle brackets. Fading marks, ages and all other blocks stay in the
book's own files.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Mapping

from underoak.model.book import Taxon
from underoak.model.characters import Character


def matrix_text(characters: Mapping[str, Character], taxa: Mapping[str, Taxon], version: str) -> str:
    """All characters and taxa as DELTA; `underoak.intake.matrix.read_matrix` reads it back."""
    return "\n".join(_lines(characters, taxa, version)) + "\n"


def _lines(characters: Mapping[str, Character], taxa: Mapping[str, Taxon], version: str) -> Iterator[str]:
    numbers = {name: number for number, name in enumerate(characters, 1)}
    measures = [name for name, character in characters.items() if character.unit]
    yield f"*SHOW Characters of the book, version {version}. Constancy stands in angle brackets."
    yield f"*NUMBER OF CHARACTERS {len(characters)}"
    yield f"*MAXIMUM NUMBER OF STATES {max(len(c.states) for c in characters.values())}"
    yield f"*MAXIMUM NUMBER OF ITEMS {len(taxa)}"
    yield "*CHARACTER TYPES " + " ".join(f"{numbers[name]},RN" for name in measures)
    counts = [f"{numbers[n]},{len(c.states)}" for n, c in characters.items() if c.states]
    yield "*NUMBERS OF STATES " + " ".join(counts)
    yield "*CHARACTER LIST"
    for name, character in characters.items():
        yield f"#{numbers[name]}. <{name}> {_plain(character.question)}/"
        if character.unit:
            yield f"     {character.unit}/"
        for position, (state, words) in enumerate(character.states.items(), 1):
            yield f"     {position}. <{state}> {_plain(words)}/"
    yield "*ITEM DESCRIPTIONS"
    for taxon in taxa.values():
        yield f"# {taxon.scientific_name} <{taxon.id}>/"
        attributes = " ".join(_attributes(characters, numbers, taxon))
        yield from textwrap.wrap(attributes, 100, break_long_words=False, break_on_hyphens=False)


def _plain(words: str) -> str:
    """Words without the marks that mean something in DELTA."""
    for mark, instead in (("/", ","), ("<", "under "), (">", "over "), ("#", "number "), ("*", "")):
        words = words.replace(mark, instead)
    return words


def _attributes(
    characters: Mapping[str, Character], numbers: Mapping[str, int], taxon: Taxon
) -> Iterator[str]:
    for name, character in characters.items():
        if name in taxon.look.measures:
            least, low, high, most = taxon.look.measures[name]
            yield f"{numbers[name]},({least:g}-){low:g}-{high:g}(-{most:g})"
        elif name in taxon.look.states:
            row, states = taxon.look.states[name], list(character.states)
            shown = sorted((states.index(s) + 1, c) for s, c in row.items() if c != "never")
            yield f"{numbers[name]}," + "/".join(f"{n}<{c}>" for n, c in shown)
