"""Long lists come page by page, and every entry can be reached."""

from __future__ import annotations

import re
from datetime import date, timedelta

import pytest

from tests.shared_home import invented_home
from tests.unit.web_client import PORT, Browser
from underoak.ledger.database import open_ledger, writing
from underoak.ledger.visits import store_visits
from underoak.model.visits import Find, Search, Visit
from underoak.settings import Home
from underoak.web.app import create_app

TODAY = date(2026, 10, 20)
DAYS = [TODAY - timedelta(days=9 * n) for n in range(30)]


@pytest.fixture
def home(tmp_path) -> Home:  # type: ignore[no-untyped-def]
    """A home with thirty days out, some of which found something."""
    home = invented_home(tmp_path / "home")
    connection = open_ledger(home.ledger)
    with writing(connection):
        connection.execute("DELETE FROM photo")
        store_visits(
            connection,
            [
                Visit(f"out-{n}", day, "wood", 40.0, ("Ada",), (Search("oak", 0.6),),
                      (Find(f"find-{n}", "oak", "grifola_frondosa", "prime", 1, 400.0),) if n % 3 else ())
                for n, day in enumerate(DAYS)
            ],
        )  # fmt: skip
    connection.close()
    return home


@pytest.fixture
def browser(home: Home) -> Browser:
    return Browser(create_app(home, today=lambda: TODAY, port=PORT))


def days_on(page: str) -> list[str]:
    return re.findall(r'<h2[^>]*><a href="/finds/day/([\d-]+)">', page)


def test_every_day_out_is_reached_by_the_links(browser: Browser) -> None:
    seen, at = list[str](), "/finds"
    for _ in range(40):
        page = browser.text(at)
        seen += days_on(page)
        link = re.search(r'<a class="button" href="(/finds\?until=[\d-]+)">Earlier days', page)
        assert ("The latest days" in page) == (at != "/finds")
        if link is None:
            break
        at = link[1]
    assert seen == sorted(seen, reverse=True)
    assert len(seen) == len(set(seen))
    assert set(seen) >= {day.isoformat() for day in DAYS}


def test_a_day_can_be_asked_for(browser: Browser) -> None:
    assert days_on(browser.text("/finds?until=2026-06-01"))[0] == max(
        day.isoformat() for day in DAYS if day <= date(2026, 6, 1)
    )
    assert "up to this date" in browser.text("/finds?until=1999-01-01")
    assert "up to this date" in browser.text("/finds?until=0001-01-01")


def test_a_day_that_is_none_is_told(browser: Browser) -> None:
    answer = browser.get("/finds?until=yesterday")
    assert answer.status_code == 422
    assert "is no day" in answer.get_data(as_text=True)
