"""The page for the pack on a telephone without any network: walk, position, alarm, ways back, barriers."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.browser.barriers import RULES, barriers
from tests.browser.pack_file import (
    DAY,
    NOON,
    TELEPHONE,
    note_find,
    open_pack,
)
from tests.outside_data import outside
from underoak.desk.pack_page import WrittenPack, write_pack
from underoak.sheets import wording

if TYPE_CHECKING:
    from playwright.sync_api import Browser, BrowserContext

    from underoak.desk.walk_plan import PlannedWalk
    from underoak.settings import Home

pytestmark = pytest.mark.browser
PARTS = ("walk", "note", "vet", "cards", "hand-over")


@pytest.fixture(scope="module")
def walk(walked: tuple[Home, PlannedWalk, WrittenPack]) -> PlannedWalk:
    """A walk of the invented valley."""
    return walked[1]


@pytest.fixture
def telephone(browser: Browser) -> Iterator[BrowserContext]:
    """A small telephone in the valley's time zone, without network."""
    context = browser.new_context(
        viewport=TELEPHONE, has_touch=True, is_mobile=True, timezone_id="America/New_York"
    )
    context.set_offline(True)
    yield context
    context.close()


def test_one_file_without_any_address(pack: WrittenPack, telephone: BrowserContext) -> None:
    text = pack.path.read_text("utf-8")
    addresses = set(re.findall(r"https?://[^\s\"'<>\\]+", text))
    assert addresses <= {"http://www.w3.org/2000/svg"}, "only the name of the drawing format"
    assert not re.search(r"<(script|link|img|iframe)[^>]+(src|href)=", text)
    assert "default-src 'none'" in text
    asked: list[str] = []
    page = telephone.new_page()
    page.on("request", lambda request: asked.append(request.url))
    page.goto(pack.path.as_uri())
    page.wait_for_selector("html[data-ready=yes]")
    for part in PARTS:
        page.click(f'nav a[href="#{part}"]')
    assert [url for url in asked if not url.startswith("file:")] == []


def test_it_is_small(pack: WrittenPack) -> None:
    assert pack.size_bytes < 3_000_000


def test_the_same_walk_gives_the_same_file(
    valley_home: Home, walk: PlannedWalk, pack: WrittenPack, tmp_path: Path
) -> None:
    again = write_pack(valley_home, walk, tmp_path / "again", today=DAY)
    assert again.path.read_bytes() == pack.path.read_bytes()


def test_every_safety_sentence_is_on_it(pack: WrittenPack, telephone: BrowserContext) -> None:
    page = open_pack(telephone, pack.path)
    page.evaluate("for (const s of document.querySelectorAll('main > section')) s.classList.add('shown')")
    shown = " ".join(page.inner_text("body").split())
    sentences = [*wording.PACK_CAUTIONS, *wording.WALK_CAUTIONS, *wording.EATING_CAUTIONS]
    for words in [*sentences, wording.NEVER_EATEN, wording.POSITION_CAUTION]:
        assert " ".join(words.split()) in shown
    assert wording.ALARM_CAUTION.split(".")[0] in shown
    assert "edible" not in shown.lower()


def test_nothing_is_wider_than_the_telephone_and_targets_are_large(
    pack: WrittenPack, telephone: BrowserContext
) -> None:
    page = open_pack(telephone, pack.path)
    note_find(page)
    for part in PARTS:
        page.click(f'nav a[href="#{part}"]')
        assert page.evaluate("document.documentElement.scrollWidth") <= TELEPHONE["width"], part
        small = page.evaluate(
            """() => [...document.querySelectorAll('button, summary, select, input, nav a')]
              .filter(n => n.type !== 'checkbox')
              .filter(n => n.offsetParent !== null && n.getBoundingClientRect().height < 44)
              .map(n => n.outerHTML.slice(0, 80))"""
        )
        assert small == [], part


def test_without_script_walk_and_cards_can_be_read(pack: WrittenPack, browser: Browser) -> None:
    context = browser.new_context(viewport=TELEPHONE, java_script_enabled=False)
    page = context.new_page()
    page.goto(pack.path.as_uri())
    shown = page.locator("body").inner_text()
    context.close()
    assert "The script of this page does not run here" in shown
    assert "Set out on" in shown
    assert "Nothing here says that it may be eaten" in shown


def test_own_position_stands_on_the_map(pack: WrittenPack, telephone: BrowserContext) -> None:
    page = open_pack(telephone, pack.path)
    turn = page.evaluate("underoakPack.pack.turns[3]")
    page.evaluate(
        """at => { navigator.geolocation.watchPosition = heard => {
             heard({ coords: { longitude: at.lon, latitude: at.lat, accuracy: 12 } }); return 1; }; }""",
        turn,
    )
    page.get_by_role("button", name="Where am I?").click()
    assert f"The nearest turn is {turn['number']}, 0 m away" in page.inner_text("#where")
    dot = page.locator(".own-position circle").last
    label = page.locator("g.turn").filter(has_text=re.compile(rf"(^|,){turn['number']}(,|$)"))
    middle, box = label.first.bounding_box(), dot.bounding_box()
    assert middle is not None
    assert box is not None
    assert abs(middle["x"] + middle["width"] / 2 - box["x"] - box["width"] / 2) < 2.0
    assert abs(middle["y"] + middle["height"] / 2 - box["y"] - box["height"] / 2) < 2.0


