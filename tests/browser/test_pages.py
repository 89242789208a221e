"""Every page in a real browser: it fits, its targets are large, nothing is fetched from elsewhere."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import pytest

from tests.browser.barriers import RULES, barriers
from tests.outside_data import outside

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

pytestmark = pytest.mark.browser
WIDTHS = {"phone": 360, "desktop": 1280}
#: Everything a finger has to hit, but for links inside a sentence.
TARGETS = "button, select, summary, input:not([type=hidden]), .button, nav a, .check label, th a, h3 a"
_LOOK = """targets => ({
    headings: document.querySelectorAll("h1").length,
    width: document.documentElement.scrollWidth,
    ill: [...document.querySelectorAll("a")].some(a => a.textContent.trim() === "Someone feels ill"
        && a.checkVisibility()),
    small: [...document.querySelectorAll(targets)].filter(t => t.checkVisibility()
        && !t.matches("input[type=checkbox], input[type=radio]")
        && t.getBoundingClientRect().height < 43.5).map(t => t.outerHTML.slice(0, 90))})"""


@dataclass
class Looked:
    """What was seen of every page, each loaded once; ``seen`` by width, ``barriers`` by scheme, by page."""

    seen: dict[str, dict[str, Any]] = field(default_factory=dict)
    barriers: dict[str, dict[str, list[str]]] = field(default_factory=dict)
    strangers: list[str] = field(default_factory=list)
    complaints: list[str] = field(default_factory=list)


@pytest.fixture(scope="module")
def looked(browser: Browser, address: str, pages: dict[str, str]) -> Iterator[Looked]:
    """Load every page once, look at it at both widths, and have axe-core look at it in light and dark."""
    axe = _axe()
    context = browser.new_context(viewport={"width": 360, "height": 800})
    context.set_default_timeout(60_000)
    page, found = context.new_page(), Looked()
    ours, pardoned = (address, pages["begin"]), ("/walk/compare", "/there-is-no-such-page")
    page.on("request", lambda r: None if r.url.startswith(ours) else found.strangers.append(r.url))
    page.on(
        "console",
        lambda m: (
            found.complaints.append(f"{page.url}: {m.text}")
            if m.type in ("error", "warning") and not page.url.endswith(pardoned)
            else None
        ),
    )
    page.on("pageerror", lambda error: found.complaints.append(f"{page.url}: {error}"))
    for name, where in pages.items():
        page.goto(where)
        for width, pixels in WIDTHS.items():
            page.set_viewport_size({"width": pixels, "height": 800})
            found.seen.setdefault(width, {})[name] = page.evaluate(_LOOK, TARGETS)
        page.set_viewport_size({"width": WIDTHS["phone"], "height": 800})
        if axe is not None:
            page.evaluate(axe)
            for scheme in RULES:
                found.barriers.setdefault(scheme, {})[name] = barriers(page, scheme)
    yield found
    context.close()


def _axe() -> str | None:
    """The checker's script, None where there are no outside data."""
    try:
        return outside("axe-core", "axe.min.js").read_text("utf-8")
    except pytest.skip.Exception:
        return None


@pytest.mark.parametrize("width", WIDTHS)
def test_every_page_fits(looked: Looked, width: str) -> None:
    for name, seen in looked.seen[width].items():
        if name in ("sorry", "refused"):
            continue
        assert seen["headings"] == 1, name
        assert seen["width"] <= WIDTHS[width], name
        assert seen["ill"] or name == "pair", name
        assert seen["small"] == [], name


def test_every_page_stays_at_home(looked: Looked) -> None:
    assert looked.strangers == []
    assert looked.complaints == []


@pytest.mark.outside
@pytest.mark.parametrize("scheme", RULES)
def test_no_page_has_a_serious_barrier(looked: Looked, pages: dict[str, str], scheme: str) -> None:
    outside("axe-core", "axe.min.js")
    assert looked.barriers[scheme].keys() == pages.keys()
    assert {name: grave for name, grave in looked.barriers[scheme].items() if grave} == {}


def test_the_map_shows_layers_and_opens_a_spot(page: Page, address: str) -> None:
    page.goto(address + "/map")
    page.locator("#map[data-ready=yes]").wait_for()
    assert page.locator(".leaflet-overlay-pane canvas").count() >= 1
    assert page.locator(".car-park").count() == 3
    page.locator(".car-park").first.dispatch_event("click")
    assert page.locator(".leaflet-popup-content").inner_text().strip() != ""


def test_the_pages_work_by_keyboard(browser: Browser, address: str) -> None:
    page = browser.new_page(viewport={"width": 360, "height": 800})
    page.goto(address)
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "Someone feels ill"
    page.keyboard.press("Enter")
    page.wait_for_url("**/ill")
    page.close()
