"""The server answers only this computer, strictly, and does nothing twice."""

from __future__ import annotations

import sqlite3
import threading
from datetime import date

import pytest
from flask import Flask

from tests.unit.web_client import HOST, PORT, Browser
from underoak.settings import Home
from underoak.web.app import create_app

TODAY = date(2026, 10, 3)
WOOD = {
    "name": "Invented Wood",
    "latitude": "41.5",
    "longitude": "-74.5",
    "reach": "400",
    "status": "unknown",
}


@pytest.fixture
def app(home: Home) -> Flask:
    return create_app(home, today=lambda: TODAY, port=PORT)


@pytest.fixture
def browser(app: Flask) -> Browser:
    return Browser(app)


def rows(home: Home, table: str) -> int:
    connection = sqlite3.connect(home.ledger_path)
    try:
        return int(connection.execute(f"SELECT count(*) FROM {table}").fetchone()[0])  # noqa: S608
    finally:
        connection.close()


@pytest.mark.parametrize(
    ("host", "expected"),
    [
        ("evil.example:8137", 403),
        ("127.0.0.1:8137", 200),
        ("localhost:8137", 200),
        ("localhost:9000", 403),
        ("localhost", 403),
        ("127.0.0.1.evil.example:8137", 403),
    ],
)
def test_only_this_computer_s_names_are_answered(app: Flask, host: str, expected: int) -> None:
    assert app.test_client().get("/", headers={"Host": host}).status_code == expected


def test_another_address_is_refused_even_with_the_right_name(app: Flask) -> None:
    assert Browser(app, address="192.168.1.50").get("/").status_code == 403


def test_an_empty_home_says_where_to_begin(browser: Browser) -> None:
    page = browser.text("/")
    assert "Where to begin" in page
    assert "/ground" in page
    assert "No jar yet" in browser.text("/pantry")


@pytest.mark.parametrize("path", ["/", "/map.svg", "/static/style.css", "/nothing", "/pair"])
def test_every_answer_carries_the_strict_headers(app: Flask, path: str) -> None:
    with app.test_client().get(path, headers=HOST) as answer:
        policy = answer.headers["Content-Security-Policy"]
        assert "default-src 'none'" in policy
        assert "unsafe" not in policy
        assert answer.headers["X-Content-Type-Options"] == "nosniff"


def test_looking_stores_nothing(home: Home, browser: Browser) -> None:
    before = home.ledger_path.read_bytes()
    for path in ("/", "/map", "/walk", "/finds", "/vetting", "/kitchen", "/pantry", "/season", "/book"):
        browser.text(path)
    assert home.ledger_path.read_bytes() == before


def test_every_form_without_its_token_is_refused(app: Flask, browser: Browser) -> None:
    posts = [rule for rule in app.url_map.iter_rules() if "POST" in (rule.methods or ())]
    assert len(posts) > 15
    for rule in posts:
        path = rule.rule
        for name in rule.arguments:
            path = path.replace(f"<{name}>", "x")
        assert browser.post(path, {}).status_code == 403, path
        assert browser.post(path, {"form_token": "made.up.token"}).status_code == 403, path


def test_a_token_of_another_session_is_refused(app: Flask, browser: Browser) -> None:
    stolen = Browser(app).token("/ground/wood")
    assert browser.post("/ground/wood", {"form_token": stolen, **WOOD}).status_code == 403


@pytest.mark.parametrize(
    "headers",
    [{"Origin": "http://evil.example"}, {"Origin": "null"}, {"Sec-Fetch-Site": "cross-site"}],
)
def test_a_form_from_another_page_is_refused(browser: Browser, headers: dict[str, str]) -> None:
    token = browser.token("/ground/wood")
    browser.headers |= headers
    assert browser.post("/ground/wood", {"form_token": token, **WOOD}).status_code == 403


