"""Labels for jars and bags: large words, and a QR code that says the same in plain text.

Every caution of a jar stands on its label whole. To make room, first the letters of the small print and then
the code get smaller; where that is not enough, the paper is refused.
"""

from __future__ import annotations

import io
import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from typing import Any

from underoak.errors import UserMistake
from underoak.model.quantities import Units, weight
from underoak.sheets.pdf import compile_typst, query_typst

#: Letters that fit a code of 37 squares (ISO/IEC 18004, version 5-L); more makes the squares finer.
MOST_CHARACTERS = 154
#: Sizes of the small print, points, the last only where nothing else helps. 6 points have an x-height of
#: 0.9 mm, the least that EU rules allow for what labels of food must say on small packages (Regulation (EU)
#: No 1169/2011, Article 13(3); from memory).
SMALL_PT, SMALLEST_PT = (8.0, 7.5, 7.0, 6.5), 6.0
#: How far the code may shrink, as shares of its largest edge, and the least edge of one square, mm (common
#: practice, no source).
_CODE_SHARES, _LEAST_SQUARE_MM = (1.0, 0.9, 0.8, 0.7, 0.6, 0.5, 0.4), 0.4
_HARD = "\N{NO-BREAK SPACE}"
_SET = re.compile(r"[^0-9A-Z $%*+\-./:]+")


@dataclass(frozen=True, slots=True)
class Label:
    """What one jar's label says; ``cautions`` are the short ones first."""

    code: str
    product: str
    kind: str
    scientific_name: str
    made_on: date
    batch_id: str
    use_by: date | None
    net_g: float
    cautions: tuple[str, ...]
    reheat: str = ""
    against_advice: bool = False
    warning: str = ""
    units: Units = "metric"


@dataclass(frozen=True, slots=True)
class LabelPaper:
    """Geometry of a sheet of labels, mm; ``cut`` draws lines on plain paper."""

    name: str
    paper: str
    columns: int
    rows: int
    width_mm: float
    height_mm: float
    left_mm: float
    top_mm: float
    across_mm: float
    down_mm: float
    cut: bool = False

    @property
    def words(self) -> str:
        """What a person calls it."""
        sheet = {"a4": "A4", "us-letter": "US Letter"}[self.paper]
        if self.cut:
            return f"{sheet}, plain, to cut"
        return f"{sheet}, {self.columns * self.rows} labels of {self.width_mm:.0f} × {self.height_mm:.0f} mm"

    @property
    def most_code_mm(self) -> float:
        """Largest edge of the QR code's square with its quiet zone."""
        return min(self.height_mm - 4.0, self.width_mm * 0.66)


@dataclass(frozen=True, slots=True)
class Way:
    """One way to set a label: edge of the code, size of the small print.

    ``below`` puts the small print below the code; ``brief`` joins short lines and leaves out the batch.
    """

    code_mm: float
    small_pt: float
    below: bool
    brief: bool


#: Common label papers by how many stand on a sheet, and plain paper to cut. Geometry from memory.
LABEL_PAPERS: Mapping[str, LabelPaper] = {
    paper.name: paper
    for paper in (
        LabelPaper("a4-8", "a4", 2, 4, 99.1, 67.7, 4.65, 13.1, 101.6, 67.7),
        LabelPaper("a4-14", "a4", 2, 7, 99.1, 38.1, 4.65, 15.15, 101.6, 38.1),
        LabelPaper("a4-21", "a4", 3, 7, 63.5, 38.1, 7.25, 15.15, 66.0, 38.1),
        LabelPaper("letter-6", "us-letter", 2, 3, 101.6, 84.67, 4.0, 12.7, 106.3, 84.67),
        LabelPaper("letter-10", "us-letter", 2, 5, 101.6, 50.8, 4.0, 12.7, 106.3, 50.8),
        LabelPaper("letter-30", "us-letter", 3, 10, 66.68, 25.4, 4.78, 12.7, 69.85, 25.4),
        LabelPaper("a4", "a4", 2, 3, 95.0, 92.0, 10.0, 10.0, 95.0, 92.0, cut=True),
        LabelPaper("us-letter", "us-letter", 2, 3, 97.0, 86.0, 10.9, 10.0, 97.0, 86.0, cut=True),
    )
}


def label_text(label: Label) -> str:
    """The plain text inside the QR code: letters, digits and a few signs, so that it stays coarse.

    The warning of something made against the advice comes before everything. Code, product and kind follow,
    then the days, then the short forms of the cautions: those on alcohol and on raw always, the others while
    there is room.

    **Fails towards** the caution: where one makes the text long, the squares get finer, not the words fewer.
    """
    head = ["DO NOT EAT - MADE AGAINST ADVICE"] if label.against_advice else []
    head += ["DO NOT EAT"] if label.warning else []
    use_by = f"USE BY {label.use_by}" if label.use_by and not label.warning else "NOT FOR EATING"
    head += [f"{label.code} {label.product}", label.kind, label.scientific_name, f"{label.made_on} {use_by}"]
    text = " / ".join(_plain(part) for part in head if part)
    short = dict.fromkeys(_plain(short_caution(words)) for words in label.cautions)
    needed = [words for words in short if words.startswith(("NO ALCOHOL FOR", "NEVER RAW", "POISONOUS RAW"))]
    for words in (*needed, *(w for w in short if w not in needed)):
        longer = f"{text} / {words}"
        if words in needed or len(longer) <= MOST_CHARACTERS:
            text = longer
    return text


