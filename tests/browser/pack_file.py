"""One page for the pack of the invented valley, opened from a file like on a telephone."""

from __future__ import annotations

import time
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from tests.made_once import made_once, valley
from underoak.desk.pack_page import WrittenPack, write_pack
from underoak.desk.plan_walk import plan_walk
from underoak.desk.walk_plan import PlannedWalk, WalkWish
from underoak.settings import Home, load_home

if TYPE_CHECKING:
    import pytest
    from playwright.sync_api import BrowserContext, Page, ViewportSize

DAY = date(2026, 10, 3)
PLACE = "Fiddler's Hollow"
#: A small telephone held upright.
TELEPHONE: ViewportSize = {"width": 360, "height": 740}
#: In the middle of the planned walk.
NOON = "2026-10-03T10:15:00-04:00"


def planned(home: Home) -> PlannedWalk:
    """A walk of the valley, planned quickly."""
    wish = WalkWish(day=DAY, hours=3.5, place=PLACE, seconds=2.0)
    return plan_walk(home, wish, today=DAY, clock=time.monotonic)


def walked_valley(factory: pytest.TempPathFactory) -> tuple[Home, PlannedWalk, WrittenPack]:
    """The invented valley, a walk of it and the walk's page, made once for all tests."""

    def make(folder: Path) -> tuple[PlannedWalk, WrittenPack]:
        home = valley(factory, into=folder)
        walk = planned(home)
        return walk, write_pack(home, walk, folder / "pack", today=DAY)

    own, (walk, pack) = made_once(factory, "walked", make)
    return load_home(own / "home"), walk, replace(pack, path=own / "pack" / pack.path.name)


def open_pack(context: BrowserContext, path: Path, part: str = "walk", *, now: str | None = NOON) -> Page:
    """The page, ready, at one of its parts; ``now`` is the telephone's clock."""
    page = context.new_page()
    faults: list[str] = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.on("console", lambda m: faults.append(m.text) if m.type == "error" else None)
    if now:
        page.clock.install(time=now)
    page.goto(f"{path.resolve().as_uri()}#{part}")
    page.wait_for_selector("html[data-ready=yes]", timeout=30_000)
    assert faults == []
    return page


def note_find(page: Page, *, taxon: str = "grifola_frondosa", grams: int = 1500, spot: int = 0) -> str:
    """Note a find at one of the known spots and hand back the bag's name."""
    page.get_by_role("link", name="Write down").click()
    page.locator("#spots li button.main").nth(spot).click()
    bag = page.get_by_label("Bag", exact=True).input_value()
    page.get_by_label("What somebody takes it for").select_option(taxon)
    page.get_by_label("How many bodies or stems").fill("1")
    page.get_by_label("Weight in grams").fill(str(grams))
    page.get_by_role("button", name="Keep it").click()
    page.get_by_role("heading", name="Where are you?").wait_for()
    return bag
