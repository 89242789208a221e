"""Read the book: strict, every fault of every file at once, once a process."""

from __future__ import annotations

import functools
import hashlib
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from importlib import resources
from importlib.resources.abc import Traversable
from types import MappingProxyType
from typing import Any, TypeVar

from underoak.book.references import dangling
from underoak.errors import BadData, UserMistake
from underoak.model.book import Clash, Confusion, DangerRule, NeverRule, Taxon
from underoak.model.characters import Character
from underoak.model.problem import Problem
from underoak.model.strict import Strict, validate_document

M = TypeVar("M", bound=Strict)


#: Taxa that one everyday word may stand for; a word that fits more names none of them.
MOST_MEANT = 6


@dataclass(frozen=True, eq=False)
class Book:
    """Everything the book knows about mushrooms.

    ``version`` is a short hash over the book's files; it stands beside every verdict and forecast.
    ``confusions`` maps (target id, look-alike id) to what must be seen to tell them apart.
    """

    version: str
    characters: Mapping[str, Character]
    taxa: Mapping[str, Taxon]
    confusions: Mapping[tuple[str, str], Confusion]
    never_rules: tuple[NeverRule, ...] = ()
    clashes: tuple[Clash, ...] = ()
    danger_rules: Mapping[str, DangerRule] = field(default_factory=dict)
    sources: Mapping[str, Mapping[str, str]] = field(default_factory=dict)

    @functools.cached_property
    def _names(self) -> Mapping[str, tuple[str, ...]]:
        """Folded name -> ids. Ids and Latin names win over common names."""
        latin: dict[str, set[str]] = {}
        common: dict[str, set[str]] = {}
        for taxon in self.taxa.values():
            for name in (taxon.id, taxon.scientific_name, *taxon.synonyms, *taxon.members):
                latin.setdefault(folded(name), set()).add(taxon.id)
            for name in taxon.common_names:
                common.setdefault(folded(name), set()).add(taxon.id)
        own = {folded(t.id): {t.id} for t in self.taxa.values()}
        own |= {folded(t.scientific_name): {t.id} for t in self.taxa.values()}
        return {name: tuple(sorted(ids)) for name, ids in (common | latin | own).items()}

    def find(self, name: str) -> Taxon:
        """The taxon by id, Latin name, synonym, member or common name.

        Raises
        ------
        UserMistake   when the book has no such name, or several taxa share it (they are all named)
        """
        ids = self._names.get(folded(name), ())
        if len(ids) == 1:
            return self.taxa[ids[0]]
        if ids:
            candidates = "; ".join(_both_names(self.taxa[i]) for i in ids)
            raise UserMistake(
                f"{name!r} may mean several entries of the book",
                expected=f"one of: {candidates}",
                remedy="use the Latin name",
            )
        raise UserMistake(
            f"{name!r} is not in the book",
            expected="an id, a Latin name or a common name",
            remedy=_nearest(name, self._names),
        )

    def common_name(self, taxon_id: str) -> str:
        """A kind's name of every day, its Latin one where it has none, the id of one that is not here."""
        taxon = self.taxa.get(taxon_id)
        if taxon is None:
            return taxon_id.replace("_", " ")
        return taxon.common_names[0] if taxon.common_names else taxon.scientific_name

    def may_mean(self, name: str) -> tuple[Taxon, ...]:
        """Every taxon that a name in everyday words may stand for; empty where the book has no such name.

        A plural counts, and so does one word of a longer name (honeys, hens), so that more is thought of
        rather than less; a word that fits more than `MOST_MEANT` taxa says nothing. For looking back at what
        was eaten; never for naming a find.
        """
        words = _singular(folded(name))
        ids = self._names.get(folded(name), ()) or self._names.get(words, ())
        if not ids and len(words) > 2:
            ids = tuple(
                dict.fromkeys(i for known, of in self._names.items() if words in known.split() for i in of)
            )
        return tuple(self.taxa[i] for i in ids) if len(ids) <= MOST_MEANT else ()


def _both_names(taxon: Taxon) -> str:
    return (
        f"{taxon.scientific_name} ({taxon.common_names[0]})" if taxon.common_names else taxon.scientific_name
    )


def _singular(name: str) -> str:
    return name[:-1] if name.endswith("s") and not name.endswith("us") else name


def folded(name: str) -> str:
    """A name without case, underscores, hyphens and doubled blanks, for comparing."""
    return " ".join(name.replace("_", " ").replace("-", " ").casefold().split())


