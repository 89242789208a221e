"""A real server and a real browser for the tests of this folder."""

from __future__ import annotations

import shutil
import threading
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from waitress.server import create_server

from underoak.desk.load_data import read_files, store_files
from underoak.desk.load_kinds import Options
from underoak.desk.make_home import make_home
from underoak.model.household import Person, Settings, Whereabouts
from underoak.settings import Home
from underoak.web.app import create_app
from underoak.world.files import write_world

if TYPE_CHECKING:
    from playwright.sync_api import Browser

TODAY = date(2026, 10, 3)
#: Keeps Chromium from looking for hosts that a test never needs.
QUIET = ("--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-sync",
         "--disable-background-networking", "--disable-component-update")  # fmt: skip


@pytest.fixture(scope="session")
def invented_home(tmp_path_factory: pytest.TempPathFactory) -> Home:
    """A home with everything of the invented valley loaded."""
    folder = tmp_path_factory.mktemp("valley")
    settings = Settings(
        name="The Invented Family",
        where=Whereabouts(latitude_deg=41.62, longitude_deg=-74.58, elevation_m=210.0),
        people=(Person(name="Mara"), Person(name="Jonas")),
    )
    home = make_home(folder / "home", settings)
    for file in write_world(folder / "files", seed=1, today=TODAY):
        read = read_files(home, file.kind, [file.path], options=Options(), today=TODAY)
        store_files(home, file.kind, read, accept_good=False, today=TODAY)
    return home


@pytest.fixture(scope="session")
def address(invented_home: Home) -> Iterator[str]:
    """Where the pages of the invented home are served."""
    server = create_server(lambda *_: [], host="127.0.0.1", port=0)
    port = int(server.effective_port)
    server.application = create_app(invented_home, today=lambda: TODAY, port=port)
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    yield f"http://127.0.0.1:{port}/"
    server.close()
    thread.join(timeout=5)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Chromium, or a skip that says what is missing."""
    chromium: str | Path | None = shutil.which("chromium") or shutil.which("chromium-browser")
    if chromium is None:
        pytest.skip("no Chromium is installed here, so the pages were not looked at in a browser")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=chromium, args=list(QUIET))
        yield opened
        opened.close()
