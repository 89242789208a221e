"""What the book knows, as plain tables that a small script can look up."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import numpy as np

from underoak.book.drawings import drawings
from underoak.model.book import DANGER_WORDS
from underoak.sheets.wording import NEVER_EATEN
from underoak.vetting.condition import BODY_QUESTIONS, GROUND_QUESTIONS
from underoak.vetting.exclusion import MEASURE_SLACK, RARE, target_rules
from underoak.vetting.likelihood import LEAST_FIT, OTHER_PRIOR, OUT_OF_SEASON
from underoak.vetting.matrix import Bools, Floats, Matrix, compiled
from underoak.vetting.next_check import LOST_FIND, REQUIRED_WEIGHT, UNKNOWN_KEPT
from underoak.vetting.reasons import STRUCTURE_ERROR
from underoak.vetting.verdict import STATE_WORDS, reviewed

if TYPE_CHECKING:
    from underoak.book.load import Book
    from underoak.model.book import Taxon

#: One letter stands for one entry of a palette in the long rows of a table.
LETTERS = "".join(chr(c) for c in range(48, 127) if chr(c) not in "\\<>&") + "".join(
    map(chr, range(192, 592))
)


def engine_data(book: Book) -> dict[str, Any]:
    """Tables for the script of the page, the same bytes for the same book.

    States of one character are one number, bit i for state i. ``share`` and ``rules`` are rows of
    letters, each the position of a value in its palette (`LETTERS`): how often taxa show each state,
    and (groups, spare, strong) that must stand against each taxon under each name.
    """
    matrix = compiled(book)
    shares, share_rows = _lettered(matrix.share.tolist())
    rules, rule_rows = _lettered(_rules(book, matrix))
    return {
        "version": book.version,
        "letters": LETTERS,
        "characters": list(_characters(book, matrix)),
        "groups": len(matrix.groups),
        "taxa": [_taxon(matrix, taxon) for taxon in book.taxa.values()],
        "shares": shares,
        "share": share_rows,
        "rules": rules,
        "rule": rule_rows,
        "pairs": _pairs(book, matrix),
        "danger_weight": {name: rule.weight for name, rule in book.danger_rules.items()},
        "never": [{"words": r.words, "when": _when(r.when)} for r in book.never_rules if r.when],
        "clashes": [
            {"first": _when(c.first), "second": _when(c.second), "words": c.words} for c in book.clashes
        ],
        "body_questions": BODY_QUESTIONS,
        "ground_questions": GROUND_QUESTIONS,
        "state_words": STATE_WORDS,
        "never_eaten": NEVER_EATEN,
        "rare": RARE,
        "least_fit": LEAST_FIT,
        "other_prior": OTHER_PRIOR,
        "out_of_season": OUT_OF_SEASON,
        "required_weight": REQUIRED_WEIGHT,
        "unknown_kept": UNKNOWN_KEPT,
        "lost_find": LOST_FIND,
    }


def _characters(book: Book, matrix: Matrix) -> Iterator[dict[str, Any]]:
    """Characters in the order of the matrix: those with states first, then measures."""
    for position, name in enumerate(matrix.characters):
        character = book.characters[name]
        told: dict[str, Any] = {
            "id": name,
            "question": character.question,
            "how": character.how,
            "states": [[state, words] for state, words in character.states.items()],
            "drawings": dict(drawings(character.drawing)),
            "unit": character.unit,
            "limits": character.limits,
            "group": int(matrix.group[position]),
            "parent": int(matrix.parent[position]),
            "strong": bool(matrix.strong[position]),
            "excludes": bool(matrix.excludes[position]),
            "each_stem": character.each_stem,
            "at_home": character.at_home,
            "minutes": character.minutes,
            "error": character.error,
            "hard": character.error <= STRUCTURE_ERROR,
            "needs": [[parent, _bits(wanted)] for child, parent, wanted in matrix.needs if child == position],
        }
        if position < len(matrix.columns):
            told["there"] = _bits(matrix.there[matrix.columns[position].span])
        yield told


def _taxon(matrix: Matrix, taxon: Taxon) -> dict[str, Any]:
    row = matrix.rows[taxon.id]
    season = taxon.season
    told: dict[str, Any] = {
        "id": taxon.id,
        "name": taxon.scientific_name,
        "common": taxon.common_names[0] if taxon.common_names else "",
        "danger": taxon.harm.danger,
        "danger_words": DANGER_WORDS[taxon.harm.danger],
        "harm": taxon.harm.told,
        "stretched": [_bits(matrix.stretched[row, column.span]) for column in matrix.columns],
        "shown": [_bits(matrix.shown[row, column.span]) for column in matrix.columns],
        "applies": _digits(matrix.applies[row]),
        "silent": _digits(matrix.silent[row]),
        "spread": [_spread(spread) for spread in matrix.spread[row]],
        "outside": [_outside(spread) for spread in matrix.spread[row]],
        "required": [matrix.positions[name] for name in taxon.required],
        "host": "host" in taxon.look.states and "host" in taxon.required,
    }
    if taxon.gathered:
        told |= {"gathered": True, "cautions": [c.words for c in taxon.cautions], "reviewed": reviewed(taxon)}
    if taxon.never_gather:
        told["never"] = taxon.never_gather_reason
    if season is not None and season.anchor == "day_of_year" and not taxon.dangerous:
        told["season"] = [season.median, season.sd_days]
    return told


def _spread(spread: Floats) -> list[float] | None:
    return None if np.isnan(spread).any() else [float(x) for x in spread]


def _outside(spread: Floats) -> list[float] | None:
    """Below and above these a measure excludes; None where the book is silent."""
    if np.isnan(spread).any():
        return None
    return [float(spread[0] * (1.0 - MEASURE_SLACK)), float(spread[3] * (1.0 + MEASURE_SLACK))]


def _rules(book: Book, matrix: Matrix) -> list[list[tuple[int, int, int]]]:
    rows = []
    for taxon_id in matrix.taxa:
        rules = target_rules(book, matrix, taxon_id)
        strong = rules.strong.astype(int).tolist()
        rows.append(list(zip(rules.groups.tolist(), rules.spare.tolist(), strong, strict=True)))
    return rows


def _pairs(book: Book, matrix: Matrix) -> list[list[Any]]:
    """(target, look-alike, alternatives of each minimum, how to tell them apart), rows and positions."""
    return [
        [
            matrix.rows[pair.target],
            matrix.rows[pair.lookalike],
            [[matrix.positions[c] for c in alternatives] for alternatives in pair.minimum],
            pair.how,
        ]
        for pair in book.confusions.values()
    ]


def _when(when: Any) -> list[list[Any]]:
    return [[name, list(states)] for name, states in when.items()]


def _bits(row: Bools) -> int:
    return sum(1 << i for i, held in enumerate(row.tolist()) if held)


def _digits(row: Bools) -> str:
    return "".join("1" if held else "0" for held in row.tolist())


def _lettered(rows: list[list[Any]]) -> tuple[list[Any], list[str]]:
    """Palette of all values, and one text a row with one letter a value."""
    palette = sorted({value for row in rows for value in row})
    letter = {value: LETTERS[i] for i, value in enumerate(palette)}
    return palette, ["".join(letter[value] for value in row) for row in rows]
