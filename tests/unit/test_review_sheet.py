"""The review on paper: next year keeps to its page however much there is to say."""

from __future__ import annotations

import pypdfium2
import pytest

from underoak.errors import UserMistake
from underoak.sheets.review_sheet import Picture, Table, review_pdf


def pages(lines: int) -> list[str]:
    pdf = review_pdf(
        title="What season 2026 taught",
        opening="Invented.",
        advice=[
            (f"Do thing {n} at a place with a name of usual length.", "3 of 4 seasons", 4)
            for n in range(lines)
        ],
        unknown=["Something is not known yet, and this says what it would take."] * 6,
        tables=[Table("Memory of trees", ("", "kg"), (("by month",), ("oak & elm", "1.0")), ("A note.",))],
        pictures=[Picture("A box.", "<svg xmlns='http://www.w3.org/2000/svg' width='9' height='9'/>")],
        paper="us-letter",
    )
    document = pypdfium2.PdfDocument(pdf)
    return [document[n].get_textpage().get_text_range() for n in range(len(document))]


@pytest.mark.parametrize("lines", [0, 16, 40])
def test_next_year_is_one_page_and_nothing_is_lost(lines: int) -> None:
    told = pages(lines)
    assert "Not known yet" in told[0]
    text = " ".join(told)
    assert all(f"Do thing {n} at" in text for n in range(lines))
    assert "oak & elm" in text
    assert ("further lines" in text) is (lines > 16)
    assert ("Nothing to do differently" in text) is (lines == 0)


def test_another_paper_is_refused() -> None:
    with pytest.raises(UserMistake):
        review_pdf(title="", opening="", advice=[], unknown=[], tables=[], pictures=[], paper="b5")
