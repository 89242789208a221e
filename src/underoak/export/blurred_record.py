"""What others may see of one find or one search: the only record that the writers for others take."""

from __future__ import annotations

import hashlib
import hmac
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from typing import Literal

from underoak.export.blur import Cell

DateDetail = Literal["day", "month", "year"]


@dataclass(frozen=True, slots=True)
class Fact:
    """One character that was looked at: what, what was seen, its unit, and how it was won."""

    kind: str
    value: str
    unit: str = ""
    method: str = ""
    body: int = 1
    seen_on: str = ""


@dataclass(frozen=True, slots=True)
class NameGiven:
    """One verdict on a find in the words of Darwin Core. ``status`` is verified only by a person."""

    scientific_name: str
    rank: str
    qualifier: str
    verbatim: str
    status: str
    by: str
    given_on: str
    remarks: str


@dataclass(frozen=True, slots=True)
class Picture:
    """A stripped picture: its file name in the archive, its bytes, and which part it shows."""

    file: str
    data: bytes = field(repr=False)
    shows: str = ""


@dataclass(frozen=True, slots=True)
class BlurredRecord:
    """A find, or a taxon that was looked for and not found, with its place as a cell.

    ``when`` is a day, a month or a year in ISO text; ``searched`` the share of what stood there that such
    a look would show (0 to 1).
    """

    id: str
    when: str
    present: bool
    scientific_name: str
    rank: str
    qualifier: str
    verbatim: str
    cell: Cell
    bodies: int | None = None
    fresh_g: float | None = None
    stage: str = ""
    searched: float | None = None
    facts: tuple[Fact, ...] = ()
    names: tuple[NameGiven, ...] = ()
    pictures: tuple[Picture, ...] = ()


@dataclass(frozen=True, slots=True)
class Terms:
    """Under which name and licence the records go out. ``published_on`` is the day of the export."""

    title: str
    by: str
    licence: Literal["cc0", "cc-by"]
    published_on: date
    dataset_id: str

    @property
    def licence_url(self) -> str:
        """The address of the licence, as Darwin Core wants it."""
        kinds = {"cc0": "publicdomain/zero/1.0", "cc-by": "licenses/by/4.0"}
        return f"http://creativecommons.org/{kinds[self.licence]}/legalcode"


def blurred_day(day: date, detail: DateDetail) -> str:
    """The day in ISO text, cut to what was asked for."""
    return day.isoformat()[: {"day": 10, "month": 7, "year": 4}[detail]]


def keyed_id(key: bytes, *parts: str) -> str:
    """A ``urn:uuid`` that stays the same from export to export and tells nothing without the key.

    Method: HMAC-SHA-256 over the parts (RFC 2104), its first 16 bytes as a UUID of version 8 (RFC 9562).
    Ids of the ledger are partly made from names and positions, so a plain hash could be found by trying.
    """
    digest = bytearray(hmac.new(key, "\x1f".join(parts).encode(), hashlib.sha256).digest()[:16])
    digest[6] = digest[6] & 0x0F | 0x80
    digest[8] = digest[8] & 0x3F | 0x80
    text = digest.hex()
    return f"urn:uuid:{text[:8]}-{text[8:12]}-{text[12:16]}-{text[16:20]}-{text[20:]}"


def in_order(records: Iterable[BlurredRecord]) -> list[BlurredRecord]:
    """Records sorted by what everybody may see, and last by their keyed id: the order tells nothing."""
    return sorted(records, key=lambda r: (r.when, r.scientific_name, r.cell, not r.present, r.id))


def by_cell(records: Iterable[BlurredRecord]) -> dict[Cell, list[BlurredRecord]]:
    """Records of each cell, cells from south-west on."""
    cells: dict[Cell, list[BlurredRecord]] = {}
    for record in in_order(records):
        cells.setdefault(record.cell, []).append(record)
    return dict(sorted(cells.items()))


def told_kinds(records: Iterable[BlurredRecord]) -> list[tuple[str, int, int]]:
    """(name, finds, looked for and not found) of each taxon, by name."""
    kinds: dict[str, list[int]] = {}
    for record in records:
        kinds.setdefault(record.scientific_name, [0, 0])[not record.present] += 1
    return sorted((name, found, missed) for name, (found, missed) in kinds.items())


def uncertainty_words(size_km: int) -> str:
    """The sentence that says what was done to the positions."""
    return (
        f"Coordinates generalized from original coordinates to the centre of a fixed {size_km} km grid cell; "
        "all records of one wood share one cell"
    )


#: What is left out, always in the same words, whether or not something is.
WITHHELD = (
    "exact place, names of places and people, host tree, time of day, and notes; records may be left out"
)
