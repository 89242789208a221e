"""What is noted on the page survives closing it, a dead battery and a full disk, and reaches the ledger."""

from __future__ import annotations

import json
import os
import signal
import time
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.browser.pack_file import DAY, TELEPHONE, note_find, open_pack
from tests.pack_logs import load
from underoak.desk.pack_page import WrittenPack
from underoak.ledger.database import open_ledger
from underoak.ledger.verdicts import verdicts_of
from underoak.ledger.visits import visits

if TYPE_CHECKING:
    from playwright.sync_api import Browser, BrowserContext, Page

    from underoak.settings import Home

pytestmark = pytest.mark.browser


@pytest.fixture
def telephone(browser: Browser) -> Iterator[BrowserContext]:
    """A telephone without network."""
    context = browser.new_context(viewport=TELEPHONE, timezone_id="America/New_York", accept_downloads=True)
    context.set_offline(True)
    yield context
    context.close()


def _entries(page: Page) -> list[dict[str, object]]:
    found: list[dict[str, object]] = page.evaluate("underoakPack.keeper.entries")
    return found


def test_entries_are_there_again_after_closing_the_page(pack: WrittenPack, telephone: BrowserContext) -> None:
    page = open_pack(telephone, pack.path)
    bag = note_find(page)
    before = _entries(page)
    page.close()
    page = open_pack(telephone, pack.path, "note")
    assert _entries(page) == before
    assert f"Bag {bag}" in page.inner_text("#log")


@pytest.mark.parametrize("lost", ["first store", "second store"])
def test_either_store_alone_is_enough(pack: WrittenPack, telephone: BrowserContext, lost: str) -> None:
    page = open_pack(telephone, pack.path)
    note_find(page)
    before = _entries(page)
    if lost == "first store":
        page.evaluate("localStorage.clear()")
    else:
        page.evaluate(
            """() => new Promise(done => { underoakPack.keeper.database.close();
                 indexedDB.deleteDatabase('underoak pack').onsuccess = done; })"""
        )
    page.close()
    assert _entries(open_pack(telephone, pack.path)) == before


def test_a_dead_battery_loses_nothing_that_was_shown_as_kept(
    pack: WrittenPack, browser: Browser, tmp_path: Path
) -> None:
    """The browser is killed the moment the page says kept, as a battery that dies would."""
    profile = tmp_path / "profile"
    kind, path = browser.browser_type, pack.path
    options = {
        "executable_path": _chromium(),
        "args": ["--no-sandbox", "--disable-gpu"],
        "viewport": TELEPHONE,
    }
    context = kind.launch_persistent_context(str(profile), **options)  # type: ignore[arg-type]
    page = open_pack(context, path)
    note_find(page)
    before = _entries(page)
    _kill_processes_of(profile)
    for leftover in profile.glob("Singleton*"):
        leftover.unlink()
    again = kind.launch_persistent_context(str(profile), **options)  # type: ignore[arg-type]
    try:
        assert _entries(open_pack(again, path)) == before
    finally:
        again.close()


def _chromium() -> str | None:
    import shutil

    return shutil.which("chromium") or shutil.which("chromium-browser")


def _kill_processes_of(profile: Path) -> None:
    """Kill the browser that this test started on its own profile folder, by process id."""
    mine = []
    for process in Path("/proc").iterdir():
        if process.name.isdigit():
            try:
                words = (process / "cmdline").read_bytes()
            except OSError:
                continue
            if f"--user-data-dir={profile}".encode() in words:
                mine.append(int(process.name))
    assert mine, "no process of this browser was found"
    for number in mine:
        try:
            os.kill(number, signal.SIGKILL)
        except ProcessLookupError:
            continue
    time.sleep(1.0)


def test_a_full_first_store_leaves_the_second(pack: WrittenPack, telephone: BrowserContext) -> None:
    page = open_pack(telephone, pack.path)
    full = page.evaluate(
        """() => { let size = 1 << 20, n = 0;
             while (size >= 1) { try { localStorage.setItem('fill' + n, 'x'.repeat(size)); n += 1; }
                                 catch (fault) { size = Math.floor(size / 2); } }
             try { localStorage.setItem('more', 'xxxxxxxxxxxxxxxx'); return false; }
             catch (fault) { return true; } }"""
    )
    assert full, "the browser's own limit was reached"
    note_find(page)
    before = _entries(page)
    assert page.locator("#trouble").is_hidden()
    page.close()
    assert _entries(open_pack(telephone, pack.path)) == before


