"""Bought mushrooms in the ledger: lots that come from a shop instead of a find."""

from __future__ import annotations

from datetime import date

from underoak.ledger.connection import Ledger
from underoak.ledger.pantry import kept_lots
from underoak.model.kitchen import Lot


def store_bought(connection: Ledger, lot: Lot) -> None:
    """Store a bought lot inside the caller's transaction."""
    connection.execute(
        "INSERT INTO bought (id, taxon_id, shop, fresh_g, bought_on, bought_at) VALUES (?, ?, ?, ?, ?, ?)",
        (
            lot.id,
            lot.taxon_id,
            lot.shop,
            lot.fresh_g,
            lot.picked_at.date().isoformat(),
            lot.picked_at.isoformat(),
        ),
    )


def bought_on(connection: Ledger, day: date) -> tuple[Lot, ...]:
    """Lots bought on a day, by their ids."""
    rows = connection.execute("SELECT id FROM bought WHERE bought_on = ? ORDER BY id", (day.isoformat(),))
    return tuple(kept_lots(connection, [row[0] for row in rows]).values())
