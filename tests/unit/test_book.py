"""The book: strict reading, names, and the checks over the whole of it."""

from __future__ import annotations

import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from underoak.book.check import broken_rules
from underoak.book.hosts import host_groups
from underoak.book.load import Book, book_version, load_book, read_book
from underoak.book.methods import load_methods
from underoak.errors import BadData, UserMistake
from underoak.vetting.check_book import weak_spots

BOOK_FOLDER = Path(__file__).parents[2] / "src" / "underoak" / "book"


@pytest.fixture
def copy(tmp_path: Path) -> Path:
    """The book's files, to be spoiled."""
    folder = tmp_path / "book"
    folder.mkdir()
    for name in ("characters", "never_gather", "clashes", "dangers", "sources"):
        shutil.copy(BOOK_FOLDER / f"{name}.toml", folder)
    shutil.copytree(BOOK_FOLDER / "taxa", folder / "taxa")
    shutil.copytree(BOOK_FOLDER / "confusions", folder / "confusions")
    return folder


def test_the_whole_book_keeps_its_rules() -> None:
    book = load_book()
    problems = broken_rules(book, host_groups(), load_methods()) + weak_spots(book)
    assert [problem.sentence() for problem in problems] == []


def test_the_book_is_as_large_as_promised() -> None:
    book = load_book()
    assert len(book.taxa) >= 110
    assert sum(t.gathered for t in book.taxa.values()) >= 14
    assert sum(t.dangerous for t in book.taxa.values()) >= 14
    harmless = [t for t in book.taxa.values() if not t.gathered and not t.dangerous]
    assert len(harmless) >= 40


def test_nobody_has_reviewed_anything_and_that_is_said() -> None:
    assert all(t.reviewed_by is None for t in load_book().taxa.values())


def test_no_entry_speaks_of_safe_or_edible() -> None:
    for file in sorted((BOOK_FOLDER / "taxa").glob("*.toml")) + sorted(
        (BOOK_FOLDER / "confusions").glob("*.toml")
    ):
        text = file.read_text("utf-8").casefold()
        assert "edible" not in text.replace("inedible", ""), file.name
        assert "safe" not in text, file.name


def test_the_version_follows_the_content(copy: Path) -> None:
    before = read_book(copy).version
    assert before == load_book().version == book_version()
    file = copy / "taxa" / "grifola_frondosa.toml"
    file.write_text(file.read_text("utf-8").replace("median = 270", "median = 271"), "utf-8")
    assert read_book(copy).version != before


def test_all_faults_of_all_files_at_once(copy: Path) -> None:
    taxa = copy / "taxa"
    spoil(taxa / "grifola_frondosa.toml", 'pores = "always"', 'pores = "mostly"')
    spoil(taxa / "galerina_marginata.toml", "rusty", "ruddy")
    spoil(taxa / "lepista_nuda.toml", 'id = "lepista_nuda"', 'id = "lepista"')
    (taxa / "broken.toml").write_text("id = ", "utf-8")
    (copy / "confusions" / "x.toml").write_text('[[pair]]\ntarget = "a"\n', "utf-8")
    with pytest.raises(BadData) as error:
        read_book(copy)
    told = " ".join(problem.sentence() for problem in error.value.problems)
    for word in ("grifola_frondosa.toml", "ruddy", "lepista_nuda.toml", "broken.toml", "x.toml"):
        assert word in told


def spoil(file: Path, old: str, new: str) -> None:
    text = file.read_text("utf-8")
    assert old in text
    file.write_text(text.replace(old, new), "utf-8")


@pytest.mark.parametrize(
    "name",
    ["Hen-of-the-Woods", "hen of the WOODS", "GRIFOLA frondosa", "grifola_frondosa", "Polyporus frondosus"],
)
def test_names_are_found_however_they_are_written(name: str) -> None:
    assert load_book().find(name).id == "grifola_frondosa"


def test_an_unknown_name_is_told_with_near_ones() -> None:
    with pytest.raises(UserMistake) as error:
        load_book().find("grifola frondoza")
    assert "grifola frondosa" in error.value.problem.remedy


def test_a_forgotten_pair_is_reported() -> None:
    book = load_book()
    pair = ("lepista_nuda", "cortinarius_armillatus")
    assert pair in book.confusions
    poorer = without_pair(book, pair)
    told = [p.sentence() for p in weak_spots(poorer)]
    assert any("cortinarius_armillatus" in t and "lepista_nuda" in t for t in told)


def without_pair(book: Book, pair: tuple[str, str]) -> Book:
    return replace(book, confusions={k: v for k, v in book.confusions.items() if k != pair})


def test_an_inseparable_deadly_pair_is_reported() -> None:
    """A galerina that shows all that the honey mushroom shows can no longer be told from it."""
    book = load_book()
    honey, galerina = book.taxa["desarmillaria_caespitosa"], book.taxa["galerina_marginata"]
    twin = galerina.model_copy(update={"look": honey.look})
    told = [p.sentence() for p in weak_spots(replace(book, taxa={**book.taxa, twin.id: twin}))]
    assert any("desarmillaria_caespitosa against galerina_marginata" in t for t in told)


def test_an_amanita_that_is_not_never_gather_is_reported() -> None:
    book = load_book()
    loose = book.taxa["amanita_muscaria"].model_copy(update={"never_gather": False})
    poorer = replace(book, taxa={**book.taxa, loose.id: loose})
    told = [p.sentence() for p in broken_rules(poorer, host_groups(), load_methods())]
    assert any("amanita_muscaria" in t for t in told)
