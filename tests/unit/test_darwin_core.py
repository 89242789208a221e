"""Darwin Core archives: valid by the published schemas, whole by our own checks, read by others and back."""

from __future__ import annotations

import csv
import io
import re
import warnings
import zipfile
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from defusedxml import ElementTree
from PIL import Image

from tests.outside_data import beside
from tests.shared_home import TODAY, invented_home
from underoak.desk.keep_photo import keep_photo
from underoak.desk.share_finds import Choices, share_finds
from underoak.errors import BadData
from underoak.export.csv_table import cell_text, csv_text, defused
from underoak.export.darwin_core_rows import IDENTIFICATION, MEASUREMENT, MULTIMEDIA, OCCURRENCE
from underoak.intake.darwin_core import read_darwin_core
from underoak.intake.reading import Reading
from underoak.intake.reports import read_reports
from underoak.model.visits import Report


@pytest.fixture(name="archive", scope="module")
def _archive(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The archive of the invented home."""
    folder = tmp_path_factory.mktemp("archive")
    share_finds(invented_home(folder / "home"), folder / "finds.zip", Choices(), today=TODAY)
    return folder / "finds.zip"


def member(archive: Path, name: str) -> bytes:
    with zipfile.ZipFile(archive) as opened:
        return opened.read(name)


def read(path: Path) -> Reading[tuple[Report, ...]]:
    known = {"Grifola frondosa": "grifola_frondosa"}
    return read_darwin_core(path, taxon_id_of=known.get, today=TODAY)


def spoilt(archive: Path, path: Path, name: str, change: Callable[[str], str | None]) -> Path:
    """The archive with one member changed, or left out."""
    with zipfile.ZipFile(archive) as old, zipfile.ZipFile(path, "w") as new:
        for each in old.namelist():
            text: str | None = old.read(each).decode()
            text = change(text or "") if each == name else text
            if text is not None:
                new.writestr(each, text)
    return path


def test_meta_is_valid_by_the_tdwg_schema(archive: Path) -> None:
    """tdwg_dwc_text.xsd, Darwin Core Text Guide."""
    etree = pytest.importorskip("lxml.etree")
    text = beside("dwc", "tdwg_dwc_text.xsd").read_text()
    schema = etree.XMLSchema(etree.fromstring(text.encode(), etree.XMLParser(no_network=True)))
    schema.assertValid(etree.fromstring(member(archive, "meta.xml")))


def test_eml_is_valid_by_the_eml_schema(archive: Path) -> None:
    """EML 2.2.0, eml.xsd."""
    etree = pytest.importorskip("lxml.etree")
    schema = etree.XMLSchema(etree.parse(str(beside("eml-2.2.0", "eml.xsd"))))
    schema.assertValid(etree.fromstring(member(archive, "eml.xml")))
    lacking = re.sub(rb"<contact>.*</contact>", b"", member(archive, "eml.xml"))
    assert not schema.validate(etree.fromstring(lacking))  # the check can fail


@pytest.mark.parametrize(
    ("file", "table"),
    [
        ("dwc_occurrence_2025-07-10.xml", OCCURRENCE),
        ("measurements_or_facts_2025-07-10.xml", MEASUREMENT),
        ("identification_history_2025-07-10.xml", IDENTIFICATION),
        ("multimedia.xml", MULTIMEDIA),
    ],
)
def test_every_term_is_in_the_published_list(file: str, table: tuple[str, tuple[str, ...]]) -> None:
    """The registered lists of terms of each kind of row, with their row types."""
    root = ElementTree.fromstring(beside("dwc", file).read_bytes())
    known = {each.get("qualName") for each in root.iter() if each.get("qualName")}
    terms = table[1] if table is OCCURRENCE else table[1][1:]
    required = {each.get("qualName") for each in root.iter() if each.get("required") == "true"}
    assert set(terms) <= known
    assert required <= set(table[1])
    assert root.get("rowType") == table[0]


def test_a_picture_is_told_in_the_words_of_its_vocabulary(tmp_path: Path) -> None:
    """StillImage is of the DCMI Type Vocabulary, image/jpeg a media type (RFC 2046); both from memory."""
    home = invented_home(tmp_path / "home")
    Image.new("RGB", (30, 20), (9, 9, 9)).save(tmp_path / "a.png")
    keep_photo(home, "f1", tmp_path / "a.png", shows="the pores", today=TODAY)
    share_finds(home, tmp_path / "finds.zip", Choices(photos=True), today=TODAY)
    lines = member(tmp_path / "finds.zip", "multimedia.txt").decode().splitlines()
    _, row = csv.reader(lines, delimiter="\t")
    assert row[1:3] == ["StillImage", "image/jpeg"]
    assert member(tmp_path / "finds.zip", row[3]).startswith(b"\xff\xd8")
    assert "the pores" not in row  # what a person wrote stays at home


def test_python_dwca_reader_reads_it(archive: Path) -> None:
    """python-dwca-reader, a reader by others."""
    read_module = pytest.importorskip("dwca.read")
    terms = "http://rs.tdwg.org/dwc/terms/"
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        with read_module.DwCAReader(str(archive)) as opened:
            rows = list(opened)
            names = {row.data[terms + "scientificName"] for row in rows}
            facts = [e for row in rows for e in row.extensions if e.rowtype.endswith("MeasurementOrFact")]
            assert opened.metadata is not None
    statuses = [row.data[terms + "occurrenceStatus"] for row in rows]
    assert sorted(statuses) == ["absent", "present"]
    assert names == {"Grifola frondosa"}
    found = {(f.data[terms + "measurementType"], f.data[terms + "measurementValue"]) for f in facts}
    assert found == {
        ("age", "mature"),
        ("hymenium", "pores"),
        ("ring", "absent"),
        ("smell", "looked at, could not be told"),
    }


def test_our_own_reader_takes_it_back(archive: Path) -> None:
    reading = read(archive)
    assert reading.problems == ()
    found = {(r.day, r.present, r.taxon_id, r.uncertainty_m) for r in reading.records}
    assert found == {
        (date(2026, 10, 3), True, "grifola_frondosa", 19500.0),
        (date(2026, 10, 10), False, "grifola_frondosa", 19500.0),
    }


def test_the_table_alone_reads_back_to_the_same_reports(archive: Path, tmp_path: Path) -> None:
    share_finds(invented_home(tmp_path / "home"), tmp_path / "x.csv", Choices(), today=TODAY)
    table = read_reports(tmp_path / "x.csv", taxon_id_of=lambda _: "grifola_frondosa", today=TODAY)
    assert table.problems == ()
    whole = {(r.day, r.present, r.longitude_deg, r.latitude_deg) for r in read(archive).records}
    assert whole == {(r.day, r.present, r.longitude_deg, r.latitude_deg) for r in table.records}


CORE_ID = '    <id index="0"/>\n'
FAULTS: list[tuple[str, Callable[[str], str | None], str]] = [
    ("meta.xml", lambda t: t.replace(CORE_ID, "", 1), "names no id column"),
    ("meta.xml", lambda t: t.replace('<coreid index="0"/>', "", 1), "no coreid"),
    ("meta.xml", lambda t: t.replace('index="3"', 'index="70"', 1), "at least 71"),
    ("meta.xml", lambda t: t.replace('index="3"', 'index="2"', 1), "named twice"),
    ("meta.xml", lambda t: t.replace('ignoreHeaderLines="1"', 'ignoreHeaderLines="0"', 1), "is a header"),
    ("meta.xml", lambda t: t.replace("terms/Occurrence", "terms/Taxon", 1), "Occurrence as core"),
    ("meta.xml", lambda t: t.replace("<location>occurrence.txt</location>", ""), "no file is named"),
    ("meta.xml", lambda _: None, "no 'meta.xml'"),
    ("eml.xml", lambda t: re.sub("<pubDate>.*</pubDate>", "", t), "no pubDate"),
    ("eml.xml", lambda t: re.sub("<abstract>.*</abstract>", "", t), "no abstract"),
    ("eml.xml", lambda _: None, "no 'eml.xml'"),
    ("occurrence.txt", lambda t: t + t.splitlines()[1] + "\n", "stands twice"),
    ("occurrence.txt", lambda t: t + "short\trow\n", "2 cells"),
    ("measurementorfact.txt", lambda t: t.replace("urn:uuid:", "urn:nobody:", 2), "the core does not hold"),
    ("identification.txt", lambda _: None, "no 'identification.txt'"),
]


@pytest.mark.parametrize(("name", "change", "words"), FAULTS, ids=[words for *_, words in FAULTS])
def test_faults_that_the_schemas_let_pass_are_told(
    archive: Path, tmp_path: Path, name: str, change: Callable[[str], str | None], words: str
) -> None:
    path = spoilt(archive, tmp_path / "spoilt.zip", name, change)
    try:
        problems = read(path).problems
    except BadData as error:
        problems = error.problems
    told = [problem.sentence() for problem in problems]
    assert any(words in sentence for sentence in told), told
    assert all("spoilt.zip" in sentence for sentence in told)


def test_a_zip_that_unpacks_to_too_much_is_refused(
    archive: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("underoak.intake.darwin_core.MOST_UNPACKED", 50_000)
    path = spoilt(archive, tmp_path / "x.zip", "occurrence.txt", lambda t: t + "\n" * 100_000)
    with pytest.raises(BadData, match="too many bytes"):
        read(path)


def test_entities_are_refused(archive: Path, tmp_path: Path) -> None:
    bomb = '<?xml version="1.0"?><!DOCTYPE a [<!ENTITY b "c">]><archive>&b;</archive>'
    with pytest.raises(BadData, match="document type"):
        read(spoilt(archive, tmp_path / "x.zip", "meta.xml", lambda _: bomb))


def test_names_of_members_lead_nowhere(archive: Path, tmp_path: Path) -> None:
    path = spoilt(
        archive, tmp_path / "x.zip", "meta.xml", lambda t: t.replace("occurrence.txt", "../../../etc/passwd")
    )
    with pytest.raises(BadData, match="in the archive"):
        read(path)


def test_no_cell_is_taken_for_a_formula() -> None:
    """OWASP's list of signs that begin a formula (from memory)."""
    for text in ("=1+2", "+1-2", "-2+3", "@SUM(A1)", " =cmd|' /C calc'!A0", "\t=1", "\r=1", "＝1", "|x"):
        assert defused(text).startswith("'"), text
    assert [cell_text(v) for v in (-74.5, "-74.50000", "+3", None, 1500.0, 2)] == [
        "-74.5", "-74.50000", "+3", "", "1500", "2",
    ]  # fmt: skip
    assert (
        csv_text(["a", "b"], [['=HYPERLINK("x")', 'say "hi"']])
        == 'a,b\r\n"\'=HYPERLINK(""x"")","say ""hi"""\r\n'
    )


def test_gpx_and_geojson_are_read_by_others(tmp_path: Path) -> None:
    """gpxpy and shapely; GPX 1.1 and RFC 7946 (outer rings against the clock)."""
    import json

    import gpxpy
    from shapely.geometry import shape

    home = invented_home(tmp_path / "home")
    for name in ("x.gpx", "x.geojson"):
        share_finds(home, tmp_path / name, Choices(), today=TODAY)
    gpx: Any = gpxpy.parse((tmp_path / "x.gpx").read_text())
    (feature,) = json.loads((tmp_path / "x.geojson").read_text())["features"]
    cell: Any = shape(feature["geometry"])
    assert gpx.version == "1.1"
    assert cell.is_valid
    assert cell.exterior.is_ccw
    assert gpx.time is None
    (point,) = gpx.waypoints
    assert (
        cell.centroid.distance(shape({"type": "Point", "coordinates": [point.longitude, point.latitude]}))
        < 1e-5
    )


def test_the_archive_is_the_same_every_time(tmp_path: Path) -> None:
    home = invented_home(tmp_path / "home")
    made = []
    for name in ("a.zip", "b.zip"):
        share_finds(home, tmp_path / name, Choices(), today=TODAY)
        made.append((tmp_path / name).read_bytes())
    assert made[0] == made[1]
    assert zipfile.ZipFile(io.BytesIO(made[0])).testzip() is None
