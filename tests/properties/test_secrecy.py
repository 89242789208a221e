"""Attacks on what is shared: nobody learns more of a spot than its cell.

The strongest test is that two worlds cannot be told apart: the wood is moved anywhere within its cell and
the spots anywhere within the wood, and every export stays the same to the byte. Then no method whatever,
and no number of exports, tells where in the cell the wood stands.
"""

from __future__ import annotations

import io
import json
import random
import re
import zipfile
from datetime import date, timedelta
from pathlib import Path

import pytest
from PIL import Image

from tests.shared_home import SECRET_WORDS, TODAY, Ground, invented_home
from underoak.desk.keep_photo import keep_photo
from underoak.desk.share_finds import KEY_NAME, WRITERS, Choices, share_finds
from underoak.errors import UserMistake
from underoak.export.blur import cell_of
from underoak.ledger.database import open_ledger
from underoak.settings import Home

SEED = 20261020


def exports(home: Home, folder: Path, choices: Choices = Choices(), today: date = TODAY) -> dict[str, bytes]:  # noqa: B008
    """Every format of one ledger, as bytes by ending."""
    folder.mkdir(exist_ok=True)
    made = {}
    for ending in WRITERS:
        path = folder / f"x{ending}"
        path.unlink(missing_ok=True)
        share_finds(home, path, choices, today=today)
        made[ending] = path.read_bytes()
    return made


def texts(made: dict[str, bytes]) -> str:
    """All that can be read in all formats together."""
    with zipfile.ZipFile(io.BytesIO(made[".zip"])) as archive:
        inside = [archive.read(name).decode() for name in archive.namelist() if not name.endswith(".jpg")]
        names = archive.namelist()
    return "\n".join([*inside, *names, *(made[e].decode() for e in (".csv", ".gpx", ".geojson"))])


def test_worlds_that_differ_within_the_cell_export_the_same_bytes(tmp_path: Path) -> None:
    rng = random.Random(SEED)  # noqa: S311 - a seed, not a secret
    cell = cell_of(-74.51, 41.58, 10)
    seen = set()
    for number in range(4):
        middle = (rng.uniform(cell.west_deg, cell.east_deg), rng.uniform(cell.south_deg, cell.north_deg))
        around = [(rng.uniform(-0.01, 0.01), rng.uniform(-0.01, 0.01)) for _ in range(2)]
        home = invented_home(tmp_path / f"h{number}", Ground(middle, *around))
        (home.folder / KEY_NAME).write_text("00" * 32)
        seen.add(tuple(exports(home, tmp_path / f"x{number}").items()))
    assert len(seen) == 1


def test_a_wood_in_another_cell_exports_other_bytes(tmp_path: Path) -> None:
    """The test above can fail: it does not hold across cells."""
    made = []
    for number, lon in enumerate((-74.51, -74.81)):
        home = invented_home(tmp_path / f"h{number}", Ground((lon, 41.58)))
        (home.folder / KEY_NAME).write_text("00" * 32)
        made.append(exports(home, tmp_path / f"x{number}"))
    assert all(made[0][ending] != made[1][ending] for ending in WRITERS)


def test_two_hundred_exports_hold_one_position(tmp_path: Path) -> None:
    """Averaging, other days, other details, other cell sizes: the smallest cell is all there is."""
    home = invented_home(tmp_path / "home")
    rng = random.Random(SEED)  # noqa: S311 - a seed, not a secret
    positions, smallest = set(), cell_of(-74.51, 41.58, 10)
    for number in range(200):
        choices = Choices(
            dates=rng.choice(["day", "month", "year"]), cell_km=rng.choice([None, None, None, 32.0, 100.0]),
            names=rng.random() < 0.5, replace=True,
        )  # fmt: skip
        path = tmp_path / f"x{rng.choice(list(WRITERS))}"
        share_finds(home, path, choices, today=TODAY + timedelta(days=number))
        if choices.cell_km is None:
            positions |= found_positions(path)
        else:
            wider = cell_of(-74.51, 41.58, choices.cell_km)
            assert wider.west_deg <= smallest.west_deg + 1e-9
            assert smallest.east_deg <= wider.east_deg + 1e-9
    assert positions == {smallest.centre}


def found_positions(path: Path) -> set[tuple[float, float]]:
    """Every position in a file, as (longitude, latitude)."""
    if path.suffix == ".geojson":
        rings = [f["geometry"]["coordinates"][0] for f in json.loads(path.read_text())["features"]]
        middles = [[sum(p[i] for p in ring[:4]) / 4 for i in (0, 1)] for ring in rings]
        return {(round(x, 5), round(y, 5)) for x, y in middles}
    if path.suffix == ".gpx":
        found = re.findall(r'lat="([-\d.]+)" lon="([-\d.]+)"', path.read_text())
        return {(float(lon), float(lat)) for lat, lon in found}
    text = (
        path.read_text() if path.suffix == ".csv" else zipfile.ZipFile(path).read("occurrence.txt").decode()
    )
    found = re.findall(r"(4\d\.\d+)[,\t](-7\d\.\d+)", text)
    return {(float(lon), float(lat)) for lat, lon in found}


