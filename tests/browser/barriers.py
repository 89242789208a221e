"""What axe-core finds wrong with a page that is open: once in the light, once in the dark."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from playwright.sync_api import Page

#: In the light every rule of WCAG 2.1 A and AA; in the dark, where only colours differ, contrast.
RULES = {
    "light": {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa"]},
    "dark": {"type": "rule", "values": ["color-contrast"]},
}


def barriers(page: Page, scheme: str, rules: str | None = None) -> list[str]:
    """Serious and critical findings on a page into which axe-core was put; it need not be loaded again.

    ``rules`` are those of `RULES` to judge by, of the scheme itself if not given.
    """
    page.emulate_media(color_scheme="dark" if scheme == "dark" else "light")
    result = page.evaluate(
        "rules => axe.run(document, {runOnly: rules, resultTypes: ['violations']})", RULES[rules or scheme]
    )
    assert result["passes"], page.url
    grave = [v for v in result["violations"] if v["impact"] in ("serious", "critical")]
    return [f"{v['id']}: {v['nodes'][0]['html'][:160]}" for v in grave]
