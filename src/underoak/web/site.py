"""What all pages of one server share: the home, the clock, jobs, remembered answers, paired telephones."""

from __future__ import annotations

import secrets
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import TYPE_CHECKING, cast

from flask import current_app

from underoak.web.jobs import Jobs
from underoak.web.pairing import Pairing
from underoak.web.remembered import Remembered

if TYPE_CHECKING:
    from underoak.settings import Home

KEY_NAME = "serve.key"


@dataclass
class Site:
    """One server. ``lan`` is None when only this computer is served."""

    home: Home
    today: Callable[[], date]
    now: Callable[[], datetime]
    port: int
    key: bytes
    remembered: Remembered
    jobs: Jobs = field(default_factory=Jobs)
    lan: Pairing | None = None

    def take_home(self, home: Home) -> None:
        """Go on with other settings; answers that were worked out with the old ones are forgotten."""
        self.home, self.remembered = home, Remembered(home.ledger)


def site() -> Site:
    """The server that answers the current request."""
    return cast("Site", current_app.extensions["underoak"])


def server_key(home: Home) -> bytes:
    """The secret that signs this home's forms and sessions, made on first use.

    A home that cannot be written to gets one that ends with the server.
    """
    path = home.folder / KEY_NAME
    try:
        path.touch(mode=0o600, exist_ok=False)
        path.write_text(secrets.token_hex(32), "ascii")
    except FileExistsError:
        pass
    except OSError:
        return secrets.token_bytes(32)
    key = path.read_text("ascii").strip().encode()
    return key if len(key) >= 32 else secrets.token_bytes(32)
