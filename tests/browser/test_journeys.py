"""Whole journeys of a household in a real browser, at phone and at desktop width."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import suppress
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pypdfium2
import pytest

from tests.browser.lived_home import PLACE, served
from underoak.book.load import load_book
from underoak.desk.demo import SATURDAY
from underoak.desk.make_home import make_home
from underoak.desk.tell_spot import known_spots
from underoak.model.household import Person, Settings, Whereabouts
from underoak.settings import Home, load_home
from underoak.world.basket import noted_find
from underoak.world.files import write_world
from underoak.world.valley import HOME_ELEVATION_M, HOME_LATITUDE_DEG, HOME_LONGITUDE_DEG, PARKS

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

pytestmark = pytest.mark.browser
MOST_QUESTIONS = 60
#: How long to wait for long work, however busy the computer is.
PATIENCE_MS = 300_000
#: kind of file -> files of it, in loading order
InventedFiles = dict[str, list[Path]]


@pytest.fixture
def empty_home(tmp_path: Path) -> Home:
    """A home as it is on the first day."""
    where = Whereabouts(latitude_deg=41.62, longitude_deg=-74.58, elevation_m=210.0)
    people = (Person(name="Mara"), Person(name="Jonas"))
    return make_home(tmp_path / "home", Settings(name="The Invented Family", where=where, people=people))


@pytest.fixture(scope="module")
def invented_files(tmp_path_factory: pytest.TempPathFactory) -> InventedFiles:
    """The invented valley as files of every kind, with a receiver's waypoint beside them."""
    folder = tmp_path_factory.mktemp("files")
    files: InventedFiles = {}
    for file in write_world(folder, seed=1, today=SATURDAY):
        files.setdefault(file.kind, []).append(file.path)
    longitude, latitude = PARKS[0].longitude_deg, PARKS[0].latitude_deg
    waypoint = folder / "receiver.gpx"
    waypoint.write_text(
        '<gpx version="1.1" creator="invented" xmlns="http://www.topografix.com/GPX/1/1">'
        f'<wpt lat="{latitude}" lon="{longitude}"><name>wayside beech</name></wpt></gpx>',
        "utf-8",
    )
    return files | {"waypoints": [waypoint]}


@pytest.fixture
def start(empty_home: Home) -> Iterator[str]:
    """Where the pages of the empty home are served."""
    with served(empty_home.folder) as where:
        yield where


def write_down_ground(page: Page, start: str) -> None:
    """A wood where gathering is allowed, and an oak in it."""
    page.goto(start)
    page.get_by_role("link", name="Write down your woods and spots").click()
    page.get_by_role("link", name="A wood", exact=True).click()
    page.get_by_label("Name").fill("Invented Wood")
    page.get_by_label("Reaches so many metres").fill("500")
    page.get_by_label("allowed", exact=True).check()
    page.get_by_label("Who says so").fill("The invented owner, by letter")
    page.get_by_role("button", name="Store the wood").click()
    page.get_by_role("link", name="A spot", exact=True).click()
    page.get_by_label("Name").fill("old oak")
    page.get_by_label("Latitude").fill("41.6205")
    page.get_by_label("Longitude").fill("-74.5805")
    page.get_by_role("button", name="Store the spot").click()
    page.get_by_role("heading", name="Old oak, Invented Wood").wait_for()


def write_down_find(
    page: Page, start: str, taxon: str, grams: int, *, place: str = "", spot: str = "old oak"
) -> None:
    """A day out with one find."""
    page.goto(f"{start}/finds/new")
    if place:
        page.get_by_label("Wood", exact=True).select_option(label=place)
    page.get_by_label("Minutes in the woods").fill("90")
    page.get_by_label("Kind").first.fill(taxon)
    page.get_by_label("Spot", exact=True).first.select_option(label=spot)
    page.get_by_label("Grams").first.fill(str(grams))
    page.get_by_role("button", name="Store the day").click()
    page.get_by_role("heading", name="Saturday, 3 October 2026").wait_for()


