"""The book's characters go out as DELTA and come back the same, or with every fault named."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from underoak.book.load import load_book
from underoak.desk.edit_matrix import export_matrix, import_matrix
from underoak.errors import BadData
from underoak.export.matrix import matrix_text
from underoak.intake.matrix import read_matrix
from underoak.model.book import Taxon
from underoak.model.strict import validate_document

BOOK = load_book()
LOOKS = {name: taxon.look for name, taxon in BOOK.taxa.items()}
TEXT = matrix_text(BOOK.characters, BOOK.taxa, BOOK.version)


def test_out_and_in_again_is_the_same() -> None:
    reading = read_matrix(TEXT, "matrix.delta", BOOK.characters, LOOKS)
    assert reading.problems == ()
    assert reading.records == LOOKS


def test_the_text_keeps_the_rules_of_the_format() -> None:
    """DELTA: directives begin with an asterisk, items with #, every feature, state and name ends in /."""
    lines = TEXT.splitlines()
    assert f"*NUMBER OF CHARACTERS {len(BOOK.characters)}" in lines
    begin, items = lines.index("*CHARACTER LIST"), lines.index("*ITEM DESCRIPTIONS")
    listed = lines[begin + 1 : items]
    assert all(line.endswith("/") and line.count("/") == 1 for line in listed)
    assert sum(line.startswith("#") for line in listed) == len(BOOK.characters)
    heads = [line for line in lines[items + 1 :] if line.startswith("#")]
    assert len(heads) == len(BOOK.taxa)


def test_an_edit_comes_back_as_a_book_file(tmp_path: Path) -> None:
    file = tmp_path / "matrix.delta"
    assert export_matrix(file) == len(BOOK.taxa)
    text = file.read_text("utf-8")
    head = text.index("<grifola_frondosa>")
    before, after = text[:head], text[head:]
    number = list(BOOK.characters).index("cap_width_cm") + 1
    assert f"{number},(5-)15-60(-150)" in after
    edited = after.replace(f"{number},(5-)15-60(-150)", f"{number},(6-)20-70(-140)", 1)
    file.write_text(before + edited, "utf-8")
    told = import_matrix(file, tmp_path / "out")
    assert told.changed == ("grifola_frondosa",)
    document = tomllib.loads(Path(told.written[0]).read_text("utf-8"))
    taxon, problems = validate_document(Taxon, document, "edited")
    assert problems == ()
    assert taxon is not None
    assert taxon.look.measures["cap_width_cm"] == (6, 20, 70, 140)
    original = BOOK.taxa["grifola_frondosa"]
    assert taxon.look.states == original.look.states
    assert taxon.model_copy(update={"look": original.look}) == original


def test_unchanged_text_writes_nothing(tmp_path: Path) -> None:
    file = tmp_path / "matrix.delta"
    export_matrix(file)
    assert import_matrix(file, tmp_path / "out").written == ()


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("<hymenium>", "<hymenia>", "no such character: hymenia"),
        ("<gills> thin", "<gils> thin", "hymenium has no state gils"),
        ("<grifola_frondosa>", "<grifola_frondoza>", "no such taxon: grifola_frondoza"),
        ("2,3<always>", "2,3<mostly>", "'always', 'usually'"),
        ("2,3<always>", "2,33<always>", "cannot be read: 33"),
        ("2,3<always>", "2,3<always>/4<usually>", "no other can be shown"),
        ("(5-)15-60(-150)", "(5-)15-sixty", "cannot be read: (5-)15-sixty"),
        ("(5-)15-60(-150)", "(50-)15-60(-150)", "must not fall"),
        ("# Grifola frondosa <grifola_frondosa>/", "# Grifola frondosa/", "an item without its id"),
    ],
)
def test_every_fault_is_named_and_nothing_is_written(tmp_path: Path, old: str, new: str, said: str) -> None:
    assert old in TEXT
    file = tmp_path / "matrix.delta"
    cut = TEXT.index("# Grifola frondosa") if old.startswith(("2,", "(5")) else 0
    file.write_text(TEXT[:cut] + TEXT[cut:].replace(old, new, 1), "utf-8")
    with pytest.raises(BadData) as error:
        import_matrix(file, tmp_path / "out")
    assert any(said in problem.sentence() for problem in error.value.problems)
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("text", ["nothing", "*CHARACTER LIST\n", "*ITEM DESCRIPTIONS\n# a <b>/\n"])
def test_what_is_no_matrix(tmp_path: Path, text: str) -> None:
    file = tmp_path / "matrix.delta"
    file.write_text(text, "utf-8")
    with pytest.raises(BadData):
        import_matrix(file, tmp_path / "out")
