"""Labels: the rendered page is read again by an independent reader, also as a telephone sees it at 2 m."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pypdfium2
import pytest
import zxingcpp
from PIL import Image, ImageFilter

from underoak.book.load import load_book
from underoak.book.methods import load_methods
from underoak.errors import UserMistake
from underoak.kitchen.cautions import travelling
from underoak.sheets.labels import (
    LABEL_PAPERS,
    MOST_CHARACTERS,
    Label,
    LabelPaper,
    fitted,
    how_set,
    label_sheet,
    label_text,
    reads_from_m,
)
from underoak.sheets.wording import alcohol_caution

#: Pixels for a metre of what a 26 mm equivalent lens (69.4 degrees) puts on 4000 pixels from a metre away.
PIXELS_PER_M_AT_1M = 4000.0 / 1.385
DPI = 200.0

LABEL = Label(
    code="7QK-261017-12-01",
    product="frozen, steamed",
    kind="ringless honey mushroom",
    scientific_name="Desarmillaria caespitosa",
    made_on=date(2026, 10, 17),
    batch_id="7QK-261017-12",
    use_by=date(2027, 6, 14),
    net_g=400.0,
    cautions=(
        "Never raw. Boil first and throw the water away; dried pieces raw have made people ill.",
        "No alcohol for 1 day before and after eating this.",
    ),
    reheat="Cook from frozen, through and steaming hot.",
)
THREE = [replace(LABEL, code=f"7QK-261017-12-{n:02d}") for n in (1, 2, 3)]


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


FITTING = [paper for paper in LABEL_PAPERS if paper != "letter-30"]


@pytest.mark.parametrize("paper", FITTING)
def test_every_paper_is_read_back_word_for_word(paper: str) -> None:
    assert codes(rendered(label_sheet(THREE, paper))) == {label_text(label) for label in THREE}


@pytest.mark.parametrize("paper", ["a4", "us-letter", "a4-8", "letter-6"])
def test_large_labels_are_read_from_two_metres(paper: str) -> None:
    assert reads_from_m(fitted([LABEL], paper)[0].code_mm, label_text(LABEL)) >= 2.0
    page = seen_from(rendered(label_sheet(THREE, paper)), 2.0)
    assert codes(page) == {label_text(label) for label in THREE}


@pytest.mark.parametrize("paper", ["a4-14", "a4-21", "letter-10"])
def test_small_labels_are_read_from_the_distance_they_claim(paper: str) -> None:
    metres = reads_from_m(fitted([LABEL], paper)[0].code_mm, label_text(LABEL))
    assert 0.5 < metres < 2.0
    assert codes(seen_from(rendered(label_sheet(THREE, paper)), metres * 0.95)) == {
        label_text(x) for x in THREE
    }


def test_the_code_says_what_is_inside_in_plain_text() -> None:
    text = label_text(LABEL)
    for words in (
        "7QK-261017-12-01",
        "FROZEN",
        "RINGLESS HONEY MUSHROOM",
        "DESARMILLARIA",
        "2026-10-17",
        "USE BY 2027-06-14",
    ):
        assert words in text
    assert "NO ALCOHOL FOR 1 DAY" in text
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


def book_labels() -> list[Label]:
    """A label for every set of cautions that the book and its methods can put on a jar, longest in front."""
    found: dict[tuple[str, ...], Label] = {}
    methods = load_methods()
    for taxon in load_book().taxa.values():
        for name in taxon.kitchen.methods if taxon.gathered and taxon.kitchen else ():
            method = methods[name]
            words = travelling(method, taxon, known=False, alcohol=alcohol_caution)
            label = replace(
                LABEL,
                code=f"7QK-261017-12-{len(found) + 1:02d}",
                product=method.name,
                kind=taxon.common_names[0],
                scientific_name=taxon.scientific_name,
                cautions=words,
                reheat=method.reheat,
            )
            found.setdefault((*words, method.reheat), label)
    return sorted(found.values(), key=lambda one: -sum(map(len, one.cautions)))


def box_of(form: LabelPaper, number: int, height_pt: float) -> tuple[float, float, float, float]:
    """Left, bottom, right and top of one place on the sheet, points from the lower left corner."""
    mm = 72.0 / 25.4
    left = (form.left_mm + number % form.columns * form.across_mm) * mm
    top = height_pt - (form.top_mm + number // form.columns * form.down_mm) * mm
    return left, top - form.height_mm * mm, left + form.width_mm * mm, top


@pytest.mark.parametrize("paper", FITTING)
def test_no_sentence_of_any_label_is_cut_or_leaves_its_label(paper: str) -> None:
    """By geometry: every printed word stands inside its label, and all of the label's words are there."""
    form, labels = LABEL_PAPERS[paper], book_labels()[::5]
    fitting = [one for one, way in zip(labels, how_set(labels, paper), strict=True) if way is not None]
    if form.height_mm > 45:
        assert fitting == labels
    document = pypdfium2.PdfDocument(label_sheet(fitting, paper))
    places = form.columns * form.rows
    for at, label in enumerate(fitting):
        page = document[at // places]
        words = page.get_textpage()
        left, bottom, right, top = box_of(form, at % places, page.get_height())
        inside = [words.get_rect(n) for n in range(words.count_rects())]
        inside = [
            r for r in inside if left <= (r[0] + r[2]) / 2 <= right and bottom <= (r[1] + r[3]) / 2 <= top
        ]
        assert inside
        for rect in inside:
            assert left < rect[0] < rect[2] < right
            assert bottom < rect[1] < rect[3] < top
        told = words.get_text_bounded(left, bottom, right, top).replace("\x02", "-")  # at the end of a line
        told = " ".join(told.split()).replace("- ", "-")
        for sentence in (*label.cautions, label.reheat, label.code, f"Use by {label.use_by}"):
            assert sentence.replace("- ", "-") in told, (label.code, sentence)


def test_labels_too_small_for_their_cautions_are_refused_with_a_larger_one() -> None:
    with pytest.raises(
        UserMistake, match=r"too small for the cautions of 7QK-261017-12-01.*larger one: .*a4-8"
    ):
        label_sheet([LABEL], "letter-30")
    longest = book_labels()[0]
    with pytest.raises(UserMistake, match="too small"):
        label_sheet([longest], "a4-21")


def test_the_small_print_is_never_smaller_than_food_labels_must_be() -> None:
    """Regulation (EU) No 1169/2011, Article 13(3): x-height of 0.9 mm on small packages (from memory)."""
    pdf = pypdfium2.PdfDocument(label_sheet([LABEL], "a4-21"))
    words = pdf[0].get_textpage()
    text = words.get_text_range()
    at = text.index("raw. Boil")
    _, low, _, high = words.get_charbox(at + text[at:].index("a"))  # an a is as high as an x, with its bow
    assert (high - low) * 25.4 / 72.0 >= 0.9