def vet(page: Page, truth: str, target: str, stems: int) -> None:
    """Answer the questions of the find on the page with what ``truth`` shows, and keep the verdict.

    As people do, until it is refused or consistent, or nothing more is asked.
    """
    body = noted_find(load_book(), truth, target=target, stems=stems, day_of_year=276)["bodies"][0]
    page.get_by_role("link", name="Vet it").click()
    page.get_by_label("How many bodies and stems").fill(str(stems))
    for answer in page.get_by_label("no", exact=True).all():
        answer.check()
    page.get_by_role("button", name="Begin with the first body").click()
    if stems > 1:
        page.get_by_label("How many stems are joined").fill(str(stems))
    page.get_by_label("fully open").check()
    for answer in page.get_by_label("no", exact=True).all():
        answer.check()
    page.get_by_role("button", name="Go on to the questions").click()
    page.locator("#question").wait_for()
    for _ in range(MOST_QUESTIONS):
        if (
            page.locator("input[name=ask]").count() == 0
            or page.locator(".state.consistent, .state.refused").count()
        ):
            break
        with page.expect_navigation():
            _answer(page, body["observations"], stems)
    page.get_by_role("button", name="Keep this verdict").click()
    page.get_by_role("heading", name="Verdict", exact=True).wait_for()


def _answer(page: Page, seen: dict[str, Any], stems: int) -> None:
    name = page.locator("input[name=ask]").first.input_value()
    found = seen.get(name, {"look": "not_looked"})
    if stems > 1 and page.locator("#stems_seen").count():
        page.locator("#stems_seen").fill(str(stems))
    if found["look"] == "seen" and "value" in found:
        page.locator("#value").fill(str(found["value"]))
        page.get_by_role("button", name="Note this measure").click()
    elif found["look"] == "seen":
        page.locator(f"button[name=state][value={found['states'][0]}]").click()
    else:
        page.locator(f"button[name=look][value={found['look']}]").click()


def plan_kitchen(page: Page, start: str) -> None:
    """Let the evening be planned at once."""
    page.goto(f"{start}/kitchen")
    page.get_by_label("How long to look").select_option("0")
    page.get_by_role("button", name="Plan the evening").click()
    page.wait_for_url(re.compile(r"/kitchen$"))


def make_a_home(page: Page, start: str) -> None:
    """Fill in the first page of all."""
    page.goto(start)
    page.get_by_role("heading", name="Make your home").wait_for()
    page.get_by_label("What your household calls itself").fill("The Invented Family")
    page.get_by_label("Latitude, degrees").fill(str(HOME_LATITUDE_DEG))
    page.get_by_label("Longitude, degrees").fill(str(HOME_LONGITUDE_DEG))
    page.get_by_label("Height above the sea").fill(f"{HOME_ELEVATION_M:g}")
    for number, (name, carries) in enumerate({"Mara": "8", "Jonas": "9"}.items()):
        page.get_by_label("Name", exact=True).nth(number).fill(name)
        page.get_by_label("Carries home").nth(number).fill(carries)
    page.get_by_label("Dehydrator trays").fill("4")
    page.get_by_role("button", name="Make the home").click()
    page.get_by_role("heading", name="Where to begin").wait_for()


def take_in(page: Page, start: str, kind: str, *files: Path) -> str:
    """Load files of one kind in the browser; what was told of them."""
    page.goto(f"{start}/ground")
    page.get_by_label("Kind of file").select_option(kind)
    page.get_by_label("File", exact=True).set_input_files(list(files))
    page.get_by_role("button", name="Take it in").click()
    page.get_by_role("heading", name="Taken in", exact=True).wait_for(timeout=PATIENCE_MS)
    return page.locator("main").inner_text()


def put_up(page: Page, start: str) -> str:
    """Plan the evening, tick off a step, write the first jars down; the code of one."""
    plan_kitchen(page, start)
    page.get_by_role("button", name="Tick off").first.click()
    page.get_by_role("button", name="✓ done").wait_for()
    jars = page.locator("section.card").filter(has_text="×").first
    jars.get_by_text("It is done: write it down").click()
    jars.get_by_role("button", name="Write it down").click()
    code = page.locator(".told a").first.inner_text()
    page.reload()
    assert page.locator(".told a").first.inner_text() == code
    return code


