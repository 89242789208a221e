"""Files that are wrong get one clear message each, and the ledger stays byte for byte as it was."""

from __future__ import annotations

import hashlib
import io
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from tests.journeys.command import underoak
from underoak.settings import Home

DAILY = "date,rain_mm,tmin_c,tmax_c\n"


def autumn(tmin: Callable[[int], float], tmax: Callable[[int], float]) -> str:
    days = "".join(
        f"2024-{month:02}-{day:02},1.0,{tmin(month):.1f},{tmax(month):.1f}\n"
        for month in range(5, 11)
        for day in range(1, 31)
    )
    return DAILY + days


def point(lon: float, lat: float) -> str:
    return f'{{"type":"Point","coordinates":[{lon},{lat}]}}'


def collection(geometry: str, properties: str = "{}") -> str:
    return (
        '{"type":"FeatureCollection","features":[{"type":"Feature","properties":'
        f'{properties},"geometry":{geometry}}}]}}'
    )


def truncated_tiff() -> bytes:
    stream = io.BytesIO()
    Image.fromarray(np.arange(90_000, dtype=np.int32).reshape(300, 300)).save(
        stream, format="TIFF", tiffinfo={33550: (0.001, 0.001, 0.0), 33922: (0.0, 0.0, 0.0, -74.6, 41.7, 0.0)}
    )
    return stream.getvalue()[:30_000]


@dataclass(frozen=True)
class Bad:
    """A file that must be refused, and words its message must hold."""

    name: str
    kind: str
    file: str
    content: bytes
    words: tuple[str, ...]


BAD = (
    Bad("an empty file", "weather", "empty.csv", b"", ("empty.csv", "empty")),
    Bad("a binary file", "trees", "trees.csv", bytes(range(256)) * 40, ("trees.csv", "binary")),
    Bad(
        "degrees Fahrenheit as Celsius",
        "weather",
        "warm.csv",
        autumn(lambda m: 55.0 + m, lambda m: 70.0 + m).encode(),
        ("warm.csv", "Fahrenheit"),
    ),
    Bad(
        "day and month swapped",
        "weather",
        "swapped.csv",
        (DAILY + "2024-13-09,1.0,3.0,9.0\n2024-14-09,0.0,3.0,9.0\n").encode(),
        ("swapped.csv", "line 2", "swapped"),
    ),
    Bad(
        "days going backwards",
        "weather",
        "back.csv",
        (DAILY + "2024-09-03,1.0,3.0,9.0\n2024-09-01,0.0,3.0,9.0\n").encode(),
        ("back.csv", "line 3"),
    ),
    Bad(
        "a day twice",
        "weather",
        "twice.csv",
        (DAILY + "2024-09-03,1.0,3.0,9.0\n2024-09-03,0.0,3.0,9.0\n").encode(),
        ("twice.csv", "line 3", "twice"),
    ),
    Bad(
        "latitude and longitude swapped",
        "trails",
        "swapped.geojson",
        collection('{"type":"LineString","coordinates":[[41.60,-74.60],[41.61,-74.61]]}').encode(),
        ("swapped.geojson", "feature 1", "swapped"),
    ),
    Bad(
        "a tree of negative diameter",
        "trees",
        "trees.csv",
        b"latitude,longitude,species,dbh_cm\n41.6,-74.6,Quercus alba,-30\n",
        ("trees.csv", "line 2", "-30"),
    ),
    Bad(
        "a trail of one point",
        "trails",
        "short.gpx",
        b'<?xml version="1.0"?><gpx version="1.1" creator="t" xmlns="http://www.topografix.com/GPX/1/1">'
        b'<trk><trkseg><trkpt lat="41.6" lon="-74.6"/></trkseg></trk></gpx>',
        ("short.gpx", "1 point"),
    ),
    Bad("ten megabytes on one line", "weather", "long.csv", b"1," * 5_000_000, ("long.csv", "line")),
    Bad("a truncated GeoTIFF", "terrain", "cut.tif", truncated_tiff(), ("cut.tif",)),
)


@pytest.mark.parametrize("bad", BAD, ids=lambda bad: bad.name)
def test_a_bad_file_is_refused_in_words_and_changes_nothing(bad: Bad, home: Home, tmp_path: Path) -> None:
    file = tmp_path / bad.file
    file.write_bytes(bad.content)
    before = hashlib.sha256(home.ledger_path.read_bytes()).digest()
    answer = underoak("load", bad.kind, file, "--today", "2026-10-03", home=home.folder)
    assert answer.code == 3, answer.out + answer.err
    assert "Traceback" not in answer.err
    assert all(word in answer.err for word in bad.words), answer.err
    assert len(answer.err.splitlines()) <= 21
    assert hashlib.sha256(home.ledger_path.read_bytes()).digest() == before


def test_all_problems_of_all_files_come_at_once(home: Home, tmp_path: Path) -> None:
    first, second = tmp_path / "one.csv", tmp_path / "two.csv"
    first.write_text("latitude,longitude,species,dbh_cm\n41.6,-74.6,oak,-3\n41.6,-74.6,oak,-4\n")
    second.write_text("")
    answer = underoak("load", "trees", first, second, home=home.folder)
    assert answer.code == 3
    assert "one.csv, line 2" in answer.err
    assert "one.csv, line 3" in answer.err
    assert "two.csv" in answer.err


def test_the_good_part_is_stored_only_when_asked(home: Home, tmp_path: Path) -> None:
    file = tmp_path / "trees.csv"
    file.write_text("latitude,longitude,species,dbh_cm\n41.6,-74.6,oak,-3\n41.6,-74.6,oak,40\n")
    assert underoak("load", "trees", file, home=home.folder).code == 3
    taken = underoak("load", "trees", file, "--accept-good", "--json", home=home.folder)
    assert taken.code == 0, taken.err
    (loaded,) = taken.json()
    assert loaded["stored"] == 1
    assert "line 2" in loaded["problems"][0]["where"]


def test_loading_twice_changes_nothing(home: Home, tmp_path: Path) -> None:
    file = tmp_path / "trees.csv"
    file.write_text("latitude,longitude,species,dbh_cm\n41.6,-74.6,oak,40\n")
    assert underoak("load", "trees", file, home=home.folder).code == 0
    before = home.ledger_path.read_bytes()
    again = underoak("load", "trees", file, home=home.folder)
    assert again.code == 0
    assert "nothing changed" in again.out
    assert home.ledger_path.read_bytes() == before


def test_a_kind_that_does_not_exist_is_the_persons_mistake(home: Home, tmp_path: Path) -> None:
    answer = underoak("load", "mushrooms", tmp_path / "x.csv", home=home.folder)
    assert answer.code == 2
    assert "weather" in answer.err
