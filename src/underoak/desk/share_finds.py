"""Write what may be shared to a file for others, with every spot blurred to its grid cell."""

from __future__ import annotations

import secrets
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Literal

from underoak.desk.blurred_records import Wish, blurred_records
from underoak.errors import NoAnswer, UserMistake
from underoak.export.blur import ladder_size_km
from underoak.export.blurred_map import cells_geojson, cells_gpx
from underoak.export.blurred_record import BlurredRecord, DateDetail, Terms, keyed_id
from underoak.export.darwin_core import darwin_core_archive, occurrence_csv
from underoak.export.whole_file import write_whole
from underoak.ledger.database import open_ledger
from underoak.settings import Home

#: Random bytes of one home. They make the ids in exports; whoever has them could try names against ids.
KEY_NAME = "sharing.key"

WRITERS: dict[str, Callable[[list[BlurredRecord], Terms], bytes]] = {
    ".zip": darwin_core_archive,
    ".csv": lambda records, terms: occurrence_csv(records, terms).encode(),
    ".gpx": lambda records, _: cells_gpx(records).encode(),
    ".geojson": lambda records, _: cells_geojson(records).encode(),
}


@dataclass(frozen=True, slots=True)
class Shared:
    """What went into a file. The counts are for the household; the file does not hold the last one."""

    file: str
    finds: int
    absences: int
    cells: int
    cell_km: int
    uncertainty_m: int
    pictures: int
    withheld_spots: int


@dataclass(frozen=True, slots=True)
class Choices:
    """What a person decides about one export; all of it is as little as makes sense by default.

    ``cell_km`` can only make the cells larger than the settings say. ``by`` goes out as the name of whoever
    publishes; ``names`` says whether the people who confirmed a find are named.
    """

    dates: DateDetail = "day"
    since: date | None = None
    until: date | None = None
    cell_km: float | None = None
    photos: bool = False
    names: bool = False
    by: str = "A household that gathers mushrooms"
    title: str = "Finds of one household, blurred"
    licence: Literal["cc0", "cc-by"] = "cc0"
    replace: bool = False


def share_finds(home: Home, path: Path, choices: Choices, *, today: date) -> Shared:
    """Write finds and absences to ``path``; its ending says how.

    .zip is a Darwin Core archive, .csv its occurrences alone, .gpx and .geojson the cells with what was
    found in them. Spots the household withholds are absent from all of them.

    Raises
    ------
    UserMistake   for an unknown ending, a file that exists, or cells smaller than the settings allow
    NoAnswer      when there is nothing to share, or the file cannot be written
    """
    writer = WRITERS.get(path.suffix.lower())
    if writer is None:
        raise UserMistake(f"{path.name} names no kind of file", expected="an ending: " + ", ".join(WRITERS))
    if path.exists() and not choices.replace:
        raise UserMistake(f"{path} exists", remedy="choose another name, or say --replace")
    key = sharing_key(home)
    wish = Wish(_cell_km(home, choices), choices.dates, choices.photos, choices.names)
    connection = open_ledger(home.ledger)
    try:
        records, withheld = blurred_records(
            connection, home.photos, wish, key, since=choices.since, until=choices.until
        )
    finally:
        connection.close()
    if not records:
        raise NoAnswer("there is nothing to share", remedy="widen the days, or write visits down first")
    terms = Terms(choices.title, choices.by, choices.licence, today, keyed_id(key, "dataset"))
    write_whole(path, writer(records, terms))
    return Shared(
        file=str(path),
        finds=sum(record.present for record in records),
        absences=sum(not record.present for record in records),
        cells=len({record.cell for record in records}),
        cell_km=records[0].cell.size_km,
        uncertainty_m=max(record.cell.uncertainty_m for record in records),
        pictures=sum(len(record.pictures) for record in records),
        withheld_spots=withheld,
    )


def _cell_km(home: Home, choices: Choices) -> float:
    least = home.settings.export_cell_km
    if choices.cell_km is None:
        return least
    if ladder_size_km(choices.cell_km) < ladder_size_km(least):
        raise UserMistake(
            f"cells of {choices.cell_km:g} km",
            expected=f"{least:g} km or more, as export_cell_km says in underoak.toml",
            remedy="think twice: what is once shared in small cells cannot be taken back",
        )
    return choices.cell_km


def sharing_key(home: Home, random_bytes: Callable[[int], bytes] = secrets.token_bytes) -> bytes:
    """The home's secret for ids in exports, made at the first export and kept."""
    path = home.folder / KEY_NAME
    if not path.exists():
        write_whole(path, random_bytes(32).hex().encode(), mode=0o600)
    try:
        return bytes.fromhex(path.read_text("ascii"))
    except (ValueError, UnicodeDecodeError) as error:
        remedy = "restore it from a backup, or remove it: ids in new exports will then be others"
        raise NoAnswer(f"{path} holds no key", remedy=remedy) from error
