"""Change the settings of a home; what stood there before is kept beside them."""

from __future__ import annotations

import hashlib
from pathlib import Path

from underoak.errors import UserMistake
from underoak.export.whole_file import write_whole
from underoak.model.household import Settings
from underoak.settings import SETTINGS_NAME, Home, load_home, settings_text

#: The settings before the last change. An editor's remarks in them would else be lost.
BEFORE_NAME = "underoak.before.toml"


def settings_mark(folder: Path) -> str:
    """What changes when the settings on file change; shown with a form, so that no change is overwritten."""
    return hashlib.sha256((folder / SETTINGS_NAME).read_bytes()).hexdigest()[:20]


def change_settings(home: Home, settings: Settings, *, seen: str) -> Home:
    """The home with other settings, which are on file afterwards.

    ``seen`` is the mark of the settings that the change was made on. Raises UserMistake when they were
    changed since, and NoAnswer when they cannot be written; then nothing has changed.
    """
    path = home.folder / SETTINGS_NAME
    if settings_mark(home.folder) != seen:
        raise UserMistake(
            "the settings were changed elsewhere since this page was opened",
            remedy="open the page again and change what you want to change",
        )
    if settings != load_home(home.folder).settings:
        write_whole(home.folder / BEFORE_NAME, path.read_bytes())
        write_whole(path, settings_text(settings).encode())
    return Home(home.folder, settings)
