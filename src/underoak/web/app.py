"""The web app: one page so far, bound to this computer and strict about who asks."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

from flask import Flask, Response, abort, render_template, request

from underoak.errors import UnderoakError
from underoak.settings import Home
from underoak.sheets.wording import INCIDENT_CAUTIONS

_POLICY = (
    "default-src 'none'; style-src 'self'; img-src 'self'; script-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
_HEADERS = {
    "Content-Security-Policy": _POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cache-Control": "no-store",
}
_STATUS = {2: 400, 3: 422, 4: 200}


def create_app(home: Home, *, today: Callable[[], date], port: int) -> Flask:
    """The app over one home. ``today`` tells the day; requests must name this computer and ``port``."""
    app = Flask(__name__)
    hosts = {f"127.0.0.1:{port}", f"localhost:{port}"}

    @app.before_request
    def only_this_computer() -> None:
        if request.host not in hosts:
            abort(403)

    @app.after_request
    def strict_headers(response: Response) -> Response:
        response.headers.update(_HEADERS)
        return response

    @app.errorhandler(UnderoakError)
    def in_words(error: UnderoakError) -> tuple[str, int]:
        return render_template("sorry.html", problem=error.problem, **frame(home, today())), _STATUS.get(
            error.exit_code, 500
        )

    @app.get("/")
    def front() -> str:
        from underoak.desk.front_page import front_page

        return render_template("front.html", page=front_page(home, today()), **frame(home, today()))

    @app.get("/map.svg")
    def picture() -> Response:
        from underoak.desk.show_map import map_picture

        return Response(map_picture(home), mimetype="image/svg+xml")

    return app


def frame(home: Home, day: date) -> dict[str, object]:
    """What every page shows around its content."""
    return {
        "household": home.settings.name,
        "today": f"{day:%A}, {day.day} {day:%B} {day.year}",
        "navigation": (("#week", "This week"), ("#map", "Map"), ("#jars", "Jars")),
        "day": day,
        "poison_help": home.settings.poison_help,
        "incident": INCIDENT_CAUTIONS,
    }
