"""The front page in a real browser, at phone and desktop width."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from playwright.sync_api import Browser

pytestmark = pytest.mark.browser
WIDTHS = [pytest.param(360, id="phone"), pytest.param(1280, id="desktop")]


@pytest.mark.parametrize("width", WIDTHS)
def test_the_front_page_shows_week_map_and_jars(browser: Browser, address: str, width: int) -> None:
    page = browser.new_page(viewport={"width": width, "height": 800})
    complaints: list[str] = []
    page.on("console", lambda message: complaints.append(message.text))
    page.on("requestfailed", lambda request: complaints.append(request.url))
    page.goto(address)
    assert page.get_by_role("heading", level=2).all_inner_texts() == [
        "This week",
        "Map",
        "Jars",
        "Someone feels ill",
    ]
    assert "Grifola frondosa" in page.locator("#week table").inner_text()
    assert page.locator("#week details").count() > 0
    assert page.evaluate("document.querySelector('#map img').naturalWidth") > 0
    assert "1-800-222-1222" in page.locator("#ill").inner_text()
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert complaints == []
    page.close()


def test_links_are_large_enough_for_cold_fingers(browser: Browser, address: str) -> None:
    page = browser.new_page(viewport={"width": 360, "height": 800})
    page.goto(address)
    for link in page.locator("nav a").all():
        box = link.bounding_box()
        assert box is not None
        assert box["height"] >= 44
    page.close()