def test_names_notes_people_hosts_and_times_stay_at_home(tmp_path: Path) -> None:
    home = invented_home(tmp_path / "home")
    text = texts(exports(home, tmp_path / "x", Choices(dates="month")))
    text = re.sub(r"urn:uuid:[-0-9a-f]{36}|underoak", "", text)
    for word in (*SECRET_WORDS, "93", "wood\t", "oak"):
        assert word not in text, word
    assert not re.search(r"2026-10-(?!20\b)\d\d", text)  # only the day of the export itself
    assert not re.search(r"\d\d:\d\d", text)
    assert "-74.5" not in text.replace(f"{cell_of(-74.51, 41.58, 10).centre[0]:.5f}", "")


def test_a_withheld_spot_is_nowhere(tmp_path: Path) -> None:
    """The same bytes as from a ledger that never knew the spot."""
    home = invented_home(tmp_path / "home")
    (home.folder / KEY_NAME).write_text("11" * 32)
    with_it = exports(home, tmp_path / "x")
    connection = open_ledger(home.ledger)
    connection.execute("DELETE FROM search WHERE spot_id = 'elm'")
    connection.execute("DELETE FROM find WHERE spot_id = 'elm'")
    connection.execute("DELETE FROM spot WHERE id = 'elm'")
    connection.close()
    assert exports(home, tmp_path / "y") == with_it
    assert "Hypsizygus" not in texts(with_it)
    assert "2025" not in texts(with_it).replace("2025-07-10", "")


def test_order_and_ids_tell_nothing(tmp_path: Path) -> None:
    """Rows in another order in the ledger give the same file; another key other ids for the same rows."""
    home = invented_home(tmp_path / "home")
    (home.folder / KEY_NAME).write_text("22" * 32)
    first = exports(home, tmp_path / "x")
    connection = open_ledger(home.ledger)
    rows = connection.execute("SELECT * FROM search").fetchall()
    connection.execute("DELETE FROM search")
    connection.executemany("INSERT INTO search VALUES (?, ?, ?)", [tuple(r) for r in reversed(rows)])
    connection.close()
    assert exports(home, tmp_path / "y") == first
    (home.folder / KEY_NAME).write_text("33" * 32)
    other = exports(home, tmp_path / "z")
    ids = [set(re.findall(r"urn:uuid:[-0-9a-f]{36}", made[".csv"].decode())) for made in (first, other)]
    assert len(ids[0]) == len(ids[1])
    assert not ids[0] & ids[1]


def test_the_zip_tells_neither_when_nor_where_it_was_packed(tmp_path: Path) -> None:
    home = invented_home(tmp_path / "home")
    with zipfile.ZipFile(io.BytesIO(exports(home, tmp_path / "x")[".zip"])) as archive:
        infos = archive.infolist()
    assert {info.date_time for info in infos} == {(1980, 1, 1, 0, 0, 0)}
    assert [info.filename for info in infos] == sorted(info.filename for info in infos)
    assert {(info.extra, info.comment, info.create_system) for info in infos} == {(b"", b"", 3)}


def test_photos_lose_every_tag_and_their_names(tmp_path: Path) -> None:
    home = invented_home(tmp_path / "home")
    picture = Image.new("RGB", (300, 200), (120, 90, 60))
    exif = picture.getexif()
    exif[0x0132] = "2026:10:03 11:22:33"
    exif[0x010F] = "Hidden Hollow"
    exif.get_ifd(0x8825).update({1: "N", 2: (41.0, 34.0, 48.0), 3: "W", 4: (74.0, 30.0, 36.0)})
    path = tmp_path / "Secret Elm.jpg"
    picture.save(path, exif=exif, comment=b"The Old Oak")
    kept = keep_photo(home, "f1", path, shows="The Old Oak", today=TODAY)
    keep_photo(home, "f2", path, today=TODAY)
    assert kept.taken_on == date(2026, 10, 3)
    assert (home.photos / kept.file).read_bytes() == path.read_bytes()
    made = exports(home, tmp_path / "x", Choices(photos=True))
    with zipfile.ZipFile(io.BytesIO(made[".zip"])) as archive:
        (name,) = [n for n in archive.namelist() if n.startswith("photos/")]
        data = archive.read(name)
    with Image.open(io.BytesIO(data)) as shared:
        assert not dict(shared.getexif())
        assert set(shared.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
    assert b"Exif" not in data
    assert b"Oak" not in data
    assert kept.sha256[:12] not in name
    assert not any(word in texts(made) for word in SECRET_WORDS)


def test_cells_cannot_be_made_smaller_than_the_household_chose(tmp_path: Path) -> None:
    home = invented_home(tmp_path / "home")
    with pytest.raises(UserMistake, match="cells of 4 km"):
        share_finds(home, tmp_path / "x.csv", Choices(cell_km=4.0), today=TODAY)
