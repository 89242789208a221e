"""Every kind of write a home knows, one numbered write at a time, and how to see whether it is whole."""

from __future__ import annotations

import hashlib
import json
import os
import sqlite3
import tempfile
import zipfile
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

import numpy as np
from PIL import Image

from underoak.desk.back_up import back_up
from underoak.desk.keep_photo import keep_photo
from underoak.desk.load_data import read_files, store_files
from underoak.desk.load_kinds import Options
from underoak.desk.make_home import make_home
from underoak.desk.open_backup import verify_backup
from underoak.desk.restore import restore
from underoak.desk.share_finds import Choices, share_finds
from underoak.desk.vet_find import parse_observations, vet_find
from underoak.ledger.answers import store_answer
from underoak.ledger.backup import ledger_faults
from underoak.ledger.database import open_ledger, writing
from underoak.ledger.merge import merge
from underoak.ledger.pantry import store_batch, store_lot
from underoak.ledger.places import store_places, store_spots
from underoak.ledger.servings import Serving, store_servings
from underoak.ledger.visits import store_visits
from underoak.ledger.weather import store_series
from underoak.model.ground import Permission, Place, Spot
from underoak.model.household import Person, Settings, Whereabouts
from underoak.model.kitchen import Batch, Jar, Lot
from underoak.model.visits import Find, Search, Visit
from underoak.model.weather import Station, WeatherSeries
from underoak.settings import SETTINGS_NAME, Home, load_home

Image.init()  # all at once: a process without rights could not load the formats later

DAY = date(2026, 10, 3)
#: Verdicts on one find are weighed together, so that a thousand on one would be slow.
FINDS_TO_VET = 100
NOON = datetime(2026, 10, 3, 12)  # noqa: DTZ001 - the kitchen's clock is local


@dataclass(frozen=True)
class Write:
    """One kind of write. ``parts`` says how many of ``of`` parts of write N are there."""

    name: str
    do: Callable[[Home, int], object]
    parts: Callable[[Home, int], int]
    of: int


def invented(folder: Path) -> Home:
    """An invented home with one wood, three spots and one find."""
    where = Whereabouts(latitude_deg=41.5, longitude_deg=-74.5)
    home = make_home(folder, Settings(where=where, people=(Person(name="Ada"),)))
    ring = ((-74.51, 41.49), (-74.49, 41.49), (-74.49, 41.51), (-74.51, 41.49))
    with closing(open_ledger(home.ledger_path)) as connection, writing(connection):
        store_places(connection, [Place("wood", "Wood", ((ring,),), Permission("allowed"))])
        store_spots(connection, [Spot(f"s{n}", "wood", f"Oak {n}", -74.5, 41.5 + n / 1000) for n in range(3)])
        store_visits(connection, [_visit("first")])
        finds = tuple(Find(f"vet-{n}", "s0", "grifola_frondosa", "prime", 1) for n in range(FINDS_TO_VET))
        store_visits(connection, [Visit("to vet", DAY, "wood", finds=finds)])
    return home


def _visit(name: str) -> Visit:
    searches = tuple(Search(f"s{n}", 0.6) for n in range(3))
    finds = tuple(Find(f"{name}-{n}", f"s{n}", "grifola_frondosa", "prime", 1, 400.0) for n in range(2))
    return Visit(name, DAY, "wood", 60.0, ("Ada",), searches, finds)


def count(home: Home, *questions: str) -> int:
    """The sum of what some counting questions to the ledger answer."""
    with closing(open_ledger(home.ledger_path)) as connection:
        return sum(int(connection.execute(question).fetchone()[0]) for question in questions)


def _stored(home: Home, store: Callable[[sqlite3.Connection], object]) -> None:
    with closing(open_ledger(home.ledger_path)) as connection, writing(connection):
        store(connection)


def _visits(home: Home, n: int) -> None:
    _stored(home, lambda connection: store_visits(connection, [_visit(f"t{n}")]))


