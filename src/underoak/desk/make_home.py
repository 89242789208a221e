"""Make a home: folder, settings and an empty ledger."""

from __future__ import annotations

from pathlib import Path

from underoak.errors import UserMistake
from underoak.ledger.database import open_ledger
from underoak.model.household import Settings
from underoak.settings import SETTINGS_NAME, Home, settings_text


def make_home(folder: Path, settings: Settings) -> Home:
    """A new home in ``folder``, which must not hold one yet.

    Raises UserMistake when a home is already there or the folder cannot be made.
    """
    if (folder / SETTINGS_NAME).exists():
        raise UserMistake(
            f"{folder} already is a home", remedy="choose another folder, or use it with --home"
        )
    home = Home(folder=folder, settings=settings)
    try:
        for part in (folder, home.photos, home.sheets):
            part.mkdir(parents=True, exist_ok=True)
        (folder / SETTINGS_NAME).write_text(settings_text(settings), "utf-8")
    except OSError as error:
        raise UserMistake(
            f"cannot make {folder}: {error.strerror}", remedy="choose another folder"
        ) from error
    open_ledger(home.ledger_path, create=True).close()
    return home
