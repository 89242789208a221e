"""The web app: guards in front, one file of thin routes a page, every error in words."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Sequence
from datetime import date, datetime
from importlib import import_module

from flask import Flask, render_template
from werkzeug.exceptions import HTTPException

from underoak.errors import BadData, UnderoakError
from underoak.settings import Home
from underoak.web.guards import guard
from underoak.web.pairing import Pairing
from underoak.web.remembered import Remembered
from underoak.web.site import Site, server_key
from underoak.web.words import dress

#: Pages in the order of the day, each a module with a blueprint called ``page``.
PAGES = (
    "week",
    "outlook",
    "map",
    "walk",
    "finds",
    "photos",
    "vetting",
    "kitchen",
    "pantry",
    "season",
    "ill",
    "book",
    "ground",
    "take_in",
    "jobs_page",
    "settings",
    "phones",
)
#: The largest thing a browser may send: a handful of photos.
MOST_BYTES, MOST_FIELD_BYTES, MOST_FIELDS = 60_000_000, 500_000, 2000
_STATUS = {2: 400, 3: 422, 4: 200}
_SORRY = {
    403: "This was refused: it did not come from a page of this server, or the page was too old.",
    404: "There is no such page.",
    405: "This page cannot be asked for like that.",
    409: "This form was sent before and is still being worked on. Look in a moment whether it is there.",
    413: "That is too large.",
    415: "That kind of file is not taken here.",
}


def create_app(
    home: Home,
    *,
    today: Callable[[], date],
    port: int,
    now: Callable[[], datetime] | None = None,
    lan: Pairing | None = None,
) -> Flask:
    """The app over one home.

    Parameters
    ----------
    today, now : tell the day and the moment (noon of the day by default)
    port : the port it is served on; requests must name this computer and it
    lan : who else may come in from the household's network; None is nobody
    """
    moment = now or (lambda: datetime.combine(today(), datetime.min.time()).replace(hour=12))
    site = Site(home, today, moment, port, server_key(home), Remembered(home.ledger), lan=lan)
    return put_together(site, PAGES)


def put_together(site: Site, pages: Sequence[str]) -> Flask:
    """An app of some pages, with every guard in front of them."""
    app = Flask(__name__)
    app.config.update(
        MAX_CONTENT_LENGTH=MOST_BYTES,
        MAX_FORM_MEMORY_SIZE=MOST_FIELD_BYTES,
        MAX_FORM_PARTS=MOST_FIELDS,
    )
    app.extensions["underoak"] = site
    guard(app, site)
    dress(app, site)
    for name in pages:
        app.register_blueprint(import_module(f"underoak.web.{name}").page)
    _tell_errors(app)
    return app


def _tell_errors(app: Flask) -> None:
    @app.errorhandler(UnderoakError)
    def in_words(error: UnderoakError) -> tuple[str, int]:
        problems = error.problems if isinstance(error, BadData) else (error.problem,)
        return render_template("sorry.html", problems=problems), _STATUS.get(error.exit_code, 500)

    @app.errorhandler(sqlite3.Error)
    def ledger_in_words(error: sqlite3.Error) -> tuple[str, int]:
        """A full disk, a busy or a damaged ledger is told as on the command line; anything else is a bug."""
        from underoak.ledger.database import in_words

        if not (told := in_words(error)):
            raise error
        return render_template("sorry.html", problems=(told.problem,)), 503

    @app.errorhandler(HTTPException)
    def refused(error: HTTPException) -> tuple[str, int]:
        code = error.code or 500
        words = _SORRY.get(code, "That did not work.")
        return render_template("refused.html", words=words), code