def _visit_parts(home: Home, n: int) -> int:
    return count(
        home,
        f"SELECT count(*) FROM visit WHERE id = 't{n}'",  # noqa: S608 - own numbers
        f"SELECT count(*) FROM search WHERE visit_id = 't{n}'",  # noqa: S608
        f"SELECT count(*) FROM find WHERE visit_id = 't{n}'",  # noqa: S608
    )


def _weather(home: Home, n: int) -> None:
    days = 60
    values = {"rain_mm": np.arange(days, dtype=float), "tmin_c": np.ones(days)}
    series = WeatherSeries(Station(f"t{n}", f"t{n}"), DAY, values, np.zeros(days, dtype=bool), {})
    _stored(home, lambda connection: store_series(connection, series))


def _reports(home: Home, n: int) -> None:
    path = _scratch(f"reports-{n}.csv")
    rows = [f"r{n}-{k},Grifola frondosa,2026-09-{k % 28 + 1:02d},trial {n}" for k in range(40)]
    path.write_text("occurrenceID,scientificName,eventDate,datasetName\n" + "\n".join(rows) + "\n")
    read = read_files(home, "reports", [path], options=Options(), today=DAY)
    path.unlink()
    store_files(home, "reports", read, accept_good=False, today=DAY)


def _report_parts(home: Home, n: int) -> int:
    """The rows of the file."""
    return count(home, f"SELECT count(*) FROM report WHERE source = 'trial {n}'")  # noqa: S608


def _scratch(name: str) -> Path:
    """A file outside the home, as a person's own file would be."""
    return Path(tempfile.gettempdir()) / f"underoak-{os.getpid()}-{name}"


def _vet(home: Home, n: int) -> None:
    body = {
        "id": f"t{n}",
        "age": "mature",
        "observations": {"hymenium": {"look": "seen", "states": ["pores"]}},
    }
    document = {"format": "underoak observations 1", "bodies_in_lot": 1, "bodies": [body]}
    vet_find(home, f"vet-{n % FINDS_TO_VET}", parse_observations(json.dumps(document), "trial"), today=DAY)


def _batch(home: Home, n: int) -> None:
    lot = Lot(f"t{n}", "grifola_frondosa", None, 100.0, NOON, "first-0", None)
    batch = Batch(f"t{n}", "freeze", DAY, "trial", ((f"t{n}", 90.0),))
    jars = [Jar(f"t{n}-{k}", f"t{n}", f"t{n}-{k}", "bag", 40.0, DAY, None, "freezer", ()) for k in range(2)]

    def store(connection: sqlite3.Connection) -> None:
        store_lot(connection, lot)
        store_batch(connection, batch, jars)

    _stored(home, store)


def _batch_parts(home: Home, n: int) -> int:
    tables = {"lot": "id", "batch": "id", "batch_lot": "batch_id", "jar": "batch_id"}
    return count(home, *(f"SELECT count(*) FROM {t} WHERE {c} = 't{n}'" for t, c in tables.items()))  # noqa: S608


def _servings(home: Home, n: int) -> None:
    eaten = [Serving(f"t{n}-{k}", NOON, f"person {k}", "grifola_frondosa") for k in range(3)]
    _stored(home, lambda connection: store_servings(connection, eaten))


def _answer(home: Home, n: int) -> None:
    _stored(
        home,
        lambda connection: store_answer(
            connection, "walk", made_on=DAY, for_day=DAY, book_version="t", inputs={"n": n}, document={"n": n}
        ),
    )


def _photo(home: Home, n: int) -> None:
    path = _scratch(f"picture-{n}.png")
    noise = np.random.default_rng(n).integers(0, 255, (24, 24, 3), dtype=np.uint8)
    Image.fromarray(noise).save(path)
    try:
        keep_photo(home, "first-0", path, shows=f"t{n}", today=DAY)
    finally:
        path.unlink()


def _photo_parts(home: Home, n: int) -> int:
    """A row without its whole file counts as half."""
    with closing(open_ledger(home.ledger_path)) as connection:
        row = connection.execute("SELECT sha256, file FROM photo WHERE shows = ?", (f"t{n}",)).fetchone()
    if row is None:
        return 0
    path = home.photos / row["file"]
    whole = path.exists() and hashlib.sha256(path.read_bytes()).hexdigest() == row["sha256"]
    return 1 + int(whole)


