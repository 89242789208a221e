"""Make a home: folder, settings and an empty ledger."""

from __future__ import annotations

import math
from collections.abc import Mapping
from contextlib import closing
from datetime import datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from underoak.errors import BadData, UserMistake
from underoak.export.whole_file import write_whole
from underoak.ledger.codes import fresh_tag, store_tag, stored_tag
from underoak.ledger.database import open_ledger, writing
from underoak.model.household import Kitchen, Settings, Whereabouts
from underoak.model.strict import validate_document
from underoak.settings import SETTINGS_NAME, Home, settings_text

#: Winter time stands nowhere people gather much farther from the sun than this [h].
MOST_OFF_SUN_H = 2.5
_WHERE = ("latitude_deg", "longitude_deg", "elevation_m", "timezone")


#: Winter time stands nowhere people gather much farther from the sun than this [h].
MOST_OFF_SUN_H = 2.5
_WHERE = ("latitude_deg", "longitude_deg", "elevation_m", "timezone")


def make_home(folder: Path, settings: Settings, *, tag: str | None = None) -> Home:
    """A new home in ``folder``, which must not hold one yet.

    ``tag`` are the three letters before the codes of its jars; by chance where none is named.

    Raises UserMistake when a home is already there, the folder cannot be made, or the tag is none.
    """
    if (folder / SETTINGS_NAME).exists():
        raise UserMistake(
            f"{folder} already is a home", remedy="choose another folder, or use it with --home"
        )
    home = Home(folder=folder, settings=settings)
    try:
        for part in (folder, home.photos, home.sheets):
            part.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise UserMistake(
            f"cannot make {folder}: {error.strerror}", remedy="choose another folder"
        ) from error
    with closing(open_ledger(home.ledger, create=True)) as connection:
        # A club's ledger may have its tag already, and a guest may not write there.
        if not stored_tag(connection):
            with writing(connection):
                store_tag(connection, tag or fresh_tag())
    # The settings make it a home: they come last, so that a home is whole or none.
    write_whole(folder / SETTINGS_NAME, settings_text(settings).encode())
    return home


def likely_timezone(longitude_deg: float, own: str) -> str:
    """The time zone a home at this longitude most likely keeps.

    Parameters
    ----------
    longitude_deg : degrees east of Greenwich
    own : the zone this computer keeps, empty where that is not known; world time is nobody's own

    Method
    ------
    The computer's zone, then the settings' default, where its winter time is within two and a half hours of
    the sun; else whole hours by the sun (Etc/GMT-1 is one hour ahead of Greenwich).
    """
    sun_h = longitude_deg / 15.0
    for zone in (own, Whereabouts.model_fields["timezone"].default):
        if not zone.startswith(("Etc/", "UTC")) and abs(_winter_offset_h(zone) - sun_h) <= MOST_OFF_SUN_H:
            return str(zone)
    return f"Etc/GMT{-round(sun_h):+d}"


def _winter_offset_h(zone: str) -> float:
    """Hours ahead of Greenwich in January or July, whichever is less; infinite for no zone."""
    try:
        kept = ZoneInfo(zone)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return math.inf
    offsets = (datetime(2026, month, 1, tzinfo=kept).utcoffset() for month in (1, 7))
    return min(offset.total_seconds() / 3600.0 for offset in offsets if offset is not None)


def settings_from_answers(answers: Mapping[str, Any]) -> Settings:
    """Settings from what a person answered.

    ``answers`` holds name, units, latitude_deg, longitude_deg, elevation_m, ``people`` as NAME or
    NAME:KG texts, ``equipment`` as THING=NUMBER texts, and, if any, ``timezone`` and ``ledger``, the
    address of a club's.

    Raises
    ------
    UserMistake   for a person or a piece of equipment that cannot be understood
    BadData       for values out of range, all at once
    """
    document = {
        "name": answers["name"],
        "units": answers["units"],
        "where": {key: answers[key] for key in _WHERE if answers.get(key) not in (None, "")},
        "people": [_person(text) for text in answers["people"]],
        "kitchen": dict(_equipment(text) for text in answers["equipment"]),
        "ledger": {"address": answers.get("ledger", "")},
    }
    settings, problems = validate_document(Settings, document, "answers")
    if settings is None:
        raise BadData(problems)
    return settings


def _person(text: str) -> dict[str, Any]:
    name, _, carries = text.strip().partition(":")
    if not carries:
        return {"name": name}
    try:
        return {"name": name, "carries_kg": float(carries)}
    except ValueError:
        raise UserMistake(f"{text!r} is no person", expected="NAME or NAME:KG, such as Ada:6") from None


def _equipment(text: str) -> tuple[str, Any]:
    thing, _, number = text.partition("=")
    fields = Kitchen.model_fields
    if thing not in fields:
        raise UserMistake(f"{thing!r} is no kitchen equipment", expected="one of " + ", ".join(fields))
    if fields[thing].annotation is str:
        return thing, number
    try:
        return thing, int(number) if fields[thing].annotation is int else float(number)
    except ValueError:
        raise UserMistake(f"{text!r} has no number", expected=f"{thing}=NUMBER") from None
