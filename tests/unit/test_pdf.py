"""Sheets: same content, same bytes; papers; text that comes out as it went in."""

from __future__ import annotations

import pypdfium2
import pytest

from underoak.errors import UserMistake
from underoak.sheets.pdf import compile_typst

CONTENT = {
    "title": "Trial sheet",
    "opening": "Half a litre: ½ l at 60 °C",
    "sections": [{"heading": "List", "lines": ["plain", "#raw *not* markup $x$ @y"]}],
    "cautions": ["Never raw. Cook every kind through."],
}


def test_the_same_content_gives_the_same_bytes() -> None:
    first = compile_typst("list", CONTENT)
    assert first == compile_typst("list", dict(reversed(list(CONTENT.items()))))
    assert first != compile_typst("list", {**CONTENT, "title": "Other"})


@pytest.mark.parametrize(
    ("paper", "points"),
    [("a4", (595.28, 841.89)), ("us-letter", (612.0, 792.0))],  # ISO 216 210x297 mm; 8.5x11 in
)
def test_papers_have_their_published_size(paper: str, points: tuple[float, float]) -> None:
    page = pypdfium2.PdfDocument(compile_typst("list", {**CONTENT, "paper": paper}))[0]
    assert page.get_size() == pytest.approx(points, abs=0.5)


def test_text_is_content_and_never_markup() -> None:
    page = pypdfium2.PdfDocument(compile_typst("list", CONTENT))[0]
    text = page.get_textpage().get_text_range()
    assert "#raw *not* markup $x$ @y" in text
    assert "½ l at 60 °C" in text


def test_an_unknown_paper_is_refused_by_name() -> None:
    with pytest.raises(UserMistake, match=r"'legal'.*a4 or us-letter"):
        compile_typst("list", {**CONTENT, "paper": "legal"})
