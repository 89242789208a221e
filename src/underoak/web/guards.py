"""Who may ask: this computer, and paired telephones of the household's network. Nobody else."""

from __future__ import annotations

import hashlib
import hmac
import ipaddress
import secrets
from urllib.parse import urlsplit

from flask import Flask, Response, abort, g, redirect, request
from werkzeug.wrappers import Response as AnyResponse

from underoak.web.form_token import check_token
from underoak.web.site import Site

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
#: A page that shows pictures of one other host says so in ``g.pictures_from``; nothing else opens the policy.
_OWN = "img-src 'self'"
HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=()",
}
#: What a phone that is not paired may see.
OPEN_TO_STRANGERS = frozenset({"phones.pair", "phones.ask", "static"})


def guard(app: Flask, site: Site) -> None:
    """Put every guard in front of the pages of ``app``."""

    @app.before_request
    def check() -> AnyResponse | None:
        if request.host not in _hosts(site):
            abort(403)
        g.session = _session(site)
        if not _may_enter(site):
            return _sent_away(site)
        if request.method not in ("GET", "HEAD", "OPTIONS"):
            _check_origin()
            check_token()
        return None

    @app.after_request
    def finish(response: Response) -> Response:
        response.headers.update(HEADERS)
        if pictures_from := getattr(g, "pictures_from", ""):
            response.headers["Content-Security-Policy"] = POLICY.replace(_OWN, f"{_OWN} {pictures_from}")
        response.headers["Cache-Control"] = "max-age=3600" if request.endpoint == "static" else "no-store"
        if request.endpoint != "static" and getattr(g, "session", None):
            _give_session(site, response)
        return response


def _hosts(site: Site) -> set[str]:
    names = {"127.0.0.1", "localhost", *(site.lan.hosts if site.lan else ())}
    return {f"{name}:{site.port}" for name in names}


def _cookie(site: Site) -> str:
    return f"underoak-{site.port}"


def _session(site: Site) -> str:
    """The session of the request's signed cookie, or a new one."""
    session, _, signature = request.cookies.get(_cookie(site), "").partition(".")
    if session and hmac.compare_digest(signature.encode(), _signed(site, session).encode()):
        return session
    return secrets.token_hex(16)


def _signed(site: Site, session: str) -> str:
    return hmac.new(site.key, f"session\n{session}".encode(), hashlib.sha256).hexdigest()[:40]


def _give_session(site: Site, response: Response) -> None:
    value = f"{g.session}.{_signed(site, g.session)}"
    if request.cookies.get(_cookie(site)) != value:
        response.set_cookie(_cookie(site), value, httponly=True, samesite="Strict", path="/")


def from_this_computer() -> bool:
    """Whether the request comes over the loopback of this computer."""
    try:
        return ipaddress.ip_address(request.remote_addr or "").is_loopback
    except ValueError:
        return False


def _may_enter(site: Site) -> bool:
    if from_this_computer():
        return True
    if site.lan is None:
        return False
    return site.lan.knows(g.session) or request.endpoint in OPEN_TO_STRANGERS


def _sent_away(site: Site) -> AnyResponse:
    """A stranger's phone that asks for the first page is led to the pairing; everything else is refused."""
    if site.lan is None or request.method != "GET" or request.endpoint != "week.front":
        abort(403)
    return redirect("/pair", 303)


def _check_origin() -> None:
    """A form must come from a page of this server, as far as the browser says where it comes from."""
    origin = request.headers.get("Origin")
    if origin is not None and urlsplit(origin).netloc != request.host:
        abort(403)
    if request.headers.get("Sec-Fetch-Site", "same-origin") not in ("same-origin", "none"):
        abort(403)
