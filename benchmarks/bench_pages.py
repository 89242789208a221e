"""How long each page takes on the demo's ledger and on one 100 times its size, and their ratio.

The large ledger holds 50,000 finds on 5,000 days out and 20,000 jars. Each page is asked for 20 times;
``first`` is the first answer after something was stored, ``p95`` that of the rest, which the server may
remember until something is stored again. Times are processor time, so that a busy machine does not count.
Wanted: the large p95 at most 3 times the small one, with 20 ms granted to both.
"""

from __future__ import annotations

import json
import sqlite3
import sys
import tempfile
import time
from datetime import date, datetime, timedelta
from pathlib import Path

from tests.browser.lived_home import addresses, live
from tests.unit.web_client import PORT, Browser

from underoak.desk.demo import SATURDAY
from underoak.ledger.database import open_ledger, writing
from underoak.settings import Home
from underoak.web.app import create_app

TIMES = 20
FINDS, DAYS_OUT, JARS = 50_000, 5_000, 20_000
#: What both sides are granted before they are compared, s.
GRANTED_S = 0.02
_SKIPPED = ("sorry", "refused", "pair", "phones")


def enlarge(home: Home) -> None:
    """Add days out with finds, batches and jars until the ledger has the wanted size."""
    connection = open_ledger(home.ledger_path)
    try:
        spots = [tuple(row) for row in connection.execute("SELECT id, place_id FROM spot ORDER BY id")]
        lot = connection.execute("SELECT lot_id, batch_id FROM batch_lot LIMIT 1").fetchone()
        with writing(connection):
            _days_out(connection, spots)
            _jars(connection, str(lot[0]))
    finally:
        connection.close()


def _days_out(connection: sqlite3.Connection, spots: list[tuple[str, str]]) -> None:
    kinds = ("grifola_frondosa", "armillaria_mellea_group", "laetiporus_sulphureus", "hericium_group")
    each = FINDS // DAYS_OUT
    for number in range(DAYS_OUT):
        place = spots[number % len(spots)][1]
        here = [s for s, p in spots if p == place][:each]
        day = date(1990, 8, 20) + timedelta(days=365 * (number % 36) + (number // 36) % 75)
        visit = f"bench-{number}"
        connection.execute(
            "INSERT INTO visit VALUES (?, ?, ?, 120, '[]', '')", (visit, day.isoformat(), place)
        )
        connection.executemany("INSERT OR IGNORE INTO search VALUES (?, ?, 0.6)", [(visit, s) for s in here])
        connection.executemany(
            "INSERT INTO find VALUES (?, ?, ?, ?, 'prime', NULL, 400, '')",
            [(f"{visit}-{n}", visit, here[n % len(here)], kinds[n % 4]) for n in range(each)],
        )


def _jars(connection: sqlite3.Connection, lot_id: str) -> None:
    batch = dict(connection.execute("SELECT * FROM batch LIMIT 1").fetchone())
    jar = dict(connection.execute("SELECT * FROM jar LIMIT 1").fetchone())
    for number in range(JARS // 20):
        made = {**batch, "id": f"bench-{number}"}
        _insert(connection, "batch", made)
        connection.execute("INSERT INTO batch_lot VALUES (?, ?, 100)", (made["id"], lot_id))
        for unit in range(20):
            code = f"bench-{number}-{unit:02d}"
            _insert(connection, "jar", {**jar, "id": code, "code": code, "batch_id": made["id"]})


def _insert(connection: sqlite3.Connection, table: str, row: dict[str, object]) -> None:
    marks = ", ".join("?" * len(row))
    connection.execute(f"INSERT INTO {table} ({', '.join(row)}) VALUES ({marks})", tuple(row.values()))  # noqa: S608


def seconds(home: Home, pages: dict[str, str]) -> dict[str, tuple[float, float]]:
    """First answer and p95 of the later ones for each page, s."""
    now = datetime.combine(SATURDAY, datetime.min.time()).replace(hour=22)
    browser = Browser(create_app(home, today=lambda: SATURDAY, now=lambda: now, port=PORT))
    found = {}
    for name, path in pages.items():
        times = []
        for _ in range(TIMES):
            started = time.process_time()
            with browser.get(path) as answer:
                assert answer.status_code == 200, (path, answer.status_code)
            times.append(time.process_time() - started)
        later = sorted(times[1:])
        found[name] = (times[0], later[int(0.95 * (len(later) - 1))])
    return found


def main() -> None:
    """Print one line a page: first and p95 of both ledgers in milliseconds, and the ratio of the p95."""
    with tempfile.TemporaryDirectory() as folder:
        home = live(Path(folder) / "home")
        pages = {name: path for name, path in addresses(home).items() if name not in _SKIPPED}
        pages["ground.json"] = "/map/ground.json"
        small = seconds(home, pages)
        enlarge(home)
        large = seconds(home, pages)
    worst = 0.0
    for name in pages:
        ratio = (large[name][1] + GRANTED_S) / (small[name][1] + GRANTED_S)
        worst = max(worst, ratio)
        told = [f"{1000 * value:7.0f}" for pair in (small[name], large[name]) for value in pair]
        small_ms, large_ms = (f"first {told[n]} p95 {told[n + 1]} ms" for n in (0, 2))
        print(f"{name:18} small {small_ms}; large {large_ms}; p95 × {ratio:.1f}")
    print(f"pages: p95 on the large ledger at most {worst:.1f} times the small (wanted: at most 3)")
    if "--json" in sys.argv:
        print(json.dumps({"small": small, "large": large}))


if __name__ == "__main__":
    main()
