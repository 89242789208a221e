"""Vetting a find of a home: stored, append-only, remembered, confirmed only by a person."""

from __future__ import annotations

import json
import sqlite3
from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner

from tests.vetting_finds import body, document, find_of, notes
from underoak.cli.book import book as book_command
from underoak.cli.vet import vet as vet_command
from underoak.desk.read_book import entry, gaps
from underoak.desk.vet_find import vet_document, vet_find
from underoak.errors import BadData, UserMistake
from underoak.ledger.database import open_ledger, writing
from underoak.ledger.places import store_places, store_spots
from underoak.ledger.verdicts import verdicts_of
from underoak.ledger.visits import store_visits
from underoak.model.ground import Permission, Place, Spot
from underoak.model.vetting import Opinion
from underoak.model.visits import Find, Visit
from underoak.settings import Home
from underoak.vetting.opinion import with_opinion

HONEY = "desarmillaria_caespitosa"
DAY = date(2026, 9, 12)


@pytest.fixture
def found(home: Home) -> Home:
    """A home with one find of two bodies in an invented wood."""
    ring = ((-74.5, 41.5), (-74.4, 41.5), (-74.4, 41.6), (-74.5, 41.5))
    place = Place("p", "Invented Wood", ((ring,),), Permission("allowed"))
    spot = Spot("s", "p", "Old oak", -74.45, 41.55, "oak")
    find = Find("f1", "s", HONEY, "prime", bodies=2, fresh_g=300.0)
    connection = open_ledger(home.ledger)
    with writing(connection):
        store_places(connection, [place])
        store_spots(connection, [spot])
        store_visits(connection, [Visit("v", DAY, "p", finds=(find,))])
    connection.close()
    return home


def two_bodies() -> list[dict[str, object]]:
    return [body(notes(HONEY), id="1"), body(notes(HONEY), id="2")]


def test_a_verdict_is_stored_with_what_it_stands_on(found: Home) -> None:
    vetted = vet_find(found, "f1", document(None, *two_bodies()), today=DAY)
    assert vetted.verdict.state == "consistent"
    connection = open_ledger(found.ledger)
    (stored,) = verdicts_of(connection, "f1")
    assert stored.id == vetted.verdict_id
    assert (stored.taxon_id, stored.state, stored.bodies) == (HONEY, "consistent", 2)
    assert stored.book_version == vetted.verdict.book_version
    assert stored.observations.target == HONEY
    with pytest.raises(sqlite3.IntegrityError, match="append-only"):
        connection.execute("UPDATE verdict SET state = 'confirmed'")
    with pytest.raises(sqlite3.IntegrityError, match="append-only"):
        connection.execute("DELETE FROM verdict")
    connection.close()


def test_the_find_says_how_many_bodies_there_are(found: Home) -> None:
    vetted = vet_find(found, "f1", document(None, body(notes(HONEY))), today=DAY)
    assert vetted.verdict.state == "open"
    assert any(r.kind == "count" for r in vetted.verdict.reasons)


def test_what_spoke_against_it_is_not_forgotten(found: Home) -> None:
    strange = [body(notes(HONEY, ring="thin"), id="1"), body(notes(HONEY), id="2")]
    assert vet_find(found, "f1", document(None, *strange), today=DAY).verdict.state == "refused"
    silent = [body(notes(HONEY, ring=None), id="1"), body(notes(HONEY), id="2")]
    assert vet_find(found, "f1", document(None, *silent), today=DAY).verdict.state == "refused"
    again = document(None, *two_bodies())
    assert vet_find(found, "f1", again, today=DAY).verdict.state == "consistent"


def test_a_body_that_is_left_out_next_time_keeps_the_lot_open(found: Home) -> None:
    strange = [body(notes(HONEY, ring="thin"), id="1"), body(notes(HONEY), id="2")]
    vet_find(found, "f1", document(None, *strange), today=DAY)
    renamed = [body(notes(HONEY), id="2"), body(notes(HONEY), id="3")]
    answer = vet_find(found, "f1", document(None, *renamed), today=DAY).verdict
    assert answer.state == "open"
    assert {r.kind for r in answer.reasons} == {"earlier"}


def test_bad_documents_and_unknown_finds_store_nothing(found: Home) -> None:
    with pytest.raises(BadData):
        vet_find(found, "f1", document(None, body({"x": {"look": "absent"}})), today=DAY)
    with pytest.raises(UserMistake):
        vet_find(found, "f2", document(None, body({})), today=DAY)
    connection = open_ledger(found.ledger)
    assert verdicts_of(connection, "f1") == []
    connection.close()


def opinion(**changes: object) -> Opinion:
    plain = {"person": "Dana", "day": "2026-09-12", "taxon_id": HONEY, "agrees": True, **changes}
    return Opinion(**plain)  # type: ignore[arg-type]


def test_only_a_person_confirms_and_a_dissent_refuses() -> None:
    good = vet_document(find_of(HONEY))
    agreed = with_opinion(good, opinion())
    assert (agreed.state, agreed.confirmed_by, agreed.confirmed_on) == ("confirmed", "Dana", "2026-09-12")
    assert with_opinion(good, opinion(agrees=False)).state == "refused"
    assert with_opinion(good, opinion(taxon_id="omphalotus_illudens")).state == "refused"


