"""Hand the book's characters out for editing, and take the edited ones back as files to look through."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from importlib import resources
from pathlib import Path

from underoak.book.load import load_book
from underoak.errors import BadData, UserMistake
from underoak.export.matrix import matrix_text
from underoak.intake.matrix import read_matrix
from underoak.intake.reading import read_text
from underoak.model.characters import Look

_BLOCK = r"\[look\.{name}\]\n.*?(?=\n\[|\Z)"


@dataclass(frozen=True, slots=True)
class EditedMatrix:
    """Which taxa the file changes, and the files that were written for them."""

    changed: tuple[str, ...]
    written: tuple[str, ...]
    understood: tuple[str, ...]


def export_matrix(path: Path) -> int:
    """Write all characters and taxa as DELTA; hands back the number of taxa."""
    book = load_book()
    try:
        path.write_text(matrix_text(book.characters, book.taxa, book.version), "utf-8")
    except OSError as error:
        raise UserMistake(f"cannot write {path}: {error.strerror}", remedy="name another file") from error
    return len(book.taxa)


def import_matrix(path: Path, out: Path) -> EditedMatrix:
    """Write a book file into ``out`` for every taxon the edited text changes.

    The program's own book is not touched: the files are to be looked through and put into
    ``book/taxa`` by a person, then checked with ``python -m underoak.vetting.check_book``.

    Raises BadData with every fault of the text; then nothing is written.
    """
    book = load_book()
    text = read_text(path, expected="a DELTA text")
    now = {name: taxon.look for name, taxon in book.taxa.items()}
    reading = read_matrix(text, path.name, book.characters, now)
    if reading.problems:
        raise BadData(reading.problems)
    changed = {name: look for name, look in reading.records.items() if look != now[name]}
    out.mkdir(parents=True, exist_ok=True)
    written = []
    for name, look in sorted(changed.items()):
        file = out / f"{name}.toml"
        file.write_text(_edited(name, look), "utf-8")
        written.append(str(file))
    return EditedMatrix(tuple(sorted(changed)), tuple(written), reading.understood)


def _edited(taxon_id: str, look: Look) -> str:
    """The taxon's book file with its states and measures replaced."""
    source = resources.files("underoak.book") / "taxa" / f"{taxon_id}.toml"
    text = source.read_text("utf-8")
    states = "".join(
        f"{name} = {{ {', '.join(f'{s} = {json.dumps(c)}' for s, c in row.items())} }}\n"
        for name, row in look.states.items()
    )
    measures = "".join(
        f"{name} = [{', '.join(f'{v:g}' for v in spread)}]\n" for name, spread in look.measures.items()
    )
    text = _replaced(text, "states", states)
    return _replaced(text, "measures", measures)


def _replaced(text: str, name: str, body: str) -> str:
    pattern = re.compile(_BLOCK.format(name=name), re.DOTALL)
    block = f"[look.{name}]\n{body}"
    if pattern.search(text):
        return pattern.sub(lambda _: block, text, count=1)
    return f"{text.rstrip()}\n\n{block}" if body else text
