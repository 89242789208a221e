"""What was learned and how good forecasts were, dated and kept."""

from __future__ import annotations

import hashlib
import json
from datetime import date
from typing import Any

from underoak.ledger.connection import Ledger
from underoak.model.plain import as_plain


def store_learned(
    connection: Ledger, taxon_id: str, document: Any, *, made_on: date, book_version: str
) -> None:
    """Keep what was learned of a taxon; the same document of the same day is kept once."""
    text, key = _text_and_key(document, "learned", taxon_id, made_on, book_version)
    connection.execute(
        "INSERT INTO learned VALUES (?, ?, ?, ?, ?) ON CONFLICT (id) DO NOTHING",
        (key, taxon_id, made_on.isoformat(), book_version, text),
    )


def latest_learned(connection: Ledger, *, until: date, book_version: str) -> dict[str, tuple[date, Any]]:
    """Taxon id -> day and document of the newest learning up to a day that used this version of the book."""
    rows = connection.execute(
        "SELECT taxon_id, made_on, document FROM learned WHERE made_on <= ? AND book_version = ? "
        "ORDER BY made_on, rowid",
        (until.isoformat(), book_version),
    )
    return {
        row["taxon_id"]: (date.fromisoformat(row["made_on"]), json.loads(row["document"])) for row in rows
    }


def store_judgement(connection: Ledger, document: Any, *, made_on: date, book_version: str) -> None:
    """Keep a judgement; the same document of the same day is kept once."""
    text, key = _text_and_key(document, "judgement", "", made_on, book_version)
    connection.execute(
        "INSERT INTO judgement VALUES (?, ?, ?, ?) ON CONFLICT (id) DO NOTHING",
        (key, made_on.isoformat(), book_version, text),
    )


def latest_judgement(connection: Ledger, *, until: date) -> tuple[date, Any] | None:
    """Day and document of the newest judgement up to a day, or None."""
    row = connection.execute(
        "SELECT made_on, document FROM judgement WHERE made_on <= ? "
        "ORDER BY made_on DESC, rowid DESC LIMIT 1",
        (until.isoformat(),),
    ).fetchone()
    return (date.fromisoformat(row["made_on"]), json.loads(row["document"])) if row else None


def _text_and_key(document: Any, kind: str, name: str, made_on: date, book_version: str) -> tuple[str, str]:
    text = json.dumps(as_plain(document), ensure_ascii=False, sort_keys=True)
    told = "\n".join([kind, name, made_on.isoformat(), book_version, text])
    return text, hashlib.sha256(told.encode()).hexdigest()[:24]
