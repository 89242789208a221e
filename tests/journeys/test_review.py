"""A household looks back: the invented seasons, one Saturday, its kitchen, and what they teach.

Everything in it is invented.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from typing import Any

import pypdfium2
import pytest
from click.testing import CliRunner

from tests.journeys.command import Answer, underoak
from tests.made_once import valley
from underoak.cli.review import review, review_lines
from underoak.desk.demo import SATURDAY, NotedFind, day_out, fresh_demo_home
from underoak.desk.record_batch import BatchNote, record_batches
from underoak.desk.review_season import review_season
from underoak.desk.review_sheets import write_review
from underoak.desk.this_week import this_week
from underoak.desk.vet_find import vet_find
from underoak.errors import NoAnswer, UserMistake
from underoak.ledger.database import open_ledger, writing
from underoak.ledger.pantry import set_jar_state
from underoak.settings import Home

PLACE = "Fiddler's Hollow"


@dataclass(frozen=True)
class Past:
    """The home as it stands on the Sunday, and the finds of the Saturday."""

    home: Home
    noted: tuple[NotedFind, ...]

    def review(self, *options: object) -> Answer:
        answer = underoak("review", "--today", "2026-10-04", *options, home=self.home.folder)
        assert answer.code == 0, answer.err
        return answer


@pytest.fixture(scope="module")
def past(tmp_path_factory: pytest.TempPathFactory) -> Past:
    home = valley(tmp_path_factory)
    this_week(home, today=SATURDAY - timedelta(days=1))
    _, noted = day_out(home, PLACE, seed=1, minutes=210.0)
    for each in noted:
        vet_find(home, each.find.id, each.document, today=SATURDAY)
    hens = [n.find for n in noted if n.find.taxon_id == "grifola_frondosa" and not n.words][:2]
    for find in hens:
        lot = (f"lot-{find.id}", 500.0)
        record_batches(home, BatchNote(method="dry", lots=[lot], units=(2, 40.0)), day=SATURDAY)
    connection = open_ledger(home.ledger)
    code = connection.execute("SELECT code FROM jar ORDER BY code LIMIT 1").fetchone()[0]
    with writing(connection):
        connection.execute("UPDATE find SET note = 'side: NE; colour: brown' WHERE id = ?", (hens[0].id,))
        set_jar_state(connection, code, "thrown", SATURDAY, "moths")
    connection.close()
    return Past(home, noted)


@pytest.fixture(scope="module")
def told(past: Past) -> Any:
    return past.review("--json").json()


def test_kilograms_of_the_season_are_those_of_the_ledger(past: Past, told: Any) -> None:
    connection = open_ledger(past.home.ledger)
    grams = connection.execute(
        "SELECT sum(fresh_g) FROM find JOIN visit ON visit.id = visit_id WHERE day >= '2026-03-01'"
    ).fetchone()[0]
    rates = told["findings"]["rates"]
    for group in ("by_place", "by_taxon", "by_month", "by_party"):
        assert sum(rate["kg"] for rate in rates[group]) == pytest.approx(grams / 1000.0), group
    visits = connection.execute("SELECT count(*) FROM visit WHERE day >= '2026-03-01'").fetchone()[0]
    assert sum(rate["visits"] for rate in rates["by_month"]) == visits == told["visits"]


def test_the_outlook_asked_the_day_before_is_set_against_the_day(told: Any) -> None:
    weeks = told["findings"]["weeks"]
    (kept,) = weeks["kept"]
    assert kept["promise"]["made_on"] == "2026-10-02"
    assert kept["promise"]["day"] == "2026-10-03"
    assert kept["brought_kg"] > 0.0
    assert weeks["unvisited"] > 0


def test_the_missing_spore_print_is_the_check_that_kept_a_find_open(told: Any) -> None:
    checks = told["findings"]["checks"]
    assert checks["open"] == 1
    assert "print_colour" in [check["character"] for check in checks["checks"]]


def test_the_kitchen_shows_what_was_thrown_and_what_was_weighed(told: Any) -> None:
    thrown = [fate for fate in told["findings"]["fates"] if fate["why"] == "moths"]
    assert [round(fate["kg"], 3) for fate in thrown] == [0.25]
    (made,) = [row for row in told["findings"]["yields"] if row["method_id"] == "dry"]
    assert made["batches"] == 2
    assert made["own"] == [160.0, 160.0]
    assert made["book"][0] < made["book"][1] < 160.0
    assert sum(fate["share"] for fate in told["findings"]["fates"]) == pytest.approx(1.0)


def test_notes_of_finds_reach_trees_and_colours(told: Any) -> None:
    (side,) = told["findings"]["sides"]
    assert (side["side"]["n"], side["side"]["mean_deg"]) == (1, pytest.approx(45.0))
    assert any(test["taxon_id"] == "grifola_frondosa" for test in told["findings"]["colours"])


def test_a_side_stated_beforehand_is_tested(past: Past) -> None:
    (row,) = review_season(past.home, 2026, toward_deg=225.0).findings.sides
    assert row.side.toward_deg == 225.0
    assert row.side.v_p is not None
    assert row.side.v_p > 0.5  # the one noted side lies opposite
    assert not row.side.enough


def test_every_line_for_next_year_has_evidence_and_records(past: Past, told: Any) -> None:
    page = told["next_year"]
    assert page["season"] == 2027
    assert page["advice"]
    for line in page["advice"]:
        assert line["records"] >= 2
        assert any(character.isdigit() for character in line["evidence"])
    out = past.review("--next-year").out
    for line in page["advice"]:
        assert f"Records: {line['records']}" in " ".join(out.split())
    assert "Not known yet" in out


def test_the_pdf_is_legible_and_the_same_each_time(past: Past) -> None:
    written = past.home.sheets / "review-2026.pdf"
    answer = past.review("--pdf", "--paper", "a4")
    assert str(written) in answer.out
    first = written.read_bytes()
    again = write_review(review_season(past.home, 2026), past.home.sheets / "again.pdf", paper="a4")
    assert again.read_bytes() == first
    document = pypdfium2.PdfDocument(written)
    pages = [document[n].get_textpage().get_text_range() for n in range(len(document))]
    assert "Next year" in pages[0]
    assert "Memory of trees" not in pages[0]  # next year is one page
    text = " ".join(pages)
    for heading in ("Against the region", "Memory of trees", "Checks that were skipped", "moths"):
        assert heading in text


def test_a_season_without_a_visit_has_no_answer(past: Past) -> None:
    answer = underoak("review", "--year", "1999", home=past.home.folder)
    assert answer.code == 4
    assert "1999" in answer.err
    with pytest.raises(UserMistake, match="b5"):
        write_review(review_season(past.home, 2026), past.home.sheets / "no.pdf", paper="b5")
    assert not (past.home.sheets / "no.pdf").exists()


def test_a_side_that_is_none_is_refused(past: Past) -> None:
    result = CliRunner().invoke(review, ["--home", str(past.home.folder), "--toward", "up"])
    assert isinstance(result.exception, UserMistake)
    assert "--toward" in result.exception.problem.sentence()


def test_nothing_is_said_to_be_fit_to_eat(past: Past, told: Any) -> None:
    lines = review_lines(review_season(past.home, 2026))
    words = "\n".join([json.dumps(told["next_year"]), *lines]).casefold()
    assert "edible" not in words
    assert "safe" not in words


def test_an_empty_home_says_that_no_visit_is_written_down(tmp_path: Path) -> None:
    with pytest.raises(NoAnswer, match="no visit"):
        review_season(fresh_demo_home(tmp_path / "empty"), 2026)
