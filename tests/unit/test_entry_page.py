"""The printed entry: no heading without words under it, no name of a file's entry as a source."""

from __future__ import annotations

import pytest

from underoak.book.load import load_book
from underoak.desk.read_book import entry
from underoak.sheets.entry import entry_content
from underoak.sheets.pdf import compile_typst
from underoak.sheets.wording import NO_DOUBLES


@pytest.mark.parametrize(("name", "doubles"), [("hydnum_group", False), ("grifola_frondosa", True)])
def test_doubles_are_told_or_said_to_be_missing(name: str, doubles: bool) -> None:
    import pypdfium2

    content = entry_content(entry(name), "a4")
    pages = pypdfium2.PdfDocument(compile_typst("entry", content))
    text = " ".join(page.get_textpage().get_text_range() for page in pages)
    assert bool(content["doubles"]) is doubles
    assert (" ".join(NO_DOUBLES.split()[:6]) in " ".join(text.split())) is not doubles


def test_every_entry_names_its_source_in_words() -> None:
    sources = load_book().sources
    for taxon_id in ("hydnum_group", "boletus_edulis_group", "galerina_marginata"):
        told = entry_content(entry(taxon_id), "a4")["source"]
        assert sources[load_book().taxa[taxon_id].look.source]["cite"] in told
        assert load_book().taxa[taxon_id].look.source not in told
