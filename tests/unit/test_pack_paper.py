"""Briefing and vetting sheets: both papers, same bytes, every safety sentence as on the screen."""

from __future__ import annotations

import pypdfium2
import pytest

from underoak.book.load import load_book
from underoak.sheets import wording
from underoak.sheets.briefing import briefing_pdf
from underoak.sheets.pack.cards import cards
from underoak.sheets.vetting_sheet import vetting_sheet_pdf

#: ISO 216 and ANSI/ASME Y14.1 in points of 1/72 inch.
SIZES = {"a4": (595.28, 841.89), "us-letter": (612.0, 792.0)}
GATHERED = sorted(t.id for t in load_book().taxa.values() if t.gathered)


def _text(pdf: bytes) -> str:
    document = pypdfium2.PdfDocument(pdf)
    pages = [page.get_textpage().get_text_bounded() for page in document]
    document.close()
    return _plain(" ".join(pages))


def _plain(words: str) -> str:
    """Without line breaks and with typewriter's quotation marks, which the printer makes round."""
    for round_, plain in (("’", "'"), ("‘", "'"), ("“", '"'), ("”", '"'), ("\ufffe", "-")):
        words = words.replace(round_, plain)
    return " ".join(words.split())


def _briefing(paper: str = "a4", targets: int = 3, checks: tuple[str, ...] = ("Ada",)) -> bytes:
    ids = ["grifola_frondosa", "armillaria_mellea_group", "laetiporus_sulphureus", "lepista_nuda"]
    return briefing_pdf(
        place="Invented Wood", day="Saturday 3 October 2026", turn_back="11:40", meeting="Hollow Road lot",
        party=[("Ada", False), ("Cleo", True)], checks=checks, cards=cards(load_book(), ids[:targets]),
        poison_help="1-800-222-1222", paper=paper,
    )  # fmt: skip


@pytest.mark.parametrize("paper", SIZES)
def test_papers_have_their_size(paper: str) -> None:
    book = load_book()
    for pdf in (
        _briefing(paper),
        vetting_sheet_pdf(book, book.taxa["grifola_frondosa"], poison_help="112", paper=paper),
    ):
        assert pypdfium2.PdfDocument(pdf)[0].get_size() == pytest.approx(SIZES[paper], abs=0.5)


def test_the_briefing_says_every_caution_word_for_word() -> None:
    text = _text(_briefing())
    sentences = [*wording.BRIEFING_CAUTIONS, *wording.EATING_CAUTIONS, wording.NEVER_EATEN]
    card = cards(load_book(), ["armillaria_mellea_group"])[0]
    for words in [*sentences, *card.cautions, card.reviewed]:
        assert _plain(words) in text
    for words in ("1-800-222-1222", "Cleo", "11:40", "deadly"):
        assert words in text
    assert "edible" not in text.lower()


def test_no_more_than_three_kinds_are_told() -> None:
    assert "blewit" not in _text(_briefing(targets=4))


def test_without_a_name_who_checks_is_a_blank_to_fill() -> None:
    assert "write a name here before you leave" in _text(_briefing(checks=()))


def test_a_walk_to_look_has_no_targets() -> None:
    assert "leave everything where it stands" in _text(_briefing(targets=0))


@pytest.mark.parametrize("taxon_id", sorted({*GATHERED[::6], "flammulina_velutipes_group"}))
def test_the_vetting_sheet_asks_everything_required_and_ticks_nothing(taxon_id: str) -> None:
    book = load_book()
    taxon = book.taxa[taxon_id]
    pdf = vetting_sheet_pdf(book, taxon, poison_help="112", paper="us-letter")
    assert len(pypdfium2.PdfDocument(pdf)) <= 2, "one leaf: bag and paper stay together"
    text = _text(pdf)
    for name in taxon.required:
        assert _plain(book.characters[name].question) in text
    for words in (*wording.EATING_CAUTIONS, wording.NEVER_EATEN, *(c.words for c in taxon.cautions)):
        assert _plain(words) in text
    assert text.count("looked, can't tell") >= len(taxon.required)
    assert text.count("not looked") >= len(taxon.required)


def test_the_same_content_gives_the_same_bytes() -> None:
    book = load_book()
    assert _briefing() == _briefing()
    sheets = [
        vetting_sheet_pdf(book, book.taxa["lepista_nuda"], poison_help="112", paper="a4") for _ in range(2)
    ]
    assert sheets[0] == sheets[1]
