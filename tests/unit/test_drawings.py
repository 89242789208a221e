"""Every state of a drawn character has its own drawing, and nothing else is in the files."""

from __future__ import annotations

from pathlib import Path

import pytest
from defusedxml.ElementTree import fromstring

from underoak.book.drawings import drawings
from underoak.book.load import load_book

DRAWN = {n: c for n, c in load_book().characters.items() if c.drawing}
FOLDER = Path(__file__).parents[2] / "src" / "underoak" / "book" / "drawings"


def test_the_structural_characters_are_drawn() -> None:
    assert {"form", "hymenium", "growth", "gill_attachment", "ring", "sac", "section"} <= set(DRAWN)


@pytest.mark.parametrize("name", DRAWN)
def test_each_state_has_one_drawing_of_its_own(name: str) -> None:
    pictures = drawings(DRAWN[name].drawing)
    assert set(pictures) == set(DRAWN[name].states)
    assert len(set(pictures.values())) == len(pictures)
    for picture in pictures.values():
        root = fromstring(picture)
        assert root.attrib["viewBox"] == "0 0 48 48"
        assert len(list(root.iter())) > 2


@pytest.mark.parametrize("file", sorted(FOLDER.glob("*.svg")), ids=lambda file: file.name)
def test_files_are_plain_and_used(file: Path) -> None:
    text = file.read_text("utf-8")
    fromstring(text)
    assert "href" not in text
    assert "script" not in text
    assert file.stem in {c.drawing for c in DRAWN.values()}


def test_an_unknown_drawing_is_empty() -> None:
    assert drawings("nothing") == {}
    assert drawings("") == {}