def _merge(home: Home, n: int) -> None:
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as other:
        other.row_factory = sqlite3.Row
        with closing(open_ledger(home.ledger_path)) as ours:
            ours.backup(other)
            with writing(other):
                store_visits(other, [_visit(f"m{n}-{k}") for k in range(10)])
            merge(ours, other)


def _backup(home: Home, n: int) -> None:
    back_up(home, home.folder / f"backup-{n}.zip", today=DAY)


def _backup_parts(home: Home, n: int) -> int:
    path = home.folder / f"backup-{n}.zip"
    return 0 if not path.exists() else 1 + bool(verify_backup(path))


def _share(home: Home, n: int) -> None:
    share_finds(home, home.folder / f"shared-{n}.zip", Choices(), today=DAY)


def _share_parts(home: Home, n: int) -> int:
    path = home.folder / f"shared-{n}.zip"
    if not path.exists():
        return 0
    with zipfile.ZipFile(path) as archive:
        return 1 + (archive.testzip() is None)


def _restore(home: Home, n: int) -> None:  # noqa: ARG001 - the same home each time
    """Over a home that stands there, with the backup of that home."""
    target, backup = home.folder / "restored", home.folder / "to-restore.zip"
    if not backup.exists():
        back_up(home, backup, today=DAY)
        restore(backup, target, today=DAY)
    restore(backup, target, today=DAY, replace=True)


def _restore_parts(home: Home, n: int) -> int:  # noqa: ARG001 - the same home each time
    """Whatever happened, the home that stood there is whole; before the first there is none."""
    target = home.folder / "restored"
    if not (target / SETTINGS_NAME).exists() or not (target / "ledger.sqlite3").exists():
        return 0
    load_home(target)
    return 2 - bool(ledger_faults(target / "ledger.sqlite3"))


def _new(home: Home, n: int) -> None:
    make_home(home.folder / f"new-{n}", home.settings)


def _new_parts(home: Home, n: int) -> int:
    folder = home.folder / f"new-{n}"
    if not (folder / SETTINGS_NAME).exists():
        return 0
    whole = load_home(folder).settings == home.settings and not ledger_faults(folder / "ledger.sqlite3")
    return 1 + int(whole)


def _rows(question: str) -> Callable[[Home, int], int]:
    return lambda home, n: count(home, question.format(n=n))


WRITES: tuple[Write, ...] = (
    Write("visit", _visits, _visit_parts, 6),
    Write("weather", _weather, _rows("SELECT count(*) FROM weather_day WHERE station_id = 't{n}'"), 60),
    Write("load a file", _reports, _report_parts, 40),
    Write("vet", _vet, _rows("SELECT count(*) FROM verdict WHERE observations LIKE '%\"t{n}\"%'"), 1),
    Write("batch and jars", _batch, _batch_parts, 5),
    Write("meal", _servings, _rows("SELECT count(*) FROM serving WHERE id LIKE 't{n}-%'"), 3),
    Write("answer", _answer, _rows("SELECT count(*) FROM answer WHERE inputs = '{{\"n\": {n}}}'"), 1),
    Write("photo", _photo, _photo_parts, 2),
    Write("merge", _merge, _rows("SELECT count(*) FROM visit WHERE id LIKE 'm{n}-%'"), 10),
    Write("backup", _backup, _backup_parts, 2),
    Write("share", _share, _share_parts, 2),
    Write("restore", _restore, _restore_parts, 2),
    Write("new home", _new, _new_parts, 2),
)


def numbered(write: Write, home: Home, first: int) -> Iterator[int]:
    """Writes from a number on, each told after it is done."""
    number = first
    while True:
        write.do(home, number)
        yield number
        number += 1


def some_writes(write: Write, home: Home, most: int) -> None:
    """The first so many writes."""
    for number in range(most):
        write.do(home, number)
