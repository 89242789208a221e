"""Parts of other projects that are carried along as files, as `parts.toml` beside them says."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from tools.licences import Library

FOLDER = Path(__file__).parents[1] / "src/underoak/web/static/vendor"
LIST_NAME = "parts.toml"


@dataclass(frozen=True)
class Part:
    """One part: what it is, where it comes from, and the SHA-256 of each file by its path in the folder."""

    name: str
    version: str
    licence: str
    purl: str
    website: str
    sha256: Mapping[str, str]

    def as_library(self) -> Library:
        """The part as one more library, which needs no other."""
        return Library(self.name, self.version, self.licence, ())


def parts(folder: Path = FOLDER) -> list[Part]:
    """Every part, in the order of the list."""
    return [Part(**one) for one in tomllib.loads((folder / LIST_NAME).read_text("utf-8"))["part"]]
