"""Telephones of the household: a code shown at the computer lets them in."""

from __future__ import annotations

import io

from flask import Blueprint, abort, g, redirect, render_template, request
from markupsafe import Markup
from werkzeug.wrappers import Response as AnyResponse

from underoak.web.form_token import once
from underoak.web.guards import from_this_computer
from underoak.web.pairing import Pairing
from underoak.web.site import site

page = Blueprint("phones", __name__)


@page.get("/phones")
def show() -> str:
    """The pairing code and its picture; only on this computer."""
    lan = site().lan
    address, picture = "", Markup("")
    if lan is not None and lan.open() and from_this_computer():
        address = f"http://{lan.hosts[0]}:{site().port}/pair?code={lan.code}"
        picture = code_picture(address)
    return render_template(
        "phones.html", lan=lan, address=address, picture=picture, at_computer=from_this_computer()
    )


def code_picture(address: str) -> Markup:
    """A QR code as a picture inside the page."""
    import segno

    out = io.BytesIO()
    segno.make(address, error="m").save(
        out, kind="svg", scale=6, border=4, xmldecl=False, svgclass="qr", lineclass=None,
        title="Pairing code for a telephone", omitsize=True,
    )  # fmt: skip
    return Markup(out.getvalue().decode("utf-8"))  # noqa: S704 - made by the library from our own address


@page.post("/phones/new-code")
@once()
def new_code() -> str:
    """A fresh code."""
    _computer_only().new_code()
    return "/phones"


@page.post("/phones/forget")
@once()
def forget() -> str:
    """Send all telephones away."""
    _computer_only().forget_all()
    return "/phones"


def _computer_only() -> Pairing:
    lan = site().lan
    if lan is None or not from_this_computer():
        abort(403)
    return lan


@page.get("/pair")
def ask() -> str:
    """The form in which a telephone gives the code."""
    return render_template("pair.html", code=request.args.get("code", "")[:40], wrong=False)


@page.post("/pair")
def pair() -> AnyResponse | tuple[str, int]:
    """Let a telephone in, or say that the code was wrong; too many wrong ones are refused."""
    lan = site().lan
    if lan is None:
        abort(403)
    if lan.pair(request.form.get("code", "")[:40], request.remote_addr or "", g.session):
        return redirect("/", 303)
    return render_template("pair.html", code="", wrong=True), 403
