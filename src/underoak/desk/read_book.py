"""Read the book: one entry with its doubles side by side, the list of entries, and what is unsourced."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from underoak.book.load import Book, load_book
from underoak.model.book import Confusion, Taxon
from underoak.vetting.exclusion import looks_alike, target_rules
from underoak.vetting.matrix import compiled


@dataclass(frozen=True, slots=True)
class Difference:
    """One character in which two taxa differ, in the book's words."""

    character: str
    question: str
    mine: str
    other: str
    decisive: bool


@dataclass(frozen=True, slots=True)
class Beside:
    """A double beside the entry: which characters differ, which decide."""

    taxon_id: str
    scientific_name: str
    danger: str
    harm: tuple[str, ...]
    pair: Confusion | None
    differences: tuple[Difference, ...]


@dataclass(frozen=True, slots=True)
class Entry:
    """One taxon of the book with its doubles."""

    taxon: Taxon
    shows: Mapping[str, str]
    doubles: tuple[Beside, ...]
    source: str
    reviewed: str
    book_version: str


@dataclass(frozen=True, slots=True)
class Gap:
    """A block of an entry that is from memory, or an entry nobody has reviewed."""

    taxon_id: str
    what: str
    source: str


def entry(name: str) -> Entry:
    """The entry of a name with its listed doubles and every grave one that looks alike, the listed first.

    Raises UserMistake when the book has no such name or several taxa share it.
    """
    book = load_book()
    taxon = book.find(name)
    from underoak.vetting.verdict import reviewed

    return Entry(
        taxon=taxon,
        shows={name: shown(book, taxon, name) for name in book.characters if shown(book, taxon, name)},
        doubles=tuple(_doubles(book, taxon)),
        source=book.sources[taxon.look.source]["cite"],
        reviewed=reviewed(taxon),
        book_version=book.version,
    )


def _doubles(book: Book, taxon: Taxon) -> list[Beside]:
    matrix = compiled(book)
    alike = looks_alike(book, matrix, taxon.id)
    rules = target_rules(book, matrix, taxon.id)
    listed = {lookalike for target, lookalike in book.confusions if target == taxon.id}
    grave = {t.id for t in book.taxa.values() if t.harm.danger in ("deadly", "organ")}
    rows = [
        t
        for i, t in enumerate(matrix.taxa)
        if t in listed or (t in grave and alike[i] and rules.groups[i] > 0)
    ]
    weight = {name: rule.weight for name, rule in book.danger_rules.items()}
    rows.sort(key=lambda t: (t not in listed, -weight.get(book.taxa[t].harm.danger, 0.0), t))
    return [beside(book, taxon, book.taxa[t]) for t in rows]


def beside(book: Book, mine: Taxon, other: Taxon) -> Beside:
    """Two taxa side by side: where they differ, and which of it decides."""
    matrix = compiled(book)
    pair = book.confusions.get((mine.id, other.id))
    decisive = {c for alternatives in pair.minimum for c in alternatives} if pair else set()
    differences = tuple(
        Difference(
            character=name,
            question=book.characters[name].question,
            mine=shown(book, mine, name),
            other=shown(book, other, name),
            decisive=name in decisive,
        )
        for name in book.characters
        if name in decisive or _differs(book, matrix.rows[mine.id], matrix.rows[other.id], name)
    )
    return Beside(other.id, other.scientific_name, other.harm.danger, other.harm.classes, pair, differences)


#: A state shown at least this often is one a reader would expect to meet.
USUAL = 0.25


def _differs(book: Book, mine: int, other: int, name: str) -> bool:
    """No usual state of one is a usual state of the other; for measures, the common ranges lie apart."""
    matrix = compiled(book)
    position = matrix.positions[name]
    if matrix.silent[[mine, other], position].any():
        return False
    if position >= len(matrix.columns):
        measure = position - len(matrix.columns)
        a, b = matrix.spread[mine, measure], matrix.spread[other, measure]
        return bool(a[1] > b[2] or a[2] < b[1])
    span = matrix.columns[position].span
    return not ((matrix.share[mine, span] >= USUAL) & (matrix.share[other, span] >= USUAL)).any()


def shown(book: Book, taxon: Taxon, name: str) -> str:
    """What a taxon shows for one character, in words; empty where the book is silent."""
    character = book.characters[name]
    spread = taxon.look.measures.get(name)
    if spread is not None:
        least, low, high, most = spread
        return f"{low:g} to {high:g} {character.unit} ({least:g} to {most:g} at the extremes)"
    row = taxon.look.states.get(name)
    if row is None:
        return ""
    order = ("always", "usually", "sometimes", "rarely")
    told = sorted(((order.index(c), s, c) for s, c in row.items() if c != "never"))
    faded = taxon.look.fades.get(name, ())
    fades = f"; may fade to {', '.join(faded).replace('_', ' ')}" if faded else ""
    return "; ".join(f"{c} {character.states[s]}" for _, s, c in told) + fades


def entries() -> tuple[Taxon, ...]:
    """All entries by Latin name."""
    return tuple(sorted(load_book().taxa.values(), key=lambda t: t.scientific_name))


def gaps() -> tuple[Gap, ...]:
    """Everything that is from memory, and every entry that nobody has reviewed."""
    book = load_book()
    found = []
    for taxon in book.taxa.values():
        blocks = {
            "habitat": taxon.habitat,
            "look": taxon.look,
            "harm": taxon.harm,
            "season": taxon.season,
            "memory": taxon.memory,
            "weight": taxon.weight,
            "kitchen": taxon.kitchen,
        }
        found += [
            Gap(taxon.id, f"{name} is from memory", block.source)
            for name, block in blocks.items()
            if block is not None and not block.seen
        ]
        if taxon.reviewed_by is None:
            found.append(Gap(taxon.id, "not reviewed by a mycologist", ""))
    found += [
        Gap(target, f"what tells it from {lookalike} is from memory", pair.source)
        for (target, lookalike), pair in book.confusions.items()
        if not pair.seen
    ]
    return tuple(found)
