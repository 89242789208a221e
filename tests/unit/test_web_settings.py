"""A home is made and changed in the browser, once, and nothing that stood in its settings is lost."""

from __future__ import annotations

import re
import threading
from pathlib import Path
from typing import TYPE_CHECKING, cast

import pytest

from tests.unit.tile_files import picture, write_tiles
from tests.unit.web_client import NOON, PORT, TODAY, Browser, Outside
from underoak.desk.change_settings import BEFORE_NAME
from underoak.errors import BadData
from underoak.settings import SETTINGS_NAME, Home, load_home
from underoak.web.app import create_app
from underoak.web.pairing import Pairing

if TYPE_CHECKING:
    from flask import Flask

HOUSEHOLD = {
    "name": "The Invented Family",
    "latitude_deg": "41,62",
    "longitude_deg": "-74.58",
    "elevation_m": "210",
    "timezone": "America/New_York",
    "units": "us",
    "name-0": "Mara",
    "carries_kg-0": "8",
    "cooks-0": "1",
    "name-1": "Tom",
    "carries_kg-1": "2,5",
    "child-1": "1",
    "burners": "2",
    "dryer_trays": "0",
    "bedtime": "21:15",
    "poison_help": "999 111",
}


def doorway(folder: Path) -> Browser:
    return Browser(cast("Flask", Outside(folder)))


def test_a_folder_without_a_home_is_offered_one(tmp_path: Path) -> None:
    browser = doorway(tmp_path / "new" / "home")
    assert "Make your home" in browser.text("/")
    assert str(tmp_path / "new" / "home") in browser.text("/")
    assert browser.get("/ground").location == "/"
    assert not (tmp_path / "new").exists()
    answer = browser.send("/", HOUSEHOLD, seen_on="/")
    assert (answer.status_code, answer.location) == (303, "/")
    assert "Where to begin" in browser.text("/")
    made = load_home(tmp_path / "new" / "home").settings
    assert (made.name, made.units, made.poison_help) == ("The Invented Family", "us", "999 111")
    assert (made.where.latitude_deg, made.where.elevation_m) == (41.62, 210.0)
    assert [(p.name, p.carries_kg, p.child, p.cooks) for p in made.people] == [
        ("Mara", 8.0, False, True),
        ("Tom", 2.5, True, False),
    ]
    assert (made.kitchen.burners, made.kitchen.dryer_trays, made.kitchen.bedtime) == (2, 0, "21:15")
    assert made.kitchen.pots == 3  # as the record has it where nothing is said


def test_someone_who_feels_ill_is_answered_before_there_is_a_home(tmp_path: Path) -> None:
    browser = doorway(tmp_path / "home")
    assert "1-800-222-1222" in browser.text("/ill")
    told = browser.text("/ill?who=Ada&since=2026-10-03T10:00&ate_0=honeys&ate_at_0=2026-10-03T04:00")
    assert "Call 1-800-222-1222 now" in told
    assert not (tmp_path / "home").exists()


