"""One server for a folder: the form that makes a home while there is none, then the home's pages."""

from __future__ import annotations

import secrets
import threading
from collections.abc import Callable, Iterable
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from flask import Flask

from underoak.settings import SETTINGS_NAME, load_home
from underoak.web.app import create_app, put_together
from underoak.web.begin import nobody_home
from underoak.web.remembered import Remembered
from underoak.web.site import Site

if TYPE_CHECKING:
    from underoak.web.pairing import Pairing


class Doorway:
    """What the server asks for every answer.

    Parameters
    ----------
    folder : the home's folder, which need not exist yet
    today, now, port, lan : as in `create_app`; only this computer may make a home

    Raises BadData at once when there is a home whose settings cannot be read.
    """

    def __init__(
        self,
        folder: Path,
        *,
        today: Callable[[], date],
        now: Callable[[], datetime],
        port: int,
        lan: Pairing | None = None,
    ) -> None:
        self.folder, self.today, self.now, self.port, self.lan = folder, today, now, port, lan
        self._lock = threading.Lock()
        self._home = self._open() if self.is_home() else None
        self._begin = None if self._home else self._outside()

    def is_home(self) -> bool:
        """Whether a home stands in the folder."""
        return (self.folder / SETTINGS_NAME).is_file()

    def __call__(self, environ: dict[str, Any], start_response: Any) -> Iterable[bytes]:
        """Answer one request. The form that makes a home is taken to the end, also when it is sent twice."""
        makes = environ.get("REQUEST_METHOD") == "POST" and environ.get("PATH_INFO") == "/"
        if self._begin is not None and (makes or not self.is_home()):
            return self._begin(environ, start_response)
        with self._lock:
            self._home = self._home or self._open()
        return self._home(environ, start_response)

    def _open(self) -> Flask:
        home = load_home(self.folder)
        return create_app(home, today=self.today, now=self.now, port=self.port, lan=self.lan)

    def _outside(self) -> Flask:
        """The form, and the page for somebody who feels ill."""
        home = nobody_home(self.folder)
        key = secrets.token_bytes(32)
        site = Site(home, self.today, self.now, self.port, key, Remembered(home.ledger))
        app = put_together(site, ("begin", "ill"))
        app.extensions["underoak making"] = threading.Lock()
        app.context_processor(lambda: {"navigation": (), "more": ()})
        return app