def _nearest(name: str, names: Iterable[str]) -> str:
    import difflib

    close = difflib.get_close_matches(folded(name), list(names), n=3, cutoff=0.6)
    return f"did you mean: {', '.join(close)}?" if close else "see 'underoak book' for all entries"


@functools.cache
def load_book() -> Book:
    """The book that comes with the program.

    Raises BadData with one problem per fault, over all files.
    """
    return read_book(resources.files("underoak.book"))


@functools.cache
def book_version() -> str:
    """The version of `load_book`'s book, without reading what stands in it: a fiftieth of the time."""
    return _version(resources.files("underoak.book"))


def _version(folder: Traversable) -> str:
    digest = hashlib.sha256()
    for file in (
        folder / "characters.toml",
        *_toml_files(folder / "taxa"),
        *_toml_files(folder / "confusions"),
        *(folder / f"{name}.toml" for name in ("never_gather", "clashes", "dangers", "sources")),
    ):
        digest.update(file.name.encode() + b"\0" + file.read_bytes() + b"\0")
    return digest.hexdigest()[:10]


def read_book(folder: Traversable) -> Book:
    """The book in ``folder``; raises BadData with every fault of every file."""
    reader = _Reader()
    characters = reader.table(folder / "characters.toml", Character)
    taxa = reader.taxa(_toml_files(folder / "taxa"))
    pairs = [p for file in _toml_files(folder / "confusions") for p in reader.rows(file, "pair", Confusion)]
    rules = reader.rows(folder / "never_gather.toml", "rule", NeverRule)
    clashes = reader.rows(folder / "clashes.toml", "clash", Clash)
    dangers = reader.table(folder / "dangers.toml", DangerRule)
    sources = reader.document(folder / "sources.toml")
    reader.problems += dangling(
        characters=characters, taxa=taxa, pairs=pairs, rules=rules, clashes=clashes, sources=sources
    )
    if reader.problems:
        raise BadData(reader.problems)
    return Book(
        version=_version(folder),
        characters=MappingProxyType(characters),
        taxa=MappingProxyType({t.id: t for t in sorted(taxa, key=lambda t: t.id)}),
        confusions=MappingProxyType({(p.target, p.lookalike): p for p in pairs}),
        never_rules=tuple(rules),
        clashes=tuple(clashes),
        danger_rules=MappingProxyType(dangers),
        sources=MappingProxyType(sources),
    )


def _toml_files(folder: Traversable) -> list[Traversable]:
    if not folder.is_dir():
        return []
    return sorted((f for f in folder.iterdir() if f.name.endswith(".toml")), key=lambda f: f.name)


class _Reader:
    """Collects records and faults."""

    def __init__(self) -> None:
        self.problems: list[Problem] = []

    def document(self, file: Traversable) -> dict[str, Any]:
        """One TOML file; empty, with a problem, when it cannot be read."""
        try:
            return tomllib.loads(file.read_bytes().decode("utf-8"))
        except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
            self.problems.append(Problem(str(error), file.name, "a readable TOML file"))
            return {}

    def record(self, kind: type[M], document: Any, where: str) -> M | None:
        """One strict record, or None with its faults noted."""
        record, problems = validate_document(kind, document, where)
        self.problems.extend(problems)
        return record

    def table(self, file: Traversable, kind: type[M]) -> dict[str, M]:
        """A file whose top-level tables are records by id."""
        found = {k: self.record(kind, v, f"{file.name}, {k}") for k, v in self.document(file).items()}
        return {k: v for k, v in found.items() if v is not None}

    def rows(self, file: Traversable, key: str, kind: type[M]) -> list[M]:
        """A file that is one array of tables called ``key``."""
        document = self.document(file)
        for stranger in sorted(set(document) - {key}):
            self.problems.append(Problem(f"no such table: {stranger}", file.name, f"only [[{key}]]"))
        rows = [
            self.record(kind, row, f"{file.name}, {key} {n}")
            for n, row in enumerate(document.get(key, ()), 1)
        ]
        return [row for row in rows if row is not None]

    def taxa(self, files: Iterable[Traversable]) -> list[Taxon]:
        """One taxon a file, named like the file."""
        taxa = []
        for file in files:
            taxon = self.record(Taxon, self.document(file), file.name)
            if taxon is None:
                continue
            if f"{taxon.id}.toml" != file.name:
                self.problems.append(Problem(f"holds the id {taxon.id!r}", file.name, "the file's own name"))
            taxa.append(taxon)
        return taxa
