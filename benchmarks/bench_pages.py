"""How long each page takes on the demo's ledger and on one 100 times its size, and their ratio.

Each page is asked for in two ways. ``after a store``: a find of the evening has just been stored, so that the
server cannot simply hand out what it gave before; a household stores something every evening, so this is the
answer it mostly sees. ``again``: nothing was stored since. Times are processor time, so that a busy machine
does not count, and the 95th percentile of all askings. Before the first one everything was asked for once,
as by a server that has been running. The interpreter's collection of garbage (about 0.1 s, once in hundreds
of pages) is made between pages: it would fall on one page of one side, and say nothing of either.
Wanted: the large at most 3 times the small, with 20 ms granted to both.
"""

from __future__ import annotations

import gc
import json
import shutil
import sys
import tempfile
import time
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

from tests.browser.lived_home import addresses, live
from tests.unit.web_client import PORT, Browser

from benchmarks.large_ledger import enlarge
from underoak.desk.demo import SATURDAY
from underoak.ledger.database import open_ledger, writing
from underoak.ledger.visits import store_visits
from underoak.model.visits import Find, Search, Visit
from underoak.settings import Home, load_home
from underoak.web.app import create_app

#: Stores before each of which a page is asked for, and askings again after each.
STORES, AGAIN = 10, 3
#: What both sides are granted before they are compared, s.
GRANTED_S = 0.02
_SKIPPED = ("sorry", "refused", "pair", "phones")
Times = dict[str, tuple[float, float]]


class Evening:
    """Stores one find again and again, each time a little heavier."""

    def __init__(self, home: Home) -> None:
        self.home, self.grams = home, 300.0
        connection = open_ledger(home.ledger)
        self.spot, self.place = connection.execute("SELECT id, place_id FROM spot ORDER BY id").fetchone()
        connection.close()

    def store(self) -> None:
        """Store the find."""
        self.grams += 1.0
        find = Find("evening-1", self.spot, "grifola_frondosa", "prime", 1, self.grams)
        visit = Visit("evening", SATURDAY, self.place, 30.0, (), (Search(self.spot, 0.6),), (find,))
        connection = open_ledger(self.home.ledger)
        with writing(connection):
            store_visits(connection, [visit])
        connection.close()


def measured(home: Home, pages: dict[str, str]) -> Times:
    """95th percentile of the answers after a store, and of those again, for each page, s."""
    now = datetime.combine(SATURDAY, datetime.min.time()).replace(hour=22)
    browser = Browser(create_app(home, today=lambda: SATURDAY, now=lambda: now, port=PORT))
    evening = Evening(home)
    for path in pages.values():
        _seconds(browser, path)
    return {name: _of_page(browser, evening, path) for name, path in pages.items()}


def _of_page(browser: Browser, evening: Evening, path: str) -> tuple[float, float]:
    first, again = [], []
    gc.collect()
    gc.disable()
    try:
        for _ in range(STORES):
            evening.store()
            first.append(_seconds(browser, path))
            again += [_seconds(browser, path) for _ in range(AGAIN)]
    finally:
        gc.enable()
    return _p95(first), _p95(again)


def _seconds(browser: Browser, path: str) -> float:
    started = time.process_time()
    with browser.get(path) as answer:
        assert answer.status_code == 200, (path, answer.status_code)
        answer.get_data()
    return time.process_time() - started


def _p95(times: list[float]) -> float:
    return sorted(times)[min(int(0.95 * len(times)), len(times) - 1)]


def _lines(small: Times, large: Times) -> Iterator[str]:
    yield f"{'page':17} after a store: small   large  ratio  again: small   large  ratio"
    for name in small:
        told = []
        for way in (0, 1):
            a, b = small[name][way], large[name][way]
            told.append(f"{1000 * a:7.0f} {1000 * b:7.0f} ms × {_ratio(a, b):.1f}")
        yield f"{name:17}      {told[0]}       {told[1]}"


def _ratio(small: float, large: float) -> float:
    return (large + GRANTED_S) / (small + GRANTED_S)


def main() -> None:
    """Print one line a page: p95 of both ledgers in both ways in milliseconds, and their ratios."""
    with tempfile.TemporaryDirectory() as folder:
        home = live(Path(folder) / "small")
        pages = {name: path for name, path in addresses(home).items() if name not in _SKIPPED}
        pages["ground.json"] = "/map/ground.json"
        shutil.copytree(home.folder, Path(folder) / "large")
        larger = load_home(Path(folder) / "large")
        enlarge(larger)
        small, large = measured(home, pages), measured(larger, pages)
    for line in _lines(small, large):
        print(line)
    for way, words in enumerate(("after a store", "again")):
        name = max(pages, key=lambda name: _ratio(small[name][way], large[name][way]))
        worst = _ratio(small[name][way], large[name][way])
        print(
            f"pages, {words}: p95 on the large ledger at most {worst:.1f} times the small ({name}; wanted: 3)"
        )
    if "--json" in sys.argv:
        print(json.dumps({"small": small, "large": large}))


if __name__ == "__main__":
    main()