def test_a_form_sent_twice_is_stored_once(home: Home, browser: Browser) -> None:
    form = {"form_token": browser.token("/ground/wood"), **WOOD}
    first, second = browser.post("/ground/wood", form), browser.post("/ground/wood", form)
    assert (first.status_code, second.status_code) == (303, 303)
    assert first.location == second.location
    assert rows(home, "place") == 1


def test_a_form_sent_twice_at_the_same_moment_is_stored_once(home: Home, app: Flask) -> None:
    browser = Browser(app)
    browser.text("/ground/wood")
    browser.text("/ground/spot")
    browser.send("/ground/wood", WOOD, seen_on="/ground/wood")
    place = sqlite3.connect(home.ledger_path).execute("SELECT id FROM place").fetchone()[0]
    form = {"form_token": browser.token("/finds/new"), "place": place, "note": "twice"}
    answers: list[int] = []
    threads = [
        threading.Thread(target=lambda: answers.append(browser.post("/finds/new", form).status_code))
        for _ in range(4)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert answers == [303] * 4
    assert rows(home, "visit") == 1


def test_two_writers_at_once_lose_nothing(home: Home, app: Flask) -> None:
    def write(number: int) -> None:
        browser = Browser(app)
        for turn in range(4):
            wood = {**WOOD, "name": f"Wood {number}-{turn}"}
            assert browser.send("/ground/wood", wood, seen_on="/ground/wood").status_code == 303

    threads = [threading.Thread(target=write, args=(number,)) for number in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert rows(home, "place") == 16


def test_a_form_with_faults_tells_all_of_them_and_keeps_what_was_typed(home: Home, browser: Browser) -> None:
    wrong = {**WOOD, "name": "Kept Name", "latitude": "north", "reach": "1"}
    answer = browser.send("/ground/wood", wrong, seen_on="/ground/wood")
    page = answer.get_data(as_text=True)
    assert answer.status_code == 422
    assert "latitude" in page
    assert "reach" in page
    assert 'value="Kept Name"' in page
    assert rows(home, "place") == 0


def test_a_corrected_form_goes_through(home: Home, browser: Browser) -> None:
    answer = browser.send("/ground/wood", {**WOOD, "reach": "x"}, seen_on="/ground/wood")
    assert answer.status_code == 422
    assert browser.send("/ground/wood", WOOD, seen_on="/ground/wood").status_code == 303
    assert rows(home, "place") == 1


@pytest.mark.parametrize(
    "path",
    [
        "/photos/..%2f..%2funderoak.toml",
        "/photos/underoak.toml",
        "/photos/small/../../serve.key",
        "/kitchen/..%2f..%2fledger.sqlite3",
        "/kitchen/run-sheet.pdf",
        "/static/../../app.py",
        "/walk/plan/../../../../serve.key/x.pdf",
    ],
)
def test_no_path_leads_out_of_the_home(browser: Browser, path: str) -> None:
    answer = browser.get(path)
    assert answer.status_code in (400, 403, 404)
    assert b"latitude_deg" not in answer.data


def test_someone_feels_ill_works_with_a_broken_ledger(home: Home) -> None:
    home.ledger_path.write_bytes(b"this is no ledger at all")
    browser = Browser(create_app(home, today=lambda: TODAY, port=PORT))
    page = browser.text("/ill")
    assert "1-800-222-1222" in page
    told = browser.text("/ill?who=Ada&since=2026-10-03T10:00&symptoms=sick")
    assert "cannot be read" in told
    assert "Call 1-800-222-1222 now" in told


def test_pages_hold_no_inline_script_or_style(app: Flask, browser: Browser) -> None:
    for rule in app.url_map.iter_rules():
        if "GET" in (rule.methods or ()) and not rule.arguments and rule.endpoint != "static":
            with browser.get(rule.rule) as answer:
                if answer.mimetype != "text/html":
                    continue
                page = answer.get_data(as_text=True)
            assert "<style" not in page, rule.rule
            assert " style=" not in page, rule.rule
            assert " onclick=" not in page, rule.rule
            assert page.count("<script") == page.count("<script src="), rule.rule