def short_caution(words: str) -> str:
    """A caution down to its first clause that says something; intervals without alcohol down to the days."""
    first = re.split(r"(?<=[.;]) ", words, maxsplit=1)[0].rstrip(".;")
    return first.split(" before and after")[0]


def _plain(text: str) -> str:
    """Upper case in the signs that the compact mode of QR codes has (ISO/IEC 18004, alphanumeric)."""
    flat = unicodedata.normalize("NFKD", text.upper()).encode("ascii", "ignore").decode()
    return re.sub(r" +", " ", _SET.sub(" ", flat.replace(";", ".").replace(",", "."))).strip()


@lru_cache(maxsize=256)
def _code(text: str) -> Any:
    import segno

    return segno.make(text, error="l", boost_error=False, micro=False)


def code_svg(text: str) -> str:
    """The QR code of a text as SVG, with the quiet zone of four squares."""
    out = io.BytesIO()
    _code(text).save(out, kind="svg", border=4, xmldecl=False, svgns=True, omitsize=True)
    return out.getvalue().decode()


def squares(text: str) -> int:
    """Squares along one edge of the code of a text, with its quiet zone."""
    return int(_code(text).symbol_size(border=4)[0])


def reads_from_m(code_mm: float, text: str) -> float:
    """Metres from which a telephone can read a code of this edge.

    Method: a camera with 4000 pixels over 69 degrees (26 mm equivalent) sees 2 pixels a square. The pixels
    that a reader needs are measured in tests/unit/test_labels.py; the camera is common practice, no source.
    """
    pixels_per_m_at_1m = 4000.0 / 1.385
    return code_mm / 1000.0 / squares(text) * pixels_per_m_at_1m / 2.0


def ways(label: Label, form: LabelPaper) -> list[Way]:
    """The ways a label may be set on a paper, the one with the largest code in front."""
    least = _LEAST_SQUARE_MM * squares(label_text(label))
    codes = [edge for share in _CODE_SHARES if (edge := round(share * form.most_code_mm, 2)) >= least]
    return [
        Way(edge, small_pt, below, brief)
        for sizes in (SMALL_PT, (SMALLEST_PT,))
        for edge in codes
        for brief in (False, True)
        for small_pt in sizes
        for below in (False, True)
    ]


def how_set(labels: Sequence[Label], paper: str) -> list[Way | None]:
    """How each label is set so that every word is on it; None for those that have too much to say.

    Raises UserMistake for an unknown paper.
    """
    form = _form(paper)
    found = query_typst("labels", label_content(labels, form, 0), "way")
    return [ways(label, form)[at] if at >= 0 else None for label, at in zip(labels, found, strict=True)]


def fitted(labels: Sequence[Label], paper: str) -> tuple[Way, ...]:
    """How each label is set.

    Raises UserMistake for an unknown paper, and for one too small for what a label has to say.

    **Fails towards** refusing the paper: no caution is left out, shortened or cut.
    """
    found = []
    for label, way in zip(labels, how_set(labels, paper), strict=True):
        if way is None:
            raise UserMistake(
                f"labels {paper} are too small for the cautions of {label.code}",
                expected="every caution whole on the label",
                remedy=f"choose a larger one: {', '.join(_larger(_form(paper)))}",
            )
        found.append(way)
    return tuple(found)


def _form(paper: str) -> LabelPaper:
    if paper not in LABEL_PAPERS:
        raise UserMistake(f"there is no label paper {paper!r}", expected=", ".join(LABEL_PAPERS))
    return LABEL_PAPERS[paper]


def _larger(form: LabelPaper) -> list[str]:
    size = form.width_mm * form.height_mm
    return [name for name, one in LABEL_PAPERS.items() if one.width_mm * one.height_mm > size]


def label_sheet(labels: Sequence[Label], paper: str = "a4", *, skip: int = 0) -> bytes:
    """PDF with one label each, ``skip`` places of the first sheet left empty.

    Raises
    ------
    UserMistake   for an unknown paper, no labels, more places skipped than a sheet has, or labels too small
                  for the cautions
    """
    form = _form(paper)
    if not labels:
        raise UserMistake(
            "no jar to label", remedy="name jars, or record a batch with 'underoak kitchen done'"
        )
    if not 0 <= skip < form.columns * form.rows:
        raise UserMistake(f"{skip} places skipped", expected=f"0 to {form.columns * form.rows - 1}")
    fitted(labels, paper)
    return compile_typst("labels", label_content(labels, form, skip))


def label_content(labels: Sequence[Label], form: LabelPaper, skip: int) -> dict[str, Any]:
    """Everything on the sheet as plain data for the template."""
    return {
        "title": "Labels",
        "paper": form.paper,
        "form": form,
        "skip": skip,
        "labels": [
            {
                "code": label.code,
                "product": label.product,
                "kind": label.kind,
                "scientific_name": label.scientific_name,
                "days": _days(label),
                "warning": "DO NOT EAT: made against advice" if label.against_advice else label.warning,
                "small": [*label.cautions, *([label.reheat] if label.reheat else [])],
                "picture": code_svg(label_text(label)),
                "ways": ways(label, form),
            }
            for label in labels
        ],
    }


def _days(label: Label) -> list[str]:
    """Lines below the code; figures stay with their words and units."""
    use_by = f"Use by{_HARD}{label.use_by}" if label.use_by and not label.warning else "Not for eating"
    net = weight(label.net_g, label.units).replace(" ", _HARD)
    return [use_by, f"Made{_HARD}{label.made_on}, {net}", f"Batch{_HARD}{label.batch_id}"]
