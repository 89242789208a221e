"""Keep a half-filled form in the home, so that a reload or another telephone goes on from there."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from underoak.ledger.database import open_ledger, writing
from underoak.ledger.forms import draft, drop_draft, store_draft
from underoak.settings import Home


def read_draft(home: Home, kind: str, draft_id: str) -> Any:
    """The draft's document, None where there is none."""
    connection = open_ledger(home.ledger)
    try:
        return draft(connection, kind, draft_id)
    finally:
        connection.close()


def change_draft(home: Home, kind: str, draft_id: str, change: Callable[[Any], Any]) -> Any:
    """Change a draft in one transaction, so that two people at once lose nothing; the new document.

    ``change`` gets the document (None where there is none) and hands back the new one (None drops it).
    """
    connection = open_ledger(home.ledger)
    try:
        with writing(connection):
            document = change(draft(connection, kind, draft_id))
            if document is None:
                drop_draft(connection, kind, draft_id)
            else:
                store_draft(connection, kind, draft_id, document)
    finally:
        connection.close()
    return document
