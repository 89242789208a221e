"""Whole files for every reader of outside files: what the fuzzing starts from."""

from __future__ import annotations

import atexit
import io
import json
import random
import shutil
import sqlite3
import tempfile
from collections.abc import Callable, Sequence
from contextlib import closing
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any

from tests.properties.test_readers_refuse import READERS
from tests.shared_home import invented_home
from tools.fuzz_changes import spoilt
from tools.fuzz_inside import member_spoilt, page_spoilt, value_spoilt
from tools.fuzz_ledger import full_ledger

from underoak.book.load import load_book
from underoak.desk.back_up import back_up
from underoak.desk.merge_ledgers import merge_ledgers
from underoak.desk.open_backup import verify_backup
from underoak.desk.share_finds import Choices, share_finds
from underoak.desk.vet_find import parse_observations
from underoak.export.blurred_photo import stripped_jpeg
from underoak.export.matrix import matrix_text
from underoak.intake.darwin_core import read_darwin_core
from underoak.intake.haul import read_haul
from underoak.intake.matrix import read_matrix
from underoak.intake.pack import read_pack
from underoak.intake.photo_tags import read_photo_tags
from underoak.intake.temperature_log import read_temperature_log
from underoak.intake.weather import read_weather
from underoak.intake.weather_stations import read_stations
from underoak.model.ground import Permission, Place, Spot
from underoak.settings import LEDGER_NAME, SETTINGS_NAME, Home, load_home

TODAY = date(2026, 11, 1)
NOON = datetime(2026, 10, 3, 12)  # noqa: DTZ001 - the kitchen's clock is local


@dataclass(frozen=True)
class Reader:
    """One reader, the ending of its files, whole files to spoil, and how they are spoilt."""

    name: str
    ending: str
    read: Callable[[Path], Any]
    seeds: Sequence[bytes]
    spoil: Callable[[Sequence[bytes], random.Random], bytes] = spoilt


_DAILY = "date,rain_mm,tmin_c,tmax_c\n2026-10-01,0.0,5.1,15.2\n2026-10-02,12.5,6.0,14.0\n2026-10-03,,4.0,13\n"
_HOURLY = "time,temperature (°F),rain in\n" + "\n".join(
    f"2026-10-01 {h:02d}:00,{50 + h},0.1" for h in range(24)
)
_US = (
    "Date;Precip (in);Temp Min (°F);Temp Max (°F);Wind (mph)\n10/13/2026;1.0;32;60;10\n10/14/2026;T;33;61;\n"
)
_DLY = "USC00300000201910PRCP" + "".join(f"{n:5d}   " for n in range(31)) + "\n"
_BY_STATION = "USC00300000,20191001,PRCP,25,,,7,0700\nUSC00300000,20191001,TMIN,50,,,7,\n"
_FORECAST = json.dumps(
    {
        "form": "underoak-forecast-1",
        "issued": "2026-10-01",
        "station": {
            "id": "x",
            "name": "X",
            "latitude_deg": 41.5,
            "longitude_deg": -74.5,
            "elevation_m": 200.0,
        },
        "days": [
            {"day": "2026-10-02", "rain_mm": 1.5, "tmin_c": 3.0, "tmax_c": 13.0},
            {"day": "2026-10-03", "rain_mm": None, "tmin_c": 4.0, "tmax_c": 14.0},
        ],
    }
)
_STATIONS = "USC00300000  41.5000  -74.5000  200.0 NY INVENTED\n"
_HAUL = "lot,taxon,fresh_g,picked_at,state,dirt\na,Grifola frondosa,900,2026-10-03T10:00,consistent,some\n"
_HAUL_JSON = json.dumps(
    [{"lot": "a", "taxon": "Grifola frondosa", "fresh_g": 900, "picked_at": "2026-10-03T10:00"}]
)
_OBSERVATIONS = json.dumps(
    {
        "format": "underoak observations 1",
        "bodies_in_lot": 2,
        "bodies": [
            {"id": "a", "age": "mature", "observations": {"hymenium": {"look": "seen", "states": ["pores"]}}}
        ],
    }
)
_SETTINGS = """name = "X"
units = "us"
[where]
latitude_deg = 41.5
longitude_deg = -74.5
[[people]]
name = "Ada"
"""
_PACK = json.dumps(
    {
        "format": "underoak pack log 1",
        "pack": {"id": "0123456789ab", "place_id": "wood", "day": "2026-10-03", "book_version": "b"},
        "device": "ada1",
        "entries": [
            {"kind": "walk", "id": "ada1-1", "number": 1, "at": "2026-10-03T09:00:00Z", "holder": "Ada"},
            {"kind": "spot", "id": "ada1-2", "number": 2, "at": "2026-10-03T09:10:00Z", "spot_id": "new-1",
             "name": "New Oak", "lon": -74.5, "lat": 41.5, "within_m": 12.0},
            {"kind": "find", "id": "ada1-3", "number": 3, "at": "2026-10-03T09:20:00Z", "bag": "A1",
             "spot_id": "oak", "taxon_id": "grifola_frondosa", "stage": "prime", "bodies": 2,
             "fresh_g": 900.0, "photos": ["a.jpg"], "note": "", "gone": False},
            {"kind": "answer", "id": "ada1-4", "number": 4, "at": "2026-10-03T09:21:00Z", "bag": "A1",
             "body": "1", "name": "hymenium",
             "value": {"observation": {"look": "seen", "states": ["pores"]}}},
            {"kind": "search", "id": "ada1-5", "number": 5, "at": "2026-10-03T09:30:00Z", "spot_id": "oak",
             "thoroughness": 0.6},
        ],
    }
)  # fmt: skip
_WOODS = (Place("wood", "Wood", (), Permission("allowed", "Ada")),)
_SPOTS = (Spot("oak", "wood", "Oak", -74.5, 41.5, "oak", 93.0),)
_LEDGER = ".sqlite3"
_LOG = "minutes,temperature_c\n0,20.0\n10,80.5\n20,100.0\n"


