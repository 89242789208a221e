"""Every page in a real browser: it fits, its targets are large, nothing is fetched from elsewhere."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.browser.lived_home import addresses
from tests.outside_data import outside
from underoak.settings import Home

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

pytestmark = pytest.mark.browser
#: Everything a finger has to hit, but for links inside a sentence.
TARGETS = "button, select, summary, input:not([type=hidden]), .button, nav a, .check label, th a, h3 a"


def test_every_page_fits_and_stays_at_home(page: Page, address: str, lived_home: Home) -> None:
    strangers: list[str] = []
    page.on("request", lambda r: None if r.url.startswith(address) else strangers.append(r.url))
    width = page.evaluate("innerWidth")
    for name, path in addresses(lived_home).items():
        if name in ("sorry", "refused"):
            continue
        page.goto(address + path)
        assert page.locator("h1").count() == 1, name
        assert page.evaluate("document.documentElement.scrollWidth") <= width, name
        if name != "pair":
            assert page.get_by_role("link", name="Someone feels ill").is_visible(), name
        small = page.evaluate(
            """targets => [...document.querySelectorAll(targets)].filter(t => t.checkVisibility()
                 && !t.matches('input[type=checkbox], input[type=radio]')
                 && t.getBoundingClientRect().height < 43.5).map(t => t.outerHTML.slice(0, 90))""",
            TARGETS,
        )
        assert small == [], name
    assert strangers == []


@pytest.mark.outside
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_no_page_has_a_serious_barrier(browser: Browser, address: str, lived_home: Home, scheme: str) -> None:
    """In the light every rule of WCAG 2.1 A and AA; in the dark, where only colours differ, contrast."""
    script = outside("axe-core", "axe.min.js").read_text("utf-8")
    context = browser.new_context(
        viewport={"width": 360, "height": 800},
        color_scheme="dark" if scheme == "dark" else "light",
        bypass_csp=True,
    )
    page = context.new_page()
    tags = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa"]
    light = {"type": "tag", "values": tags}
    rules = light if scheme == "light" else {"type": "rule", "values": ["color-contrast"]}
    found: dict[str, list[str]] = {}
    for name, path in addresses(lived_home).items():
        page.goto(address + path)
        page.evaluate(script)
        result = page.evaluate(
            "rules => axe.run(document, {runOnly: rules, resultTypes: ['violations']})", rules
        )
        grave = [v for v in result["violations"] if v["impact"] in ("serious", "critical")]
        if grave:
            found[name] = [f"{v['id']}: {v['nodes'][0]['html'][:160]}" for v in grave]
        assert result["passes"], name
    context.close()
    assert found == {}


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
