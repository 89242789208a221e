"""A walk as GPX 1.1: turns as waypoints and route, the way itself as a track."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from xml.sax.saxutils import escape

from underoak.model.ground import LonLat

NAMESPACE = "http://www.topografix.com/GPX/1/1"


def walk_gpx(
    name: str,
    description: str,
    line: Sequence[LonLat],
    turns: Sequence[tuple[LonLat, str, str]],
    made_at: datetime,
) -> str:
    """GPX 1.1 text of one walk.

    Parameters
    ----------
    name, description : plain text
    line : the whole way as (longitude, latitude) in degrees, at least two points
    turns : position, short name and instruction of each turn
    made_at : a moment with its time zone; goes into the metadata, in UTC as the format asks

    Source: GPX 1.1 schema, order of elements metadata, wpt, rte, trk and within a point name, desc.
    """
    moment = f"{made_at.astimezone(UTC):%Y-%m-%dT%H:%M:%SZ}"
    parts = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<gpx version="1.1" creator="underoak" xmlns="{NAMESPACE}">',
        f"<metadata><name>{escape(name)}</name><desc>{escape(description)}</desc>"
        f"<time>{moment}</time></metadata>",
        *(_point("wpt", *turn) for turn in turns),
        f"<rte><name>{escape(name)}</name>",
        *(_point("rtept", *turn) for turn in turns),
        "</rte>",
        f"<trk><name>{escape(name)}</name><trkseg>",
        *(f'<trkpt lat="{lat:.7f}" lon="{lon:.7f}"/>' for lon, lat in line),
        "</trkseg></trk>",
        "</gpx>",
    ]
    return "\n".join(parts) + "\n"


def _point(tag: str, position: LonLat, name: str, words: str) -> str:
    lon, lat = position
    told = f"<name>{escape(name)}</name><desc>{escape(words)}</desc>"
    return f'<{tag} lat="{lat:.7f}" lon="{lon:.7f}">{told}</{tag}>'
