"""Labels: the rendered page is read again by an independent reader, also as a telephone sees it at 2 m."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pypdfium2
import pytest
import zxingcpp
from PIL import Image, ImageFilter

from underoak.errors import UserMistake
from underoak.sheets.labels import (
    LABEL_PAPERS,
    MOST_CHARACTERS,
    Label,
    label_sheet,
    label_text,
    reads_from_m,
)

#: Pixels for a metre of what a 26 mm equivalent lens (69.4 degrees) puts on 4000 pixels from a metre away.
PIXELS_PER_M_AT_1M = 4000.0 / 1.385
DPI = 200.0

LABEL = Label(
    code="261017-2-01",
    product="frozen, steamed",
    kind="ringless honey mushroom",
    scientific_name="Desarmillaria caespitosa",
    made_on=date(2026, 10, 17),
    batch_id="261017-2",
    use_by=date(2027, 6, 14),
    net_g=400.0,
    cautions=(
        "Never raw. Boil first and throw the water away; dried pieces raw have made people ill.",
        "No alcohol for 1 day(s) before and after eating this.",
    ),
    reheat="Cook from frozen, through and steaming hot.",
)
THREE = [replace(LABEL, code=f"261017-2-{n:02d}") for n in (1, 2, 3)]


def rendered(pdf: bytes, page: int = 0) -> Image.Image:
    image: Image.Image = pypdfium2.PdfDocument(pdf)[page].render(scale=DPI / 72.0).to_pil()
    return image.convert("L")


def seen_from(image: Image.Image, metres: float) -> Image.Image:
    """The page as a telephone's camera sees it from so far, a little out of focus."""
    factor = PIXELS_PER_M_AT_1M / metres / 1000.0 / (DPI / 25.4)
    small = image.resize((round(image.width * factor), round(image.height * factor)), Image.Resampling.BOX)
    return small.filter(ImageFilter.GaussianBlur(0.4))


def codes(image: Image.Image) -> set[str]:
    return {found.text for found in zxingcpp.read_barcodes(image)}


@pytest.mark.parametrize("paper", LABEL_PAPERS)
def test_every_paper_is_read_back_word_for_word(paper: str) -> None:
    assert codes(rendered(label_sheet(THREE, paper))) == {label_text(label) for label in THREE}


@pytest.mark.parametrize("paper", ["a4", "us-letter", "a4-8", "letter-6"])
def test_large_labels_are_read_from_two_metres(paper: str) -> None:
    assert reads_from_m(LABEL_PAPERS[paper], label_text(LABEL)) >= 2.0
    page = seen_from(rendered(label_sheet(THREE, paper)), 2.0)
    assert codes(page) == {label_text(label) for label in THREE}


@pytest.mark.parametrize("paper", ["a4-14", "a4-21", "letter-10", "letter-30"])
def test_small_labels_are_read_from_the_distance_they_claim(paper: str) -> None:
    metres = reads_from_m(LABEL_PAPERS[paper], label_text(LABEL))
    assert 0.5 < metres < 2.0
    assert codes(seen_from(rendered(label_sheet(THREE, paper)), metres * 0.95)) == {
        label_text(x) for x in THREE
    }


def test_the_code_says_what_is_inside_in_plain_text() -> None:
    text = label_text(LABEL)
    for words in (
        "261017-2-01",
        "FROZEN",
        "RINGLESS HONEY MUSHROOM",
        "DESARMILLARIA",
        "2026-10-17",
        "USE BY 2027-06-14",
    ):
        assert words in text
    assert "NO ALCOHOL FOR 1 DAYS" in text
    assert "NEVER RAW" in text
    assert len(text) <= MOST_CHARACTERS + 41
    assert "HTTP" not in text


def test_made_against_advice_warns_first_in_code_and_print() -> None:
    never = replace(LABEL, against_advice=True, use_by=None)
    assert label_text(never).startswith("DO NOT EAT")
    page = pypdfium2.PdfDocument(label_sheet([never], "a4-8"))[0]
    text = page.get_textpage().get_text_range()
    assert "DO NOT EAT" in text
    assert "Not for eating" in text
    assert "Use by" not in text


def test_all_cautions_are_printed_as_they_stand() -> None:
    text = pypdfium2.PdfDocument(label_sheet([LABEL], "a4-8"))[0].get_textpage().get_text_range()
    flat = " ".join(text.split())
    for words in (*LABEL.cautions, LABEL.reheat, LABEL.kind, LABEL.code):
        assert words in flat


def test_more_labels_than_places_take_a_second_sheet_and_skipped_places_stay_empty() -> None:
    pdf = label_sheet([LABEL] * 8, "a4-8", skip=1)
    document = pypdfium2.PdfDocument(pdf)
    assert len(document) == 2
    assert len(zxingcpp.read_barcodes(rendered(pdf, 1))) == 1


@pytest.mark.parametrize(
    ("arguments", "words"),
    [(([], "a4"), "no jar"), (([LABEL], "a5"), "a4-8"), (([LABEL], "a4-8", 8), "0 to 7")],
)
def test_what_cannot_be_printed_is_refused(arguments: tuple[object, ...], words: str) -> None:
    labels, paper, *skip = arguments
    with pytest.raises(UserMistake, match=words):
        label_sheet(labels, paper, skip=skip[0] if skip else 0)  # type: ignore[arg-type]
