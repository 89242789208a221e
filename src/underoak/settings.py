"""The home folder of one household and its ``underoak.toml``."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from underoak.errors import BadData, NoAnswer, UserMistake
from underoak.model.club import ClubAddress, parse_address
from underoak.model.problem import Problem

if TYPE_CHECKING:
    from underoak.model.household import Settings

SETTINGS_NAME = "underoak.toml"
LEDGER_NAME = "ledger.sqlite3"


@dataclass(frozen=True, slots=True)
class Home:
    """One household's folder: settings, ledger, photos and printed sheets."""

    folder: Path
    settings: Settings

    @property
    def ledger(self) -> Path | ClubAddress:
        """Where the record is kept: the home's own file, or the club's database."""
        address = self.settings.ledger.address
        return parse_address(address) if address else self.ledger_path

    @property
    def ledger_path(self) -> Path:
        """The SQLite file that holds the record, unless a club keeps it."""
        return self.folder / LEDGER_NAME

    @property
    def photos(self) -> Path:
        """Folder of photos."""
        return self.folder / "photos"

    @property
    def maps(self) -> Path:
        """Folder that files of map tiles are put into by hand."""
        return self.folder / "maps"

    @property
    def sheets(self) -> Path:
        """Folder that printed sheets are written to."""
        return self.folder / "sheets"


def load_home(folder: Path) -> Home:
    """The home in ``folder``.

    Raises
    ------
    UserMistake   when the folder is no home
    BadData       with every fault of its underoak.toml
    """
    path = folder / SETTINGS_NAME
    if not path.is_file():
        raise UserMistake(
            f"{folder} is no home: it has no {SETTINGS_NAME}",
            remedy="make one with 'underoak new DIR' or 'underoak serve', or name yours with --home DIR",
        )
    return Home(folder=folder, settings=parse_settings(_text_of(path), SETTINGS_NAME))


def _text_of(path: Path) -> str:
    """The text of the settings, with or without the mark that some editors put in front."""
    try:
        return path.read_text("utf-8-sig")
    except UnicodeDecodeError as error:
        what = f"byte {error.start} is no UTF-8"
        raise BadData([Problem(what, SETTINGS_NAME, "a text in UTF-8", "save it as UTF-8")]) from error
    except OSError as error:
        raise NoAnswer(f"{path} cannot be read: {error.strerror}", remedy="check who may read it") from error


def parse_settings(text: str, where: str) -> Settings:
    """Settings from TOML text; BadData with every fault."""
    from underoak.model.household import Settings
    from underoak.model.strict import validate_document

    try:
        document = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise BadData([Problem(str(error), where, "TOML", "compare with docs/settings.md")]) from error
    except RecursionError as error:
        raise BadData(
            [Problem("it is nested too deeply", where, "TOML", "compare with docs/settings.md")]
        ) from error
    settings, problems = validate_document(Settings, document, where)
    if settings is None:
        raise BadData(problems)
    return settings


def settings_text(settings: Settings) -> str:
    """The settings as the TOML text that `parse_settings` reads back to the same record."""
    document = settings.model_dump()
    people = document.pop("people")
    tables = {name: value for name, value in document.items() if isinstance(value, dict)}
    plain = {name: value for name, value in document.items() if not isinstance(value, dict)}
    lines = ["# Settings of one underoak home. Explained in docs/settings.md.", *_entries(plain)]
    for name, table in tables.items():
        lines += ["", f"[{name}]", *_entries(table)]
    for person in people:
        lines += ["", "[[people]]", *_entries(person)]
    return "\n".join(lines) + "\n"


def _entries(table: dict[str, object]) -> list[str]:
    return [f"{name} = {_toml_value(value)}" for name, value in table.items()]


def _toml_value(value: object) -> str:
    """A TOML literal for a string, number or truth value; JSON's escapes are valid TOML."""
    import json

    return json.dumps(value, ensure_ascii=False)
