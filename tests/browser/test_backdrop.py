"""Pictures below the map: from a file of the home, from one server, and from nowhere by default."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.browser.lived_home import served
from tests.unit.tile_files import picture, write_tiles
from underoak.desk.make_home import make_home
from underoak.model.household import Backdrop, Person, Settings, Whereabouts
from underoak.settings import Home

if TYPE_CHECKING:
    from playwright.sync_api import Page

pytestmark = pytest.mark.browser
SHOWN = """() => [...document.querySelectorAll('.leaflet-tile-pane img')].filter(i => i.complete
  && i.naturalWidth === 256).map(i => new URL(i.src).pathname)"""


@pytest.fixture
def tile_server() -> Iterator[tuple[str, list[str]]]:
    """A server of tiles on another port, and what it was asked for."""
    asked: list[str] = []

    class Tiles(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            asked.append(self.path)
            self.send_response(200)
            self.send_header("Content-Type", "image/png")
            self.end_headers()
            self.wfile.write(picture("green"))

        def log_message(self, *_: object) -> None:
            """Nothing on the screen."""

    server = ThreadingHTTPServer(("127.0.0.1", 0), Tiles)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield f"http://127.0.0.1:{server.server_port}", asked
    server.shutdown()
    server.server_close()


def home_with(folder: Path, **backdrop: str) -> Home:
    where = Whereabouts(latitude_deg=41.62, longitude_deg=-74.58)
    settings = Settings(where=where, people=(Person(name="Mara"),), backdrop=Backdrop(**backdrop))
    return make_home(folder, settings)


def test_tiles_of_a_file_lie_below_the_map(page: Page, tmp_path: Path) -> None:
    home = home_with(tmp_path / "home", tile_file="valley.mbtiles")
    write_tiles(
        home.maps / "valley.mbtiles",
        {(8, column, row): picture("tan") for column in range(70, 80) for row in range(90, 100)},
        name="Invented valley",
        attribution="drawn by <b>nobody</b>",
    )
    with served(home.folder) as start:
        page.goto(f"{start}/map")
        page.locator("#map[data-ready=yes]").wait_for()
        page.locator(".leaflet-tile-loaded").first.wait_for()
        assert all(path.startswith("/map/tiles/8/") for path in page.evaluate(SHOWN))
        assert page.locator(".leaflet-control-attribution").inner_text() == "drawn by <b>nobody</b>"


def test_tiles_of_a_server_lie_below_the_map_only_when_it_is_set(
    page: Page, tmp_path: Path, tile_server: tuple[str, list[str]]
) -> None:
    address, asked = tile_server
    with served(home_with(tmp_path / "plain").folder) as start:
        page.goto(f"{start}/map")
        page.locator("#map[data-ready=yes]").wait_for()
        assert page.locator(".leaflet-tile-pane img").count() == 0
    with served(home_with(tmp_path / "home", tile_address=address + "/{z}/{x}/{y}.png").folder) as start:
        assert asked == []
        page.goto(f"{start}/map")
        page.locator(".leaflet-tile-loaded").first.wait_for()
        assert asked
