"""Learning and judging in the browser: watched, given up, kept and shown with their scores."""

from __future__ import annotations

import io
import json
import time
from typing import Any

import pytest

from tests.unit.web_client import PORT, TODAY, Browser
from underoak.desk.learn_seasons import learn_seasons
from underoak.desk.note_ground import PlaceNote, SpotNote, note_place, note_spot
from underoak.desk.outlook_record import outlook_record
from underoak.settings import Home
from underoak.web.app import create_app
from underoak.web.jobs import GivenUp, Job

HEAD = "date,place,spot,taxon,stage,fresh_g\n"
FOUND = "{}-09-20,Invented Wood,old oak,Grifola frondosa,prime,900\n"
NOTHING = "{}-09-0{},Invented Wood,old oak,,,\n"


@pytest.fixture
def browser(home: Home) -> Browser:
    """A home with two seasons behind it: two visits for nothing and a find in each."""
    place = note_place(
        home, PlaceNote("Invented Wood", -74.5, 41.5, 400.0, "allowed", "the owner"), today=TODAY
    )
    note_spot(home, SpotNote(place.id, "old oak", -74.5001, 41.5002, "white_oak", 90.0))
    browser = Browser(create_app(home, today=lambda: TODAY, port=PORT))
    rows = (NOTHING.format(y, 1) + NOTHING.format(y, 8) + FOUND.format(y) for y in (2024, 2025))
    sent = {"kind": "visits", "file": (io.BytesIO((HEAD + "".join(rows)).encode()), "visits.csv")}
    answer = browser.send("/ground/load", sent, seen_on="/ground", content_type="multipart/form-data")
    assert answer.status_code == 303, answer.text
    return browser


def news(browser: Browser, address: str) -> dict[str, Any]:
    text = browser.text(f"{address}/events")
    found: dict[str, Any] = json.loads(text.split("data: ")[1])
    return found


def wait(browser: Browser, address: str) -> dict[str, Any]:
    ends = time.monotonic() + 120.0
    while (told := news(browser, address))["state"] == "running":
        assert time.monotonic() < ends, told
    return told


def test_what_was_learned_and_judged_is_kept_and_shown(home: Home, browser: Browser) -> None:
    assert "Nothing was learned yet" in browser.text("/outlook")
    form = {"form_token": browser.token("/outlook")}
    first, second = browser.post("/outlook/learn", form), browser.post("/outlook/learn", form)
    assert first.location == second.location
    told = wait(browser, str(first.location))
    assert (told["state"], told["leads_to"]) == ("done", "/outlook"), told
    assert "steps" in told["steps"]
    page = browser.text("/outlook")
    assert "<i>Grifola frondosa</i>" in page
    assert "2 seasons (2024, 2025)" in page
    assert browser.get(str(first.location)).location == "/outlook"
    judged = browser.send("/outlook/judge", {}, seen_on="/outlook")
    assert wait(browser, str(judged.location))["state"] == "done"
    record = outlook_record(home, today=TODAY)
    assert record.judgement is not None
    page = browser.text("/outlook")
    model = record.judgement["scores"][0]
    assert f"{model['log_score']:+.3f}" in page
    assert "Same spot, same date last year" in page


def test_learning_that_is_given_up_keeps_nothing(home: Home, browser: Browser) -> None:
    assert browser.get("/outlook").status_code == 200
    job = Job("x", "x", None)

    def tell(what: str, done: int, steps: int) -> None:
        job.unwanted = done == steps - 1
        job.tell(words=what)

    with pytest.raises(GivenUp):
        learn_seasons(home, today=TODAY, progress=tell)
    record = outlook_record(home, today=TODAY)
    assert (record.learning, record.learned_on, record.judgement) == (None, None, None)


def test_without_a_season_behind_it_the_page_says_why(home: Home) -> None:
    browser = Browser(create_app(home, today=lambda: TODAY, port=PORT))
    at = str(browser.send("/outlook/learn", {}, seen_on="/outlook").location)
    told = wait(browser, at)
    assert told["state"] == "failed"
    assert told["problem"] in browser.text(at).replace("&#39;", "'")
    assert 'href="/outlook"' in browser.text(at)
