"""Cells with what was found in them, as GPX 1.1 and GeoJSON."""

from __future__ import annotations

from collections.abc import Iterable
from xml.sax.saxutils import escape

from underoak.export.blur import Cell
from underoak.export.blurred_record import BlurredRecord, by_cell, told_kinds, uncertainty_words
from underoak.export.geojson import DECIMALS, collection_text
from underoak.export.gpx import NAMESPACE


def cells_gpx(records: Iterable[BlurredRecord]) -> str:
    """GPX 1.1 text with one waypoint at the centre of each cell, and no time.

    Source: GPX 1.1 schema, order of elements within a point name, desc, sym.
    """
    parts = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<gpx version="1.1" creator="underoak" xmlns="{NAMESPACE}">',
        "<metadata><name>Finds, blurred</name></metadata>",
    ]
    for cell, found in by_cell(records).items():
        lon, lat = cell.centre
        kinds = "; ".join(f"{name}: {n} found, {m} not found" for name, n, m in told_kinds(found))
        words = f"Somewhere within {cell.uncertainty_m} m. {kinds}. {uncertainty_words(cell.size_km)}."
        parts.append(
            f'<wpt lat="{lat:.5f}" lon="{lon:.5f}"><name>{cell.size_km} km cell</name>'
            f"<desc>{escape(words)}</desc></wpt>"
        )
    return "\n".join([*parts, "</gpx>"]) + "\n"


def cells_geojson(records: Iterable[BlurredRecord]) -> str:
    """A FeatureCollection (RFC 7946) with one polygon for each cell."""
    return collection_text(
        [
            {
                "type": "Feature",
                "geometry": {"type": "Polygon", "coordinates": [_outline(cell)]},
                "properties": {
                    "cell_km": cell.size_km,
                    "coordinateUncertaintyInMeters": cell.uncertainty_m,
                    "dataGeneralizations": uncertainty_words(cell.size_km),
                    "taxa": [
                        {"scientificName": name, "found": n, "not_found": m}
                        for name, n, m in told_kinds(found)
                    ],
                },
            }
            for cell, found in by_cell(records).items()
        ]
    )


def _outline(cell: Cell) -> list[list[float]]:
    """The ring against the clock, first corner again at its end."""
    west, south, east, north = (
        round(value, DECIMALS) for value in (cell.west_deg, cell.south_deg, cell.east_deg, cell.north_deg)
    )
    return [[west, south], [east, south], [east, north], [west, north], [west, south]]
