"""A client that sends forms the way a browser does: with the token of the page it has just seen."""

from __future__ import annotations

import re
from datetime import date, datetime, time
from pathlib import Path
from typing import Any

from flask import Flask
from flask.testing import FlaskClient
from werkzeug.test import Client, TestResponse

from underoak.web.doorway import Doorway

PORT = 8137
TODAY = date(2026, 10, 3)
NOON = datetime.combine(TODAY, time(12))
HOST = {"Host": f"localhost:{PORT}"}
_TOKEN = re.compile(r'name="form_token" value="([^"]+)"')


class Browser:
    """Follows redirects of forms, and fails on a page that is no answer."""

    def __init__(self, app: Flask, *, host: str = f"localhost:{PORT}", address: str = "127.0.0.1") -> None:
        self.client: FlaskClient = app.test_client()
        self.headers = {"Host": host}
        self.address = {"REMOTE_ADDR": address}

    def get(self, path: str, **more: Any) -> TestResponse:
        """The answer to a plain request."""
        return self.client.get(path, headers=self.headers, environ_base=self.address, **more)

    def text(self, path: str) -> str:
        """The text of a page that has to be there."""
        answer = self.get(path)
        assert answer.status_code == 200, (path, answer.status_code, answer.get_data(as_text=True)[-600:])
        return answer.get_data(as_text=True)

    def token(self, path: str) -> str:
        """A form token of a page."""
        found = _TOKEN.search(self.get(path).get_data(as_text=True))
        assert found is not None, path
        return found[1]

    def send(self, path: str, data: dict[str, Any], *, seen_on: str, **more: Any) -> TestResponse:
        """Send a form that was seen on a page; the answer itself, not where it leads."""
        return self.post(path, {"form_token": self.token(seen_on), **data}, **more)

    def post(self, path: str, data: dict[str, Any], **more: Any) -> TestResponse:
        """Send data as they are."""
        return self.client.post(path, data=data, headers=self.headers, environ_base=self.address, **more)


class Outside:
    """The server of a folder, with the client that apps have."""

    def __init__(self, folder: Path) -> None:
        self.door = Doorway(folder, today=lambda: TODAY, now=lambda: NOON, port=PORT)

    def test_client(self) -> Client:
        """A client that keeps its cookies."""
        return Client(self.door)
