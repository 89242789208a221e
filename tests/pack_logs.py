"""Logs of invented telephones, written like the page writes them."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any

from underoak.desk.load_data import Loaded, read_files, store_files
from underoak.desk.load_kinds import Options
from underoak.settings import Home

DAY = date(2026, 10, 3)
PACK_ID = "0123456789ab"


class Telephone:
    """One telephone that notes things."""

    def __init__(self, device: str, place_id: str = "wood") -> None:
        self.device, self.place_id = device, place_id
        self.entries: list[dict[str, Any]] = []

    def note(self, kind: str, **told: Any) -> Telephone:
        """Add an entry, numbered and timed."""
        number = len(self.entries) + 1
        head = {
            "id": f"{self.device}-{number}-abcd",
            "number": number,
            "at": f"2026-10-03T10:{number:02d}:00-04:00",
        }
        self.entries.append({**head, "kind": kind, **told})
        return self

    def find(self, bag: str, **told: Any) -> Telephone:
        """A bag of hen of the woods at the oak, but for what is told otherwise."""
        usual = {
            "spot_id": "oak", "taxon_id": "grifola_frondosa", "stage": "prime", "bodies": 1, "fresh_g": 1500,
            "photos": [], "note": "", "gone": False,
        }  # fmt: skip
        return self.note("find", bag=bag, **{**usual, **told})

    def answer(self, bag: str, name: str, value: dict[str, Any], body: str = "1") -> Telephone:
        """The answer to one question."""
        return self.note("answer", bag=bag, body=body, name=name, value=value)

    def document(self) -> dict[str, Any]:
        """The log as it leaves the telephone."""
        pack = {"id": PACK_ID, "place_id": self.place_id, "day": DAY.isoformat(), "book_version": "0"}
        return {"format": "underoak pack log 1", "pack": pack, "device": self.device, "entries": self.entries}

    def save(self, folder: Path, name: str = "") -> Path:
        """The log as a file."""
        path = folder / f"{name or self.device}-{len(self.entries)}.json"
        path.write_text(json.dumps(self.document()), "utf-8")
        return path


def load(home: Home, *paths: Path) -> tuple[Loaded, ...]:
    """Load logs one after the other, as a family does."""
    loaded: list[Loaded] = []
    for path in paths:
        read = read_files(home, "pack", [path], options=Options(), today=date(2026, 10, 4))
        loaded += store_files(home, "pack", read, accept_good=False, today=date(2026, 10, 4))
    return tuple(loaded)
