"""What the disk does to the ledger is told on the page in the words of the command line."""

from __future__ import annotations

import errno
import os
import sqlite3
from contextlib import closing
from datetime import date
from io import BytesIO

import pytest
from PIL import Image

from tests.shared_home import invented_home
from tests.unit.web_client import PORT, Browser
from underoak.settings import Home
from underoak.web.app import create_app


@pytest.fixture(name="full")
def _full(tmp_path: object) -> Home:
    return invented_home(tmp_path / "full")  # type: ignore[operator]


def damaged(home: Home) -> None:
    """Overwrite the pages that hold the visits."""
    with closing(sqlite3.connect(home.ledger_path)) as connection:
        root = connection.execute("SELECT rootpage FROM sqlite_master WHERE name = 'visit'").fetchone()[0]
        page = connection.execute("PRAGMA page_size").fetchone()[0]
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    data = bytearray(home.ledger_path.read_bytes())
    data[(root - 1) * page : root * page] = b"\xff" * page
    home.ledger_path.write_bytes(bytes(data))


@pytest.mark.parametrize("path", ["/finds", "/season", "/"])
def test_a_damaged_ledger_leads_to_the_doctor(full: Home, path: str) -> None:
    damaged(full)
    answer = Browser(create_app(full, today=lambda: date(2026, 10, 20), port=PORT)).get(path)
    text = answer.get_data(as_text=True)
    assert answer.status_code == 503
    assert "the ledger is damaged" in text.replace("The ledger", "the ledger")
    assert "underoak doctor" in text


def test_a_photo_that_the_disk_does_not_take_is_told_and_not_left_half(
    full: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full_disk(_: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    browser = Browser(create_app(full, today=lambda: date(2026, 10, 20), port=PORT))
    token = browser.token("/finds")
    out = BytesIO()
    Image.new("RGB", (20, 10)).save(out, "JPEG")
    monkeypatch.setattr(os, "fsync", full_disk)
    sent = {"form_token": token, "photo": (BytesIO(out.getvalue()), "a.jpg")}
    answer = browser.post("/finds/photos", sent, content_type="multipart/form-data")
    assert "No space left on device" in answer.get_data(as_text=True)
    assert [path for path in full.photos.rglob("*") if path.is_file()] == []