def test_a_person_with_the_find_in_hand_settles_the_name_but_nothing_else() -> None:
    no_print = vet_document(find_of(HONEY, print_colour=None))
    assert no_print.state == "open"
    assert with_opinion(no_print, opinion()).state == "confirmed"
    assert with_opinion(no_print, opinion(saw="photo")).state == "open"
    uncounted = vet_document(document(HONEY, body(notes(HONEY)), bodies_in_lot=5))
    assert with_opinion(uncounted, opinion()).state == "open"
    button = vet_document(document(HONEY, body(notes(HONEY), age="button")))
    assert with_opinion(button, opinion()).state == "open"
    never = vet_document(find_of("galerina_marginata"))
    assert with_opinion(never, opinion(taxon_id="galerina_marginata")).state == "refused"


@pytest.mark.parametrize("question", ["wormy", "soaked", "frozen", "rotten"])
def test_condition_refuses_and_unasked_condition_stays_open(question: str) -> None:
    sound = {"wormy": "no", "soaked": "no", "frozen": "no", "rotten": "no"}
    bad = document(HONEY, body(notes(HONEY), condition={**sound, question: "yes"}))
    assert vet_document(bad).state == "refused"
    unasked = document(HONEY, body(notes(HONEY), condition={**sound, question: "not_looked"}))
    assert vet_document(unasked).state == "open"


@pytest.mark.parametrize("question", ["treated", "roadside", "flooded_or_dumped"])
def test_bad_ground_refuses_and_unknown_ground_stays_open(question: str) -> None:
    clean = {"treated": "no", "roadside": "no", "flooded_or_dumped": "no"}
    bad = document(HONEY, body(notes(HONEY)), ground={**clean, question: "yes"})
    assert vet_document(bad).state == "refused"
    unknown = document(HONEY, body(notes(HONEY)), ground={**clean, question: "not_looked"})
    assert vet_document(unknown).state == "open"


def test_old_ones_are_left() -> None:
    assert vet_document(document(HONEY, body(notes(HONEY), age="old"))).state == "refused"


def test_the_command_prints_words_and_json(tmp_path: Path) -> None:
    file = tmp_path / "seen.json"
    file.write_text(find_of(HONEY, print_colour=None).model_dump_json(), "utf-8")
    plain = CliRunner().invoke(vet_command, ["--observations", str(file)])
    assert plain.exit_code == 0
    assert "What keeps it open" in plain.output
    assert "Nothing here says that it may be eaten" in plain.output
    told = CliRunner().invoke(vet_command, ["--observations", str(file), "--json"])
    answer = json.loads(told.output)
    assert answer["state"] == "open"
    assert answer["next_checks"]


def test_finds_are_listed_with_their_ids_and_how_they_stand(found: Home) -> None:
    words = ["--home", str(found.folder), "--today", str(DAY), "--list"]
    told = CliRunner().invoke(vet_command, words, catch_exceptions=False).output
    assert "not vetted  ringless honey mushroom, Old oak, 300 g  f1" in told
    vet_find(found, "f1", document(None, *two_bodies()), today=DAY)
    assert "consistent  ringless" in CliRunner().invoke(vet_command, words, catch_exceptions=False).output


def test_without_a_terminal_nothing_is_asked() -> None:
    result = CliRunner().invoke(vet_command, [])
    assert isinstance(result.exception, UserMistake)


def test_the_book_command_shows_doubles_side_by_side() -> None:
    told = CliRunner().invoke(book_command, [HONEY])
    assert "Double: Galerina marginata (deadly: amatoxins, the liver)" in told.output
    assert "decides" in told.output
    assert "not been reviewed" in told.output
    shown = entry(HONEY)
    assert any(d.decisive for b in shown.doubles for d in b.differences)
    assert json.loads(CliRunner().invoke(book_command, [HONEY, "--json"]).output)["doubles"]


def test_gaps_name_what_is_from_memory() -> None:
    found_gaps = gaps()
    assert any(g.what == "not reviewed by a mycologist" for g in found_gaps)
    assert any("from memory" in g.what for g in found_gaps)


def test_the_entry_as_a_page_to_print(tmp_path: Path) -> None:
    page = tmp_path / "honey.pdf"
    told = CliRunner().invoke(book_command, [HONEY, "--page", str(page), "--paper", "us-letter"])
    assert told.exit_code == 0
    assert page.read_bytes().startswith(b"%PDF")


def test_without_a_name_in_mind_a_dangerous_likeness_refuses() -> None:
    answer = vet_document(document(None, body(notes("amanita_muscaria"))))
    assert (answer.state, answer.target) == ("refused", None)
    assert answer.candidates[0].taxon_id == "amanita_muscaria"
    named = vet_document(document(None, body(notes(HONEY))))
    assert (named.state, named.target) == ("consistent", HONEY)


def test_the_worst_open_danger_is_told_first() -> None:
    answer = vet_document(find_of(HONEY, print_colour=None))
    dangers = [r.weight for r in answer.reasons if r.kind == "danger"]
    assert dangers == sorted(dangers, reverse=True)
    assert answer.reasons[0].taxon_id == "galerina_marginata"
    assert answer.reasons[0].words.startswith("Not ruled out: deadly galerina (Galerina marginata), deadly: ")
