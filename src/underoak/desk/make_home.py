"""Make a home: folder, settings and an empty ledger."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import closing
from pathlib import Path
from typing import Any

from underoak.errors import BadData, UserMistake
from underoak.export.whole_file import write_whole
from underoak.ledger.codes import fresh_tag, store_tag, stored_tag
from underoak.ledger.database import open_ledger, writing
from underoak.model.household import Kitchen, Settings
from underoak.model.strict import validate_document
from underoak.settings import SETTINGS_NAME, Home, settings_text


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


def settings_from_answers(answers: Mapping[str, Any]) -> Settings:
    """Settings from what a person answered.

    ``answers`` holds name, units, latitude_deg, longitude_deg, elevation_m, ``people`` as NAME or
    NAME:KG texts, ``equipment`` as THING=NUMBER texts, and ``ledger``, the address of a club's, if any.

    Raises
    ------
    UserMistake   for a person or a piece of equipment that cannot be understood
    BadData       for values out of range, all at once
    """
    document = {
        "name": answers["name"],
        "units": answers["units"],
        "where": {key: answers[key] for key in ("latitude_deg", "longitude_deg", "elevation_m")},
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