def test_when_nothing_can_be_kept_it_is_said_and_can_be_tried_again(
    pack: WrittenPack, telephone: BrowserContext
) -> None:
    page = open_pack(telephone, pack.path)
    page.evaluate(
        """() => { const keeper = underoakPack.keeper;
             window.database = keeper.database; keeper.database = null;
             window.put = Storage.prototype.setItem;
             Storage.prototype.setItem = () => { throw new DOMException('full', 'QuotaExceededError'); }; }"""
    )
    note_find(page)
    assert "NOT KEPT. The telephone's storage is full" in page.inner_text("#trouble")
    page.locator("#log summary").click()
    assert "NOT KEPT" in page.inner_text("#log")
    page.get_by_role("link", name="Hand over").click()
    assert "are NOT KEPT" in page.inner_text("#save")
    page.evaluate(
        "() => { underoakPack.keeper.database = window.database; Storage.prototype.setItem = window.put; }"
    )
    page.get_by_role("button", name="Try again").click()
    page.get_by_text("is kept on this telephone").wait_for()
    before = _entries(page)
    page.close()
    assert _entries(open_pack(telephone, pack.path)) == before


def _saved(page: Page, folder: Path) -> Path:
    page.get_by_role("link", name="Hand over").click()
    with page.expect_download() as download:
        page.get_by_role("button", name="Save the log as a file").click()
    path = folder / download.value.suggested_filename
    download.value.save_as(path)
    return path


def test_a_day_in_the_woods_ends_in_the_ledger(
    pack: WrittenPack, browser: Browser, valley_home: Home, tmp_path: Path
) -> None:
    """Two telephones, one bag each, one spot searched by both differently, one new spot."""
    files = []
    for person, spot in (("Mara", 0), ("Jonas", 1)):
        context = browser.new_context(viewport=TELEPHONE, timezone_id="America/New_York")
        page = open_pack(context, pack.path, "note")
        page.get_by_label("Who holds this telephone?").first.select_option(person)
        page.get_by_role("heading", name="Where are you?").wait_for()
        bag = note_find(page, spot=spot)
        assert bag == f"{person[0]}1"
        nothing = page.locator("#spots li").nth(4)
        nothing.locator("summary").click()
        nothing.get_by_role("button", name="a glance" if person == "Mara" else "on hands and knees").click()
        page.get_by_text("Nothing there, after").first.wait_for()
        files.append(_saved(page, tmp_path))
        context.close()
    told = load(valley_home, *files, *files)
    assert [loaded.stored for loaded in told[2:]] == [0, 0]
    assert any("CONFLICT" in line and "search" in line for line in told[1].understood)
    connection = open_ledger(valley_home.ledger)
    visit = next(v for v in visits(connection, DAY, DAY) if v.id == f"pack-{pack.pack_id}")
    connection.close()
    assert sorted(find.id for find in visit.finds) == [f"pack-{pack.pack_id}-j1", f"pack-{pack.pack_id}-m1"]
    assert visit.people[0] == "Mara"


def test_answers_are_vetted_again_at_home(
    pack: WrittenPack, telephone: BrowserContext, valley_home: Home, tmp_path: Path
) -> None:
    page = open_pack(telephone, pack.path)
    bag = note_find(page, taxon="armillaria_mellea_group", spot=2)
    page.get_by_role("button", name=f"Look closer at bag {bag}").click()
    for words in (
        "no",
        "no",
        "no",
        "one body",
        "fully open and firm",
        "no",
        "no",
        "no",
        "no",
        "a ball, pear or egg without cap",
    ):
        heading = page.inner_text("#question h3")
        page.locator("#question").get_by_role("button", name=words, exact=words == "no").click()
        page.wait_for_function(
            "before => document.querySelector('#question h3').textContent !== before", arg=heading
        )
    shown = page.inner_text(".state")
    load(valley_home, _saved(page, tmp_path))
    connection = open_ledger(valley_home.ledger)
    given = verdicts_of(connection, f"pack-{pack.pack_id}-{bag.lower()}")
    connection.close()
    assert [v.state for v in given] == ["refused"]
    assert "Refused" in shown


def test_the_text_field_holds_the_same_log(
    pack: WrittenPack, telephone: BrowserContext, tmp_path: Path
) -> None:
    page = open_pack(telephone, pack.path)
    note_find(page)
    path = _saved(page, tmp_path)
    page.get_by_text("Or copy it as text").click()
    text = page.get_by_label("The whole log").input_value()
    assert json.loads(text) == json.loads(path.read_text("utf-8"))
