"""Every form carries a signed token of its session: nobody else can send it, and nobody twice."""

from __future__ import annotations

import functools
import hashlib
import hmac
import secrets
import time
from collections.abc import Callable, Mapping, Sequence
from datetime import timedelta
from typing import Any

from flask import Response, abort, g, make_response, redirect, request
from werkzeug.wrappers import Response as AnyResponse

from underoak.desk.send_once import FORM_DAYS, close_form, take_form
from underoak.errors import BadData, UnderoakError
from underoak.model.problem import Problem
from underoak.web.site import site

FIELD = "form_token"
#: How long a second sending waits for the first to end.
_WAIT_S = 20.0


def new_token() -> str:
    """A token for one form of the current session: moment, random part, signature."""
    body = f"{int(site().now().timestamp()):x}.{secrets.token_hex(12)}"
    return f"{body}.{_signature(body)}"


def _signature(body: str) -> str:
    told = f"form\n{g.session}\n{body}".encode()
    return hmac.new(site().key, told, hashlib.sha256).hexdigest()[:40]


def is_ours(token: str) -> bool:
    """Whether the token was made here, for this session, and not too long ago."""
    body, _, signature = token.rpartition(".")
    if not hmac.compare_digest(signature.encode(), _signature(body).encode()):
        return False
    age_s = site().now().timestamp() - int(body.partition(".")[0], 16)
    return age_s < timedelta(days=FORM_DAYS).total_seconds()


def check_token() -> None:
    """Refuse the current request when its form is not one of ours."""
    if not is_ours(request.form.get(FIELD, "")):
        abort(403)


Again = Callable[[Mapping[str, Any], Sequence[Problem]], str]


def once(
    again: Again | None = None,
) -> Callable[[Callable[..., str]], Callable[..., AnyResponse]]:
    """Make a view that hands back an address: its form works once, and the browser goes on to that address.

    A form sent again leads where the first sending led. What a person typed is shown again with every
    problem by ``again``; without it the problem gets a page of its own.
    """

    def decorate(view: Callable[..., str]) -> Callable[..., AnyResponse]:
        @functools.wraps(view)
        def guarded(**parts: Any) -> AnyResponse:
            token = request.form.get(FIELD, "")
            before = _before(token)
            if before is not None:
                return redirect(before, 303)
            try:
                leads_to = view(**parts)
            except UnderoakError as error:
                close_form(site().home, token, None)
                if again is None:
                    raise
                problems = error.problems if isinstance(error, BadData) else (error.problem,)
                return _shown(again(request.form, problems))
            except BaseException:
                close_form(site().home, token, None)
                raise
            close_form(site().home, token, leads_to)
            return redirect(leads_to, 303)

        return guarded

    return decorate


def _shown(page: str) -> Response:
    answer = make_response(page)
    answer.status_code = 422
    return answer


def _before(token: str) -> str | None:
    """Where this form led before, None when it is new; waits while its first sending is at work."""
    ends = time.monotonic() + _WAIT_S
    while (found := take_form(site().home, token, site().today())) == "":
        if time.monotonic() > ends:
            abort(409)
        time.sleep(0.05)
    return found