def _text(read: Callable[[str], Any]) -> Callable[[Path], Any]:
    """A reader of text, given the file as any reader would decode it."""
    return lambda path: read(path.read_bytes().decode("utf-8", "replace"))


def memory() -> str | None:
    """A folder that no disk has to write, where there is one."""
    return "/dev/shm" if Path("/dev/shm").is_dir() else None  # noqa: S108 - a folder of its own is made in it


def _merge(home: Home, with_pantry: bool) -> Callable[[Path], Any]:
    """Joins into the same ledger in every case: what an earlier case brought is put away first."""
    whole = home.ledger_path.read_bytes()

    def read(path: Path) -> Any:
        for leftover in ("-wal", "-shm"):
            home.ledger_path.with_name(f"{LEDGER_NAME}{leftover}").unlink(missing_ok=True)
        home.ledger_path.write_bytes(whole)
        return merge_ledgers(home, path, with_pantry=with_pantry)

    return read


def _settings_in(folder: Path) -> Callable[[Path], Any]:
    folder.mkdir()

    def read(path: Path) -> Any:
        shutil.copy(path, folder / SETTINGS_NAME)
        return load_home(folder)

    return read


def readers() -> list[Reader]:
    """Every reader of outside files with its seeds; homes for the seeds are made in a temporary folder."""
    folder = Path(tempfile.mkdtemp(prefix="underoak-seeds-", dir=memory()))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)  # batches end without it
    return [*_of_ground(folder), *_of_weather(), *_of_finds(folder), *_of_home(folder)]


def _taxon(_: str) -> str:
    return "grifola_frondosa"


def _of_ground(folder: Path) -> list[Reader]:
    return [
        Reader(name, Path(file).suffix, read, [_pbf(folder)] if name == "pbf" else [whole])
        for name, file, read, whole in READERS
    ]


def _of_weather() -> list[Reader]:
    return [
        Reader("weather table", ".csv", read_weather, [_DAILY.encode(), _US.encode(), _HOURLY.encode()]),
        Reader("weather archive", ".dly", read_weather, [_DLY.encode(), _BY_STATION.encode()]),
        Reader("forecast", ".json", read_weather, [_FORECAST.encode()]),
        Reader("stations", ".txt", read_stations, [_STATIONS.encode()]),
        Reader("log", ".csv", lambda p: read_temperature_log(p, low_c=0.0, high_c=130.0), [_LOG.encode()]),
    ]


