"""What the tags of OpenStreetMap ways mean for somebody on foot."""

from __future__ import annotations

import re
from collections.abc import Mapping

Tags = Mapping[str, str]

#: Ways people walk. Motor roads are left out: nobody searches along them.
WALKED = frozenset(
    {
        "path",
        "footway",
        "track",
        "bridleway",
        "steps",
        "pedestrian",
        "cycleway",
        "living_street",
        "residential",
        "service",
        "unclassified",
        "road",
        "tertiary",
        "tertiary_link",
    }
)
#: Walked only where the map says that people may.
WALKED_IF_ALLOWED = frozenset({"primary", "secondary", "primary_link", "secondary_link"})
_ALLOWED = frozenset({"yes", "designated", "permissive", "official"})
_FORBIDDEN = frozenset({"no", "private", "military"})
#: Ways made for feet, where ``oneway`` speaks to walkers.
_FOOT_WAYS = frozenset({"path", "footway", "steps"})


def is_walked(tags: Tags) -> bool:
    """Whether the way belongs to a network for walkers, open or not."""
    kind = tags.get("highway", "")
    if tags.get("area") == "yes":
        return False
    return kind in WALKED or (kind in WALKED_IF_ALLOWED and tags.get("foot") in _ALLOWED)


def is_closed(tags: Tags) -> bool:
    """Whether the way is shut to walkers; ``foot`` outranks ``access``.

    Fails towards: closed.
    """
    foot = tags.get("foot")
    if foot is not None:
        return foot in _FORBIDDEN
    return tags.get("access", "") in _FORBIDDEN


def direction(tags: Tags) -> int:
    """1 when walkers may go only forwards, -1 only backwards, 0 both ways."""
    value = tags.get("oneway:foot", "")
    if not value and tags.get("highway") in _FOOT_WAYS:
        value = tags.get("oneway", "")
    return {"yes": 1, "1": 1, "true": 1, "-1": -1, "reverse": -1}.get(value, 0)


def is_car_park(tags: Tags) -> bool:
    """A car park that is not private."""
    return tags.get("amenity") == "parking" and tags.get("access", "") not in _FORBIDDEN


def trunk_cm(tags: Tags) -> float | None:
    """Trunk diameter [cm] from ``circumference``, which the map gives in metres unless it says otherwise.

    Source: the map's own tagging convention, from memory.
    """
    match = re.fullmatch(r"\s*([\d.]+)\s*(m|cm)?\s*", tags.get("circumference", ""))
    if not match:
        return None
    try:
        girth_cm = float(match[1]) * (1.0 if match[2] == "cm" else 100.0)
    except ValueError:
        return None
    return girth_cm / 3.141592653589793 if 3.0 <= girth_cm <= 1900.0 else None


def species_text(tags: Tags) -> str:
    """The most exact name a tree's tags hold, or its leaf type."""
    leaf = {"broadleaved": "broadleaved", "needleleaved": "needleleaved"}.get(tags.get("leaf_type", ""), "")
    names = (tags.get(key, "") for key in ("species", "taxon", "species:en", "genus", "genus:en"))
    return next((name for name in names if name), leaf)
