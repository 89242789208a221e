"""Whole files for every reader of outside files: what the fuzzing starts from."""

from __future__ import annotations

import io
import json
import tempfile
from collections.abc import Callable, Sequence
from contextlib import closing
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any

from tests.properties.test_readers_refuse import READERS
from tests.shared_home import invented_home

from underoak.book.load import load_book
from underoak.desk.back_up import back_up
from underoak.desk.merge_ledgers import merge_ledgers
from underoak.desk.restore import verify_backup
from underoak.desk.share_finds import Choices, share_finds
from underoak.desk.vet_find import parse_observations
from underoak.export.matrix import matrix_text
from underoak.intake.darwin_core import read_darwin_core
from underoak.intake.haul import read_haul
from underoak.intake.matrix import read_matrix
from underoak.intake.photo_tags import read_photo_tags
from underoak.intake.temperature_log import read_temperature_log
from underoak.intake.weather import read_weather
from underoak.intake.weather_stations import read_stations
from underoak.settings import parse_settings

TODAY = date(2026, 11, 1)
NOON = datetime(2026, 10, 3, 12)  # noqa: DTZ001 - the kitchen's clock is local
HEAVY = frozenset({"merge", "backup"})


@dataclass(frozen=True)
class Reader:
    """One reader, the ending of its files, and whole files to spoil. ``heavy`` ones get fewer cases."""

    name: str
    ending: str
    read: Callable[[Path], Any]
    seeds: Sequence[bytes]

    @property
    def share(self) -> float:
        """How many of the cases it gets, beside the others."""
        return 0.02 if self.name in HEAVY else 1.0


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
_LOG = "minutes,temperature_c\n0,20.0\n10,80.5\n20,100.0\n"


def _text(read: Callable[[str], Any]) -> Callable[[Path], Any]:
    """A reader of text, given the file as any reader would decode it."""
    return lambda path: read(path.read_bytes().decode("utf-8", "replace"))


def _merge(home: Any) -> Callable[[Path], Any]:
    def read(path: Path) -> Any:
        return merge_ledgers(home, path)

    return read


def readers() -> list[Reader]:
    """Every reader of outside files with its seeds; homes for the seeds are made in a temporary folder."""
    folder = Path(tempfile.mkdtemp(prefix="underoak-seeds-"))
    home = invented_home(folder / "home")
    share_finds(home, folder / "a.zip", Choices(), today=TODAY)
    backup = Path(back_up(home, folder / "b.zip", today=TODAY).file)
    book = load_book()
    few = {name: book.characters[name] for name in ("hymenium", "cap_width_cm", "print_colour")}
    matrix = matrix_text(few, {"grifola_frondosa": book.taxa["grifola_frondosa"]}, book.version)
    looks = {taxon.id: taxon.look for taxon in book.taxa.values()}

    def taxon(_: str) -> str:
        return "grifola_frondosa"

    return [
        *(
            Reader(name, Path(file).suffix, read, [_pbf(folder)] if name == "pbf" else [whole])
            for name, file, read, whole in READERS
        ),
        Reader("weather table", ".csv", read_weather, [_DAILY.encode(), _US.encode(), _HOURLY.encode()]),
        Reader("weather archive", ".dly", read_weather, [_DLY.encode(), _BY_STATION.encode()]),
        Reader("forecast", ".json", read_weather, [_FORECAST.encode()]),
        Reader("stations", ".txt", read_stations, [_STATIONS.encode()]),
        Reader("haul", ".csv", lambda p: read_haul(p, taxon_id=taxon, now=NOON), [_HAUL.encode()]),
        Reader("haul list", ".json", lambda p: read_haul(p, taxon_id=taxon, now=NOON), [_HAUL_JSON.encode()]),
        Reader(
            "archive of finds",
            ".zip",
            lambda p: read_darwin_core(p, taxon_id_of=taxon, today=TODAY),
            [(folder / "a.zip").read_bytes()],
        ),
        Reader(
            "observations",
            ".json",
            _text(lambda t: parse_observations(t, "a.json")),
            [_OBSERVATIONS.encode()],
        ),
        Reader("settings", ".toml", _text(lambda t: parse_settings(t, "a.toml")), [_SETTINGS.encode()]),
        Reader(
            "matrix",
            ".txt",
            _text(lambda t: read_matrix(t, "a.txt", book.characters, looks)),
            [matrix.encode()],
        ),
        Reader("log", ".csv", lambda p: read_temperature_log(p, low_c=0.0, high_c=130.0), [_LOG.encode()]),
        Reader("photo", ".jpg", lambda p: read_photo_tags(p.read_bytes(), p.name), _pictures()),
        Reader("backup", ".zip", verify_backup, [backup.read_bytes()]),
        Reader("merge", ".sqlite3", _merge(home), [_one_file(home.ledger_path)]),
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
    import sqlite3

    with closing(sqlite3.connect(ledger)) as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        connection.execute("PRAGMA journal_mode = DELETE")
    data = ledger.read_bytes()
    with closing(sqlite3.connect(ledger)) as connection:
        connection.execute("PRAGMA journal_mode = WAL")
    return data