def _of_finds(folder: Path) -> list[Reader]:
    book = load_book()
    few = {name: book.characters[name] for name in ("hymenium", "cap_width_cm", "print_colour")}
    matrix = matrix_text(few, {"grifola_frondosa": book.taxa["grifola_frondosa"]}, book.version)
    looks = {taxon.id: taxon.look for taxon in book.taxa.values()}
    return [
        Reader("haul", ".csv", lambda p: read_haul(p, taxon_id=_taxon, now=NOON), [_HAUL.encode()]),
        Reader(
            "haul list", ".json", lambda p: read_haul(p, taxon_id=_taxon, now=NOON), [_HAUL_JSON.encode()]
        ),
        Reader(
            "observations",
            ".json",
            _text(lambda t: parse_observations(t, "a.json")),
            [_OBSERVATIONS.encode()],
        ),
        Reader(
            "matrix",
            ".txt",
            _text(lambda t: read_matrix(t, "a.txt", book.characters, looks)),
            [matrix.encode()],
        ),
        Reader("photo", ".jpg", lambda p: read_photo_tags(p.read_bytes(), p.name), _pictures()),
        Reader("photo to share", ".jpg", lambda p: stripped_jpeg(p.read_bytes(), p.name), _pictures()),
        Reader("pack", ".json", _pack, [_PACK.encode()]),
        Reader("settings", ".toml", _settings_in(folder / "settings"), [_SETTINGS.encode()]),
    ]


def _pack(path: Path) -> Any:
    return read_pack(
        path, places=_WOODS, spots=_SPOTS, known=(), taxon_id_of=lambda name: name or None, today=TODAY
    )


def _of_home(folder: Path) -> list[Reader]:
    """Files that whole homes make: backups, archives of finds, ledgers of other households."""
    home = invented_home(folder / "home")
    full_ledger(home)
    finds, backup = folder / "a.zip", folder / "b.zip"
    share_finds(home, finds, Choices(), today=TODAY)
    back_up(home, backup, today=TODAY)
    ledger = [_one_file(home.ledger_path)]
    home.ledger_path.write_bytes(ledger[0])

    def archive(path: Path) -> Any:
        return read_darwin_core(path, taxon_id_of=_taxon, today=TODAY)

    return [
        Reader("archive of finds", ".zip", archive, [finds.read_bytes()]),
        Reader("inside an archive", ".zip", archive, [finds.read_bytes()], member_spoilt),
        Reader("backup", ".zip", verify_backup, [backup.read_bytes()]),
        Reader("inside a backup", ".zip", verify_backup, [backup.read_bytes()], member_spoilt),
        Reader("merge", _LEDGER, _merge(home, False), ledger, page_spoilt),
        Reader("inside a ledger", _LEDGER, _merge(home, True), ledger, value_spoilt),
    ]


def _pbf(folder: Path) -> bytes:
    """Two nodes and a path between them in the binary form of OpenStreetMap."""
    import osmium

    path = folder / "a.osm.pbf"
    with osmium.SimpleWriter(str(path)) as writer:
        for number in (1, 2):
            writer.add_node(osmium.osm.mutable.Node(id=number, location=(-74.5, 41.5 + number / 100)))
        writer.add_way(osmium.osm.mutable.Way(id=3, nodes=[1, 2], tags={"highway": "path"}))
    return path.read_bytes()


def _pictures() -> list[bytes]:
    from PIL import Image

    made = []
    for kind in ("JPEG", "PNG", "WEBP"):
        picture = Image.new("RGB", (24, 16), (120, 90, 60))
        exif = picture.getexif()
        exif[0x0132] = "2026:10:03 11:22:33"
        exif.get_ifd(0x8825).update({1: "N", 2: (41.0, 34.0, 48.0), 3: "W", 4: (74.0, 30.0, 36.0)})
        out = io.BytesIO()
        picture.save(out, kind, exif=exif)
        made.append(out.getvalue())
    return made


def _one_file(ledger: Path) -> bytes:
    """The ledger in one file, in small pages: so there is less to copy and to check in every case."""
    with closing(sqlite3.connect(ledger, isolation_level=None)) as connection:
        connection.execute("PRAGMA journal_mode = DELETE")
        connection.execute("PRAGMA page_size = 512")
        connection.execute("VACUUM")
    return ledger.read_bytes()