def test_a_refused_position_is_told_in_words(pack: WrittenPack, telephone: BrowserContext) -> None:
    page = open_pack(telephone, pack.path)
    page.get_by_role("button", name="Where am I?").click()
    page.get_by_text("does not let the page know where it is").wait_for()


def test_the_alarm_rings_at_the_turn_back_time(pack: WrittenPack, telephone: BrowserContext) -> None:
    page = open_pack(telephone, pack.path)
    turn_back = datetime.fromisoformat(page.evaluate("underoakPack.pack.turn_back_at"))
    page.evaluate("() => { window.rung = 0; navigator.vibrate = () => { window.rung += 1; return true; }; }")
    rung = []
    page.clock.set_system_time(turn_back - timedelta(minutes=60))
    page.get_by_role("button", name=re.compile("Set the alarm")).click()
    for minutes in (-30, -9, -8, 0.5, 1, 6):
        page.clock.set_system_time(turn_back + timedelta(minutes=minutes))
        page.clock.run_for(2000)
        rung.append(page.evaluate("window.rung"))
    assert rung == [0, 1, 1, 2, 2, 3], "ten minutes before, at the time, then every five minutes"
    shown = page.inner_text("#turn-back")
    assert f"{turn_back:%H:%M}" in shown
    assert "go straight to the car now" in shown
    assert "late" in (page.get_attribute("#turn-back", "class") or "")


def test_on_another_day_the_page_says_so(pack: WrittenPack, telephone: BrowserContext) -> None:
    page = open_pack(telephone, pack.path, now="2026-11-20T10:00:00-05:00")
    assert "This plan is for 2026-10-03" in page.inner_text("#turn-back")


def test_the_table_says_what_to_leave_out(pack: WrittenPack, telephone: BrowserContext) -> None:
    page = open_pack(telephone, pack.path)
    middle = page.evaluate("underoakPack.pack.turns[Math.floor(underoakPack.pack.turns.length / 2)]")
    for late_h, words in ((0, "min to the car"), (3, "You will be late")):
        page.clock.set_system_time(f"2026-10-03T{int(NOON[11:13]) + late_h}:15:00-04:00")
        page.locator("#behind select").select_option(str(middle["number"]))
        page.get_by_role("button", name="What now?").click()
        assert words in page.inner_text("#behind")


def test_finds_count_against_the_limits(pack: WrittenPack, telephone: BrowserContext) -> None:
    page = open_pack(telephone, pack.path)
    note_find(page, grams=1500)
    note_find(page, grams=99000, spot=1)
    shown = page.inner_text("#tally")
    assert "In the bags: 100.50 kg" in shown
    assert "too much" in shown


def test_vetting_asks_and_never_clears(pack: WrittenPack, telephone: BrowserContext) -> None:
    page = open_pack(telephone, pack.path)
    bag = note_find(page, taxon="armillaria_mellea_group")
    page.get_by_role("button", name=f"Look closer at bag {bag}").click()
    for _ in range(9):
        heading = page.inner_text("#question h3")
        assert heading
        offered = page.locator("#question button").all_inner_texts()
        if "joined at the foot" in heading:
            page.get_by_role("button", name="one body").click()
        elif "How far has it opened" in heading:
            page.get_by_role("button", name="fully open and firm").click()
        else:
            assert "not looked" in offered
            page.locator("#question").get_by_role("button", name="no", exact=True).click()
        page.wait_for_function(
            "before => document.querySelector('#question h3').textContent !== before", arg=heading
        )
    offered = page.locator("#question button").all_inner_texts()
    assert "not looked" in offered
    assert "looked, can't tell" in offered
    page.get_by_role("button", name="a ball, pear or egg without cap").click()
    page.locator(".state.refused").wait_for()
    assert "Refused: leave it." in page.inner_text("#verdict")


@pytest.mark.outside
def test_no_part_has_a_serious_barrier(pack: WrittenPack, browser: Browser) -> None:
    """The page is opened once, with a find noted; every part is judged by all rules in both lights."""
    script = outside("axe-core", "axe.min.js").read_text("utf-8")
    context = browser.new_context(viewport=TELEPHONE, bypass_csp=True)
    page = open_pack(context, pack.path)
    note_find(page)
    page.evaluate(script)
    found: dict[tuple[str, str], list[str]] = {}
    for part in PARTS:
        page.click(f'nav a[href="#{part}"]')
        found |= {(part, scheme): barriers(page, scheme, "light") for scheme in RULES}
    context.close()
    assert {key: grave for key, grave in found.items() if grave} == {}