def test_the_form_for_a_home_sent_twice_makes_one(tmp_path: Path) -> None:
    browser = doorway(tmp_path / "home")
    form = {"form_token": browser.token("/"), **HOUSEHOLD}
    answers: list[tuple[int, str | None]] = []

    def send() -> None:
        answer = browser.post("/", form)
        answers.append((answer.status_code, answer.location))

    threads = [threading.Thread(target=send) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert answers == [(303, "/")] * 4
    assert load_home(tmp_path / "home").settings.name == "The Invented Family"


@pytest.mark.parametrize("headers", [{"Origin": "http://evil.example"}, {"Sec-Fetch-Site": "cross-site"}])
def test_nobody_else_makes_a_home(tmp_path: Path, headers: dict[str, str]) -> None:
    browser = doorway(tmp_path / "home")
    token = browser.token("/")
    assert browser.post("/", HOUSEHOLD).status_code == 403
    browser.headers |= headers
    assert browser.post("/", {"form_token": token, **HOUSEHOLD}).status_code == 403
    stranger = doorway(tmp_path / "home")
    stranger.address = {"REMOTE_ADDR": "192.168.1.50"}
    assert stranger.get("/").status_code == 403
    assert not (tmp_path / "home").exists()


def test_all_faults_of_a_new_home_are_told_at_once_and_nothing_is_made(tmp_path: Path) -> None:
    browser = doorway(tmp_path / "home")
    wrong = {"latitude_deg": "99", "longitude_deg": "", "name-0": "", "carries_kg-1": "3", "pots": "two"}
    wrong |= {"bedtime": "25:99", "timezone": "Nowhere/Town", "name": "Kept Name"}
    answer = browser.send("/", wrong, seen_on="/")
    assert answer.status_code == 422
    for told in (
        "latitude",
        "longitude",
        "person 2",
        "nobody is named",
        "large pots",
        "bedtime",
        "Nowhere/Town",
    ):
        assert told in answer.text, told
    assert 'value="Kept Name"' in answer.text
    assert not (tmp_path / "home").exists()


def test_a_home_whose_settings_are_broken_is_not_made_anew(home: Home) -> None:
    (home.folder / SETTINGS_NAME).write_text("units = 'furlongs'\n", "utf-8")
    with pytest.raises(BadData, match="units"):
        doorway(home.folder)


@pytest.fixture
def browser(home: Home) -> Browser:
    return Browser(create_app(home, today=lambda: TODAY, port=PORT))


def settings_form(browser: Browser) -> dict[str, str]:
    """The form of the settings as the page shows it, fields and marks."""
    page = browser.text("/settings")
    fields = dict(re.findall(r'<input[^>]* name="([^"]+)"[^>]* value="([^"]*)"', page))
    marks = re.findall(r'<input type="(?:checkbox|radio)"[^>]* name="([^"]+)" value="([^"]*)" checked', page)
    unmarked = set(re.findall(r'<input type="(?:checkbox|radio)"[^>]* name="([^"]+)"', page))
    return {name: value for name, value in fields.items() if name not in unmarked} | dict(marks)


def test_the_form_as_shown_changes_nothing(home: Home, browser: Browser) -> None:
    before = (home.folder / SETTINGS_NAME).read_bytes()
    assert browser.post("/settings", settings_form(browser)).status_code == 303
    assert (home.folder / SETTINGS_NAME).read_bytes() == before
    assert not (home.folder / BEFORE_NAME).exists()


def test_changed_settings_count_at_once_and_the_old_ones_are_kept(home: Home, browser: Browser) -> None:
    path = home.folder / SETTINGS_NAME
    path.write_text("# remembered by hand\n" + path.read_text("utf-8"), "utf-8")
    form = settings_form(browser) | {"name": "Renamed", "units": "us", "name-3": "Dora", "carries_kg-3": "5"}
    answer = browser.post("/settings", form)
    assert (answer.status_code, answer.location) == (303, "/settings")
    changed = load_home(home.folder).settings
    assert (changed.name, changed.units, changed.people[-1].name) == ("Renamed", "us", "Dora")
    assert changed.people[:3] == home.settings.people
    assert (home.folder / BEFORE_NAME).read_text("utf-8").startswith("# remembered by hand")
    page = browser.text("/walk")
    assert "Renamed" in page
    assert "Dora, carries 11.0 lb" in page  # 5 kg / 0.45359237 kg a pound (international pound)


def test_a_change_made_elsewhere_is_not_overwritten(home: Home, browser: Browser) -> None:
    form = settings_form(browser) | {"name": "Too Late"}
    path = home.folder / SETTINGS_NAME
    path.write_text(path.read_text("utf-8").replace("The Invented Family", "Changed By Hand"), "utf-8")
    answer = browser.post("/settings", form)
    assert answer.status_code == 422
    assert "changed elsewhere" in answer.text
    assert load_home(home.folder).settings.name == "Changed By Hand"


def test_a_tile_file_that_is_none_cannot_be_chosen(home: Home, browser: Browser) -> None:
    home.maps.mkdir()
    (home.maps / "bad.mbtiles").write_bytes(b"no database")
    write_tiles(home.maps / "good.mbtiles", {(0, 0, 0): picture()})
    bad = browser.post("/settings", settings_form(browser) | {"tile_file": "bad.mbtiles"})
    assert bad.status_code == 422
    assert "bad.mbtiles" in bad.text
    assert (
        browser.post("/settings", settings_form(browser) | {"tile_file": "good.mbtiles"}).status_code == 303
    )
    assert load_home(home.folder).settings.backdrop.tile_file == "good.mbtiles"


def test_a_telephone_looks_and_changes_nothing(home: Home) -> None:
    lan = Pairing(lambda: NOON, ("192.168.1.20",))
    app = create_app(home, today=lambda: TODAY, port=PORT, lan=lan)
    phone = Browser(app, host=f"192.168.1.20:{PORT}", address="192.168.1.50")
    phone.send("/pair", {"code": lan.new_code()}, seen_on="/pair")
    assert "changed at the computer" in phone.text("/settings")
    assert phone.post("/settings", settings_form(phone) | {"poison_help": "666 666"}).status_code == 403
    assert load_home(home.folder).settings == home.settings
