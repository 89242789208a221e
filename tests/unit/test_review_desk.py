"""What the review takes from the ledger: notes of finds, weighed batches, promises, forecasts."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from click.testing import CliRunner

from underoak.book.methods import load_methods
from underoak.cli.visit import visit
from underoak.desk.record_visit import FindNote, VisitNote, record_visit
from underoak.desk.review_answers import spot_forecasts, walk_promises, week_promises, weighed_batches
from underoak.desk.review_finds import sides, unread_notes
from underoak.errors import BadData
from underoak.ledger.answers import GivenAnswer, given_answer, given_answers, store_answer
from underoak.ledger.database import open_ledger, writing
from underoak.ledger.places import store_places, store_spots
from underoak.ledger.shelf import BatchNet
from underoak.ledger.visits import visits
from underoak.model.ground import Permission, Place, Spot
from underoak.model.kitchen import Batch
from underoak.settings import Home

DAY = date(2026, 10, 3)


@pytest.fixture
def wood(home: Home) -> Home:
    ring = ((-74.5, 41.5), (-74.4, 41.5), (-74.4, 41.6), (-74.5, 41.5))
    connection = open_ledger(home.ledger)
    with writing(connection):
        store_places(connection, [Place("wood", "Invented Wood", ((ring,),), Permission("allowed"))])
        store_spots(connection, [Spot("oak", "wood", "old oak", -74.45, 41.52)])
    connection.close()
    return home


def test_the_command_takes_a_note_with_commas_and_the_review_reads_it(wood: Home) -> None:
    find = "old oak,Grifola frondosa,prime,900,side: NE; colour: grey, wet at the edge"
    answer = CliRunner().invoke(
        visit,
        ["--home", str(wood.folder), "--place", "Invented Wood", "--today", str(DAY), "--find", find],
        catch_exceptions=False,
    )
    assert answer.exit_code == 0, answer.output
    stored = visits(open_ledger(wood.ledger))
    assert stored[0].finds[0].note == "side: NE; colour: grey, wet at the edge"
    (row,) = sides(stored, 45.0)
    assert row.bearings_deg == (45.0,)
    assert unread_notes(stored) == []


def test_a_marked_fact_that_says_nothing_is_refused_and_nothing_is_stored(wood: Home) -> None:
    note = VisitNote(
        DAY, "Invented Wood", finds=[FindNote("old oak", "Grifola frondosa", "prime", 1.0, note="side: up")]
    )
    with pytest.raises(BadData) as caught:
        record_visit(wood, note, today=DAY)
    assert "side: up" in caught.value.problems[0].sentence()
    assert "compass point" in caught.value.problems[0].sentence()
    assert visits(open_ledger(wood.ledger)) == []


def test_answers_come_back_in_the_order_in_which_they_were_given(home: Home) -> None:
    connection = open_ledger(home.ledger)
    with writing(connection):
        for made, kg in ((date(2026, 10, 2), 2.0), (date(2026, 10, 1), 1.0), (DAY, 3.0)):
            store_answer(
                connection,
                "walk",
                made_on=made,
                for_day=DAY,
                book_version="b",
                inputs={},
                document={"kg": kg},
            )
    assert [a.document["kg"] for a in given_answers(connection, "walk", until=DAY)] == [1.0, 2.0, 3.0]
    assert given_answers(connection, "walk", until=date(2026, 10, 2)) == []
    assert given_answers(connection, "week", until=DAY) == []


def test_an_answer_comes_back_with_what_it_was_made_from(home: Home) -> None:
    connection = open_ledger(home.ledger)
    prizes = [{"edge": 3, "kg": 0.1 + 0.2, "chance": 1 / 3, "name": "old oak"}]
    with writing(connection):
        answer_id = store_answer(
            connection,
            "walk",
            made_on=DAY,
            for_day=DAY,
            book_version="b",
            inputs={"prizes": prizes},
            document={},
        )
    answer = given_answer(connection, answer_id)
    assert answer is not None
    assert (answer.id, answer.book_version, answer.inputs) == (answer_id, "b", {"prizes": prizes})
    assert given_answers(connection, "walk", until=DAY, since=DAY) == [answer]
    assert given_answers(connection, "walk", until=date.max, since=date(2026, 10, 4)) == []
    assert given_answer(connection, "none") is None


def given(document: Any) -> list[GivenAnswer]:
    return [GivenAnswer(DAY, DAY, document)]


def test_walks_to_look_promise_nothing_and_outlooks_sum_over_kinds() -> None:
    walk = {"place": "Invented Wood", "kg": 2.0, "gathering": True}
    assert [p.place_id for p in walk_promises(given(walk), {"Invented Wood": "wood"})] == ["wood"]
    assert walk_promises(given({**walk, "gathering": False}), {}) == []
    row = {"place_id": "wood", "expected_kg": [1.0, 2.0]}
    week = {"days": ["2026-10-03", "2026-10-04"], "woods": [row, row]}
    assert [(p.day.day, p.kg) for p in week_promises(given(week))] == [(3, 2.0), (4, 4.0)]
    chance = {"day": "2026-10-04", "spot_id": "oak", "taxon_id": "hen", "prime": 0.5, "found": 0.4}
    (forecast,) = spot_forecasts(given({"spots": [{"chance": chance}]}))
    assert (forecast.day, forecast.prime, forecast.made_on) == (date(2026, 10, 4), 0.5, DAY)


@pytest.mark.parametrize("weighed", [False, True])
def test_a_batch_booked_as_planned_is_no_measurement(weighed: bool) -> None:
    batch = Batch("1", "dry", DAY, "b", (("lot", 1000.0),), weighed=weighed)
    net = {"1": BatchNet(filled_g=60.0, kept_g=0.0)}
    found, booked = weighed_batches([batch], net, taxa={"lot": "hen"}, methods=load_methods())
    assert (len(found), booked) == (int(weighed), int(not weighed))
