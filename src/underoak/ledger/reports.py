"""Other people's dated records in the ledger."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from underoak.ledger.connection import Ledger
from underoak.model.visits import Report


def store_reports(connection: Ledger, reports: Iterable[Report]) -> int:
    """Store or update reports by id; returns how many rows were new or changed."""
    before = connection.total_changes
    connection.executemany(
        "INSERT INTO report VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (id) DO UPDATE SET "
        "day = excluded.day, scientific_name = excluded.scientific_name, taxon_id = excluded.taxon_id, "
        "longitude_deg = excluded.longitude_deg, latitude_deg = excluded.latitude_deg, "
        "uncertainty_m = excluded.uncertainty_m, present = excluded.present, source = excluded.source "
        "WHERE (report.day, report.scientific_name, report.taxon_id, report.longitude_deg, "
        "report.latitude_deg, report.uncertainty_m, report.present, report.source) "
        "IS NOT (excluded.day, excluded.scientific_name, excluded.taxon_id, excluded.longitude_deg, "
        "excluded.latitude_deg, excluded.uncertainty_m, excluded.present, excluded.source)",
        (
            (
                r.id,
                r.day.isoformat(),
                r.scientific_name,
                r.taxon_id,
                r.longitude_deg,
                r.latitude_deg,
                r.uncertainty_m,
                int(r.present),
                r.source,
            )
            for r in reports
        ),
    )
    return connection.total_changes - before


def reports(connection: Ledger, since: date | None = None, until: date | None = None) -> list[Report]:
    """Reports from ``since`` to ``until`` (both inclusive, None is open), by day."""
    rows = connection.execute(
        "SELECT * FROM report WHERE day BETWEEN ? AND ? ORDER BY day, id",
        ((since or date.min).isoformat(), (until or date.max).isoformat()),
    )
    return [
        Report(
            row["id"],
            date.fromisoformat(row["day"]),
            row["scientific_name"],
            row["taxon_id"],
            row["longitude_deg"],
            row["latitude_deg"],
            row["uncertainty_m"],
            bool(row["present"]),
            row["source"],
        )
        for row in rows
    ]
