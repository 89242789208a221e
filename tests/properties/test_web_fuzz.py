"""Whatever is asked of the server, it answers in words and stays whole."""

from __future__ import annotations

import io
import sqlite3
from datetime import date
from pathlib import Path
from typing import Any, cast

import pytest
from flask import Flask
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.unit.web_client import PORT, Browser, Outside
from underoak.desk.make_home import make_home
from underoak.desk.note_ground import PlaceNote, SpotNote, note_place, note_spot
from underoak.model.household import Person, Settings, Whereabouts
from underoak.settings import Home
from underoak.web.app import create_app

TODAY = date(2026, 10, 3)
#: What people and programs really send, beside anything at all.
SPITEFUL = ["", "..", "../../serve.key", "%00", "-1", "1e999", "nan", "2026-02-30", "9" * 400, "form", "1"]
SPITEFUL += ["'; DROP TABLE find;--", "<script>alert(1)</script>", "{{7*7}}", "2026-10-03T25:61", "0.6"]
SPITEFUL += ["\u017f", "\u202e", "\u00b2"]
anything = st.one_of(st.sampled_from(SPITEFUL), st.text(max_size=60))
FIELDS = [
    "name",
    "latitude",
    "longitude",
    "reach",
    "status",
    "place",
    "day",
    "minutes",
    "photos",
    "kind",
    "file",
]
FIELDS += [
    "taxon-0",
    "spot-0",
    "grams-0",
    "bodies-0",
    "ask",
    "body",
    "look",
    "state",
    "value",
    "stems",
    "new",
]
FIELDS += [
    "stems_seen",
    "age",
    "wormy",
    "bodies_in_lot",
    "treated",
    "person",
    "agrees",
    "saw",
    "taxon",
    "code",
]
FIELDS += [
    "step",
    "task",
    "units",
    "grams",
    "begins",
    "kept_hours",
    "kept_c",
    "effort",
    "hours",
    "leaves",
    "jar",
]
FIELDS += [
    "seconds",
    "seed",
    "at",
    "why",
    "page",
    "find",
    "year",
    "who",
    "since",
    "symptoms",
    "ate_0",
    "walk",
]
FIELDS += ["ate_at_0", "alcohol", "paper", "skip", "batch", "columns", "station"]
FIELDS += ["latitude_deg", "name-0", "carries_kg-0", "tile_address", "epsg", "scale", "date_order", "seen"]
forms = st.dictionaries(st.sampled_from(FIELDS), anything, max_size=12)


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Home:
    where = Whereabouts(latitude_deg=41.5, longitude_deg=-74.5)
    folder: Path = tmp_path_factory.mktemp("fuzz") / "home"
    made = make_home(folder, Settings(where=where, people=(Person(name="Ada"),)))
    place = note_place(made, PlaceNote("Invented Wood", -74.5, 41.5, 400.0), today=TODAY)
    note_spot(made, SpotNote(place.id, "old oak", -74.5001, 41.5002))
    return made


@pytest.fixture(scope="module")
def app(home: Home) -> Flask:
    return create_app(home, today=lambda: TODAY, port=PORT)


def routes(app: Flask, method: str) -> list[str]:
    return sorted(rule.rule for rule in app.url_map.iter_rules() if method in (rule.methods or ()))


def filled(rule: str, parts: list[str]) -> str:
    """The rule with its places filled; slashes are sent as they come."""
    path, at = "", 0
    for piece in rule.replace("<path:", "<").replace("<int:", "<").split("<"):
        name, closed, rest = piece.partition(">")
        path += f"{parts[at % len(parts)] or 'x'}{rest}" if closed else name
        at += bool(closed)
    return path.replace("\\", "/").replace("?", "%3F").replace("#", "%23") or "/"


@settings(max_examples=60, deadline=None)
@given(data=st.data())
def test_no_page_breaks(app: Flask, data: st.DataObject) -> None:
    rule = data.draw(st.sampled_from(routes(app, "GET")))
    path = filled(rule, data.draw(st.lists(anything, min_size=1, max_size=3)))
    query: Any = data.draw(forms)
    with Browser(app).get("/" + path.lstrip("/"), query_string=query) as answer:
        assert answer.status_code < 500, (path, query)
        assert b"<script>alert" not in answer.data


@settings(max_examples=60, deadline=None)
@given(data=st.data())
def test_no_form_breaks(app: Flask, data: st.DataObject) -> None:
    browser = Browser(app)
    rule = data.draw(st.sampled_from(routes(app, "POST")))
    path = filled(rule, data.draw(st.lists(anything, min_size=1, max_size=3)))
    form: dict[str, Any] = {"form_token": browser.token("/ground/wood"), **data.draw(forms)}
    if data.draw(st.booleans()):
        name = data.draw(st.sampled_from(("photo", "file")))
        form[name] = (io.BytesIO(data.draw(st.binary(max_size=200))), data.draw(anything) or "x")
    answer = browser.post("/" + path.lstrip("/"), form, content_type="multipart/form-data")
    assert answer.status_code < 500, (path, form)
    assert b"<script>alert" not in answer.data


@settings(max_examples=12, deadline=None)
@given(form=forms, path=anything)
def test_the_first_page_of_all_does_not_break(
    tmp_path_factory: pytest.TempPathFactory, form: dict[str, Any], path: str
) -> None:
    folder = tmp_path_factory.mktemp("nobody") / "home"
    browser = Browser(cast("Flask", Outside(folder)))
    assert browser.get("/" + filled(path, ["x"]).lstrip("/")).status_code < 500, path
    assert browser.post("/", {"form_token": browser.token("/"), **form}).status_code == 422, form
    assert not folder.exists()


def test_the_ledger_is_whole_afterwards(home: Home) -> None:
    connection = sqlite3.connect(home.ledger_path)
    try:
        assert connection.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
        assert connection.execute("PRAGMA foreign_key_check").fetchall() == []
    finally:
        connection.close()
