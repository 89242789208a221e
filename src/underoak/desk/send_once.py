"""A form that is sent twice does its work once."""

from __future__ import annotations

from datetime import date, timedelta

from underoak.ledger.database import open_ledger, writing
from underoak.ledger.forms import claim_form, finish_form, forget_forms, release_form
from underoak.settings import Home

#: A form older than this is no longer taken, so its mark need not be kept.
FORM_DAYS = 3


def take_form(home: Home, token: str, today: date) -> str | None:
    """None when the form is new; else where it led, empty while the first sending is still at work."""
    connection = open_ledger(home.ledger)
    try:
        with writing(connection):
            forget_forms(connection, today - timedelta(days=FORM_DAYS + 1))
            return claim_form(connection, token, today)
    finally:
        connection.close()


def close_form(home: Home, token: str, leads_to: str | None) -> None:
    """Note where the form led; None lets it be sent again."""
    connection = open_ledger(home.ledger)
    try:
        with writing(connection):
            if leads_to is None:
                release_form(connection, token)
            else:
                finish_form(connection, token, leads_to)
    finally:
        connection.close()
