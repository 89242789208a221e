"""Half-filled forms, and forms that were sent."""

from __future__ import annotations

import json
from datetime import date
from typing import Any

from underoak.ledger.connection import Ledger


def draft(connection: Ledger, kind: str, draft_id: str) -> Any:
    """The document of a draft, None where there is none."""
    row = connection.execute(
        "SELECT document FROM draft WHERE kind = ? AND id = ?", (kind, draft_id)
    ).fetchone()
    return json.loads(row[0]) if row else None


def store_draft(connection: Ledger, kind: str, draft_id: str, document: Any) -> None:
    """Keep a draft inside the caller's transaction, in place of an earlier one."""
    connection.execute(
        "INSERT INTO draft VALUES (?, ?, ?) "
        "ON CONFLICT (kind, id) DO UPDATE SET document = excluded.document",
        (kind, draft_id, json.dumps(document, ensure_ascii=False)),
    )


def drop_draft(connection: Ledger, kind: str, draft_id: str) -> None:
    """Forget a draft."""
    connection.execute("DELETE FROM draft WHERE kind = ? AND id = ?", (kind, draft_id))


def claim_form(connection: Ledger, token: str, today: date) -> str | None:
    """Take a form on: None when it is new, else where the first sending led (empty: not done yet)."""
    row = connection.execute("SELECT leads_to FROM form_sent WHERE token = ?", (token,)).fetchone()
    if row is not None:
        return str(row[0])
    connection.execute("INSERT INTO form_sent (token, sent_on) VALUES (?, ?)", (token, today.isoformat()))
    return None


def finish_form(connection: Ledger, token: str, leads_to: str) -> None:
    """Note where a form that was taken on has led."""
    connection.execute("UPDATE form_sent SET leads_to = ? WHERE token = ?", (leads_to, token))


def release_form(connection: Ledger, token: str) -> None:
    """Let a form that came to nothing be sent again."""
    connection.execute("DELETE FROM form_sent WHERE token = ? AND leads_to = ''", (token,))


def forget_forms(connection: Ledger, before: date) -> None:
    """Drop the marks of forms that were sent before a day."""
    connection.execute("DELETE FROM form_sent WHERE sent_on < ?", (before.isoformat(),))
