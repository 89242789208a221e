"""A real server and a real browser for the tests of this folder."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.browser.lived_home import addresses, served, spend_saturday
from tests.browser.pack_file import walked_valley
from tests.made_once import made_once, valley
from underoak.settings import Home, load_home

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

    from underoak.desk.pack_page import WrittenPack
    from underoak.desk.walk_plan import PlannedWalk

#: Keeps Chromium from looking for hosts that a test never needs.
QUIET = ("--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-sync",
         "--disable-background-networking", "--disable-component-update")  # fmt: skip
WIDTHS = [pytest.param(360, id="phone"), pytest.param(1280, id="desktop")]


@pytest.fixture(scope="session")
def lived_home(tmp_path_factory: pytest.TempPathFactory) -> Home:
    """A home in which the invented Saturday was lived."""

    def make(folder: Path) -> None:
        spend_saturday(valley(tmp_path_factory, into=folder))

    return load_home(made_once(tmp_path_factory, "lived", make)[0] / "home")


@pytest.fixture(scope="session")
def address(lived_home: Home) -> Iterator[str]:
    """Where the pages of the lived-in home are served."""
    with served(lived_home.folder) as where:
        yield where


@pytest.fixture(scope="session")
def pages(
    address: str, lived_home: Home, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[dict[str, str]]:
    """Name and whole address of every kind of page, also of the first of all in a folder without a home."""
    with served(tmp_path_factory.mktemp("nobody") / "home") as first:
        yield {name: address + path for name, path in addresses(lived_home).items()} | {"begin": f"{first}/"}


@pytest.fixture(scope="module")
def walked(tmp_path_factory: pytest.TempPathFactory) -> tuple[Home, PlannedWalk, WrittenPack]:
    """The invented valley with a walk and its page."""
    return walked_valley(tmp_path_factory)


@pytest.fixture(scope="module")
def valley_home(walked: tuple[Home, PlannedWalk, WrittenPack]) -> Home:
    """The invented valley in which that walk was planned."""
    return walked[0]


@pytest.fixture(scope="module")
def pack(walked: tuple[Home, PlannedWalk, WrittenPack]) -> WrittenPack:
    """The page of a walk there."""
    return walked[2]


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Chromium, or a skip that says what is missing."""
    chromium: str | Path | None = shutil.which("chromium") or shutil.which("chromium-browser")
    if chromium is None:
        pytest.skip("no Chromium is installed here, so the pages were not looked at in a browser")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=chromium, args=list(QUIET))
        yield opened
        opened.close()


@pytest.fixture(params=WIDTHS)
def page(request: pytest.FixtureRequest, browser: Browser) -> Iterator[Page]:
    """A page at phone and at desktop width; whatever the browser complains of fails the test."""
    opened = browser.new_page(viewport={"width": request.param, "height": 800})
    opened.set_default_timeout(60_000)
    complaints: list[str] = []
    opened.on("console", lambda m: complaints.append(m.text) if m.type in ("error", "warning") else None)
    opened.on("pageerror", lambda error: complaints.append(str(error)))
    yield opened
    opened.close()
    assert complaints == []