def test_from_an_empty_folder_to_a_jar_label(
    page: Page, tmp_path: Path, invented_files: InventedFiles
) -> None:
    """Nothing but the browser is used: the home is made, the valley's files are loaded, a find is put up."""
    with served(tmp_path / "home") as start:
        make_a_home(page, start)
        for kind, files in invented_files.items():
            told = take_in(page, start, kind, *files)
            assert told.count("records are new or changed") == len(files), told
        assert "taken in before" in take_in(page, start, "reports", *invented_files["reports"])
        page.goto(start)
        page.get_by_role("heading", name="What to go for").wait_for()
        assert page.locator(".cards .card").count() > 3
        page.goto(f"{start}/map")
        page.locator("#map[data-ready=yes]").wait_for()
        write_down_find(page, start, "lion's mane", 800, place="Fiddler's Hollow", spot="wayside beech")
        vet(page, "hericium_group", "hericium_group", 1)
        assert page.locator(".state").first.inner_text() == "consistent", page.locator("main").inner_text()
        code = put_up(page, start)
        label = page.get_by_role("link", name="Labels (PDF)").get_attribute("href")
        text = pdf_text(page.request.get(start + str(label)).body())
        assert code in text
        assert "Hericium" in text
        page.goto(f"{start}/pantry")
        page.get_by_role("link", name=code).click()
        assert "wayside beech" in page.locator("main").inner_text().lower()


def test_settings_are_changed_in_the_browser(page: Page, empty_home: Home, start: str) -> None:
    page.goto(start)
    page.get_by_role("link", name="Settings").click()
    page.get_by_label("Name", exact=True).nth(2).fill("Dora")
    page.get_by_label("Carries home").nth(2).fill("4")
    page.get_by_label("US (pounds").check()
    page.get_by_label("Freezer bags").fill("55")
    page.get_by_role("button", name="Store the settings").click()
    page.wait_for_url(re.compile(r"/settings$"))
    assert page.get_by_label("Freezer bags").input_value() == "55"
    page.goto(f"{start}/walk")
    page.get_by_label("Dora, carries 8.8 lb").wait_for()
    assert load_home(empty_home.folder).settings.kitchen.freezer_bags == 55


def pdf_text(data: bytes) -> str:
    document = pypdfium2.PdfDocument(BytesIO(data))
    try:
        pages = [one.get_textpage().get_text_range() for one in document]
    finally:
        document.close()
    return "\n".join(pages)


def test_a_look_alike_among_honeys_is_refused_and_never_reaches_a_jar(page: Page, start: str) -> None:
    write_down_ground(page, start)
    write_down_find(page, start, "Armillaria mellea group", 180)
    vet(page, "galerina_marginata", "armillaria_mellea_group", 4)
    assert page.locator(".state").first.inner_text() == "refused"
    plan_kitchen(page, start)
    left = page.locator("#not-kept").locator("..").inner_text()
    assert "set aside" in left
    assert page.get_by_role("heading", name="Into the jars").locator("..").locator(".card").count() == 0
    page.goto(f"{start}/pantry")
    assert "No jar yet" in page.locator("main").inner_text()


def test_someone_feels_ill_is_one_tap_away_and_calls_first(page: Page, address: str) -> None:
    page.goto(f"{address}/walk")
    page.get_by_role("link", name="Someone feels ill").click()
    first = page.locator("main p").first.inner_text()
    assert first == "Call 1-800-222-1222 now, before reading on: this page is no diagnosis."
    assert page.get_by_role("link", name="Call 1-800-222-1222").get_attribute("href") == "tel:1-800-222-1222"
    page.get_by_label("Who").fill("Mara")
    page.get_by_label("First symptom began").fill("2026-10-03T21:30")
    page.get_by_label("What was eaten").first.fill("honeys")
    page.get_by_label("When", exact=True).first.fill("2026-10-03T12:00")
    page.get_by_role("button", name="Show what the record knows").click()
    told = page.locator("main").inner_text()
    assert told.index("Call 1-800-222-1222 now") < told.index("Mara")
    assert "must be treated as amatoxin poisoning" in told
    sheet = page.get_by_role("link", name="The page to print").get_attribute("href")
    assert "1-800-222-1222" in pdf_text(page.request.get(address + str(sheet)).body())
    page.reload()
    assert "must be treated as amatoxin poisoning" in page.locator("main").inner_text()


