"""The page for the pack of a large park: its size, and its first paint on a processor slowed down four times.

A park of 300 trail edges and 3,000 trees, with contours. A page of the same length that holds nothing but
paragraphs of text is painted beside it, in the same browser.
"""

from __future__ import annotations

import shutil
import statistics
import tempfile
import time
from datetime import date
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from underoak.desk.make_home import make_home
from underoak.desk.pack_page import WrittenPack, write_pack
from underoak.desk.plan_walk import plan_walk
from underoak.desk.walk_plan import WalkWish
from underoak.ledger.database import open_ledger, writing
from underoak.ledger.ground_records import GroundRecord, store_ground
from underoak.model.ground import CarPark, Permission, Place, Spot, Terrain, Trail, Tree
from underoak.model.household import Person, Settings, Whereabouts

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

DAY = date(2026, 10, 3)
WEST, NORTH, STEP = -74.5, 41.6, 0.0018
ROWS, COLUMNS, SPOTS, TREES = 13, 12, 40, 3000
SLOWER = 4
RUNS = 7


def large_park(folder: Path) -> WrittenPack:
    """The page of a walk through an invented grid of trails."""
    settings = Settings(
        where=Whereabouts(latitude_deg=NORTH, longitude_deg=WEST), people=(Person(name="Ada"),)
    )
    home = make_home(folder / "home", settings)
    connection = open_ledger(home.ledger_path)
    with writing(connection):
        store_ground(connection, [*_ground(np.random.default_rng(1))])
    connection.close()
    wish = WalkWish(day=DAY, hours=4.0, place="Large Invented Park", seconds=4.0)
    walk = plan_walk(home, wish, today=DAY, clock=time.monotonic)
    edges = len(walk.ground.network.edges)
    print(f"park: {edges} trail edges, {len(walk.ground.trees)} trees, {len(walk.ground.spots)} spots")
    return write_pack(home, walk, folder, today=DAY)


def _ground(rng: np.random.Generator) -> list[GroundRecord]:
    width, height = STEP * (COLUMNS - 1), STEP * (ROWS - 1)
    a, b = (WEST - STEP, NORTH + STEP), (WEST + width + STEP, NORTH - height - STEP)
    ring = (a, (b[0], a[1]), b, (a[0], b[1]), a)
    place = Place("park", "Large Invented Park", ((ring,),), Permission("allowed", "the invented town"))
    lines = [[(c, r) for c in range(COLUMNS)] for r in range(ROWS)]
    lines += [[(c, r) for r in range(ROWS)] for c in range(COLUMNS)]
    heights = 200.0 + 40.0 * np.add.outer(np.sin(np.arange(90) / 9.0), np.cos(np.arange(90) / 7.0))
    terrain = Terrain("grid", "grid", a[0], a[1], (b[0] - a[0]) / 90.0, (a[1] - b[1]) / 90.0, heights)
    xy = rng.random((TREES, 2)) * [width, height]
    trees = [
        Tree(f"t{i}", WEST + x, NORTH - y, "red oak", "red_oak", float(rng.uniform(20, 120)), "living")
        for i, (x, y) in enumerate(xy.tolist())
    ]
    spots = [
        Spot(f"s{t.id}", "park", f"oak {t.id}", t.longitude_deg, t.latitude_deg, "red_oak", 90.0, t.id)
        for t in trees[:SPOTS]
    ]
    trails = [Trail(f"trail{i}", f"Trail {i}", _bent(line, rng)) for i, line in enumerate(lines)]
    return [place, CarPark("lot", "Lot", WEST, NORTH), terrain, *trails, *trees, *spots]


def _bent(line: list[tuple[int, int]], rng: np.random.Generator) -> tuple[tuple[float, float], ...]:
    """A trail through crossings of the grid with five bends between every two of them."""
    points: list[tuple[float, float]] = []
    for (c0, r0), (c1, r1) in pairwise(line):
        for part in range(6):
            f, bend = part / 6.0, 0.0 if part == 0 else float(rng.normal(0.0, 0.03))
            c, r = c0 + f * (c1 - c0) + bend * (r1 - r0), r0 + f * (r1 - r0) + bend * (c1 - c0)
            points.append((WEST + STEP * c, NORTH - STEP * r))
    c, r = line[-1]
    return (*points, (WEST + STEP * c, NORTH - STEP * r))


def plain_page(folder: Path, size: int) -> Path:
    """As many bytes of nothing but paragraphs."""
    words = "<p>" + "a walk in the woods and back again " * 20 + "</p>\n"
    path = folder / "plain.html"
    head = "<!DOCTYPE html><meta charset=utf-8><title>plain</title>"
    path.write_text(head + words * (size // len(words)), "utf-8")
    return path


def paint_ms(browser: Browser, path: Path, ready: str) -> tuple[float, float]:
    """Median first contentful paint, and median time until ``ready`` holds [ms], on the slowed processor."""
    paints, readies = [], []
    for _ in range(RUNS):
        context = browser.new_context(viewport={"width": 360, "height": 740})
        page = context.new_page()
        context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
        page.goto(path.as_uri())
        _wait_until(page, ready)
        readies.append(float(page.evaluate("performance.now()")))
        _wait_until(page, "performance.getEntriesByName('first-contentful-paint').length > 0")
        paints.append(
            float(page.evaluate("performance.getEntriesByName('first-contentful-paint')[0].startTime"))
        )
        context.close()
    return statistics.median(paints), statistics.median(readies)


def _wait_until(page: Page, holds: str) -> None:
    """Ask until it holds: the page's own policy forbids the browser to watch a text of script."""
    ends = time.monotonic() + 60.0
    while not page.evaluate(holds):
        if time.monotonic() > ends:
            raise TimeoutError(holds)
        time.sleep(0.02)


def main() -> None:
    """Print size, first paint and the ratio to a plain page."""
    from playwright.sync_api import sync_playwright

    chromium = shutil.which("chromium") or shutil.which("chromium-browser")
    with tempfile.TemporaryDirectory() as temporary:
        folder = Path(temporary)
        pack = large_park(folder)
        print(f"size {pack.size_bytes / 1e6:.2f} MB of at most 3 MB")
        if chromium is None:
            print("no Chromium here: first paint was not measured")
            return
        with sync_playwright() as playwright:
            browser = playwright.chromium.launch(
                executable_path=chromium, args=["--no-sandbox", "--disable-gpu"]
            )
            own, ready = paint_ms(browser, pack.path, "document.documentElement.dataset.ready === 'yes'")
            plain, _ = paint_ms(
                browser, plain_page(folder, pack.size_bytes), "document.readyState === 'complete'"
            )
            browser.close()
        print(
            f"first paint {own:.0f} ms at {SLOWER}x slower, of at most 1000; takes taps after {ready:.0f} ms"
        )
        print(f"first paint against a plain page of {pack.size_bytes / 1e6:.2f} MB: {own / plain:.2f} times")


if __name__ == "__main__":
    main()