def test_a_walk_is_watched_stopped_and_kept(browser: Browser, address: str) -> None:
    from playwright.sync_api import TimeoutError as Timeout

    page = browser.new_page(viewport={"width": 360, "height": 800})
    page.goto(f"{address}/walk")
    page.get_by_label("Wood", exact=True).select_option(label="Cold Spring Ridge")
    # on the Saturday itself the kitchen is full, and the page says so
    page.get_by_label("Day", exact=True).fill("2026-10-10")
    page.get_by_label("How long to look").select_option("5")
    page.get_by_role("button", name="Look for the best walk").click()
    page.wait_for_url(re.compile(r"/work/|/walk/plan/"), timeout=PATIENCE_MS)
    with suppress(Timeout):  # where the search ended by itself before anybody could say so
        page.get_by_role("button", name="Good enough").click(timeout=10_000)
    page.wait_for_url(re.compile(r"/walk/plan/"), timeout=PATIENCE_MS)
    assert "Turn-back time" in page.locator("main").inner_text()
    gpx = page.get_by_role("link", name="GPX").get_attribute("href")
    assert b"<gpx" in page.request.get(address + str(gpx)).body()
    href = page.get_by_role("link", name="Page for the pack").get_attribute("href")
    pack = page.request.get(address + str(href))
    assert pack.headers["content-disposition"].startswith("attachment")
    assert b"Cold Spring Ridge" in pack.body()
    page.close()


def test_a_walk_for_the_children_sees_what_has_to_be_seen(
    browser: Browser, address: str, lived_home: Home
) -> None:
    page = browser.new_page(viewport={"width": 390, "height": 844})
    wanted = next(one.spot.name for one in known_spots(lived_home) if one.place == PLACE)
    page.goto(f"{address}/walk")
    page.get_by_label("Wood", exact=True).select_option(label=PLACE)
    page.set_default_timeout(PATIENCE_MS)
    page.get_by_label("Hours").fill("2")
    page.get_by_label("Something for the children").check()
    page.get_by_text("Spots to see, spots and trails to stay away from").click()
    page.get_by_label("Spot 1").fill(wanted)
    page.get_by_label("Spot or trail 1").fill("a trail that nobody made")
    page.get_by_label("How long to look").select_option("5")
    page.get_by_role("button", name="Look for the best walk").click()
    page.get_by_role("alert").wait_for(timeout=PATIENCE_MS)
    assert "no spot or trail at" in page.get_by_role("alert").inner_text()
    page.get_by_role("link", name="Back to what you asked").click()
    assert page.get_by_label("Spot 1").input_value() == wanted
    assert page.get_by_label("Something for the children").is_checked()
    page.get_by_label("Spot or trail 1").fill("")
    page.get_by_role("button", name="Look for the best walk").click()
    page.wait_for_url(re.compile(r"/walk/plan/"), timeout=PATIENCE_MS)
    told = page.locator("main").inner_text()
    assert wanted in page.get_by_role("region", name="Turns").inner_text()
    assert "the one above is for: most surely something" in told
    page.close()


def test_pages_work_without_script(browser: Browser, empty_home: Home) -> None:
    context = browser.new_context(java_script_enabled=False, viewport={"width": 360, "height": 800})
    page = context.new_page()
    with served(empty_home.folder) as start:
        write_down_ground(page, start)
        write_down_find(page, start, "Grifola frondosa", 500)
        page.goto(f"{start}/map")
        assert page.locator("noscript img, img[src='/map.svg']").count() == 1
    context.close()
