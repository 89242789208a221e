"""Visits, waypoints and other people's reports."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from underoak.errors import BadData
from underoak.intake.reports import read_reports
from underoak.intake.visits import read_visits, template_visits
from underoak.intake.waypoints_gpx import read_gpx_waypoints
from underoak.model.ground import Permission, Place, Spot
from underoak.model.visits import Visit

TODAY = date(2024, 11, 1)
RING = ((-74.51, 41.50), (-74.50, 41.50), (-74.50, 41.51), (-74.51, 41.51), (-74.51, 41.50))
WOOD = Place("place-wood", "Invented Wood", ((RING,),), Permission("unknown"))
OAK = Spot("spot-oak", WOOD.id, "Old Oak", -74.505, 41.505)
NAMES = {"grifola frondosa": "grifola-frondosa", "hen of the woods": "grifola-frondosa"}
HEADER = "date,place,spot,searched,taxon,stage,bodies,fresh_g,minutes,people,note,latitude,longitude,host"


def taxon_id_of(name: str) -> str | None:
    """The book's part here: two names of one taxon."""
    return NAMES.get(name.casefold())


def table(folder: Path, *rows: str, header: str = HEADER) -> Path:
    path = folder / "visits.csv"
    path.write_text("\n".join([header, *rows]) + "\n")
    return path


def read(path: Path) -> tuple[list[Spot], list[Visit], list[str]]:
    reading = read_visits(path, places=[WOOD], spots=[OAK], taxon_id_of=taxon_id_of, today=TODAY)
    spots = [r for r in reading.records if isinstance(r, Spot)]
    visits = [r for r in reading.records if isinstance(r, Visit)]
    return spots, visits, [problem.sentence() for problem in reading.problems]


def test_rows_become_visits_and_nothing_found_counts(tmp_path: Path) -> None:
    path = table(
        tmp_path,
        "# a note between",
        "2024-10-05,Invented Wood,old oak,thorough,Grifola frondosa,prime,1,2400,150,Ada + Ben,,,,",
        "2024-10-05,invented wood,split oak,look,,,,,150,Ben,,41.501,-74.501,red oak",
        "2024-10-12,place-wood,Old Oak,0.25,none,,,,,,,,,",
        "2024-10-12,Invented Wood,split oak,,,,,,,,,,,",
    )
    spots, visits, problems = read(path)
    assert problems == []
    (split,) = spots
    assert (split.host_group, split.place_id) == ("red_oak", WOOD.id)
    first, second = visits
    assert (first.minutes, first.people) == (150.0, ("Ada", "Ben"))
    assert [(s.spot_id, s.thoroughness) for s in first.searches] == [("spot-oak", 0.9), (split.id, 0.6)]
    (find,) = first.finds
    assert (find.taxon_id, find.stage, find.bodies, find.fresh_g) == ("grifola-frondosa", "prime", 1, 2400.0)
    assert second.finds == ()
    assert [s.thoroughness for s in second.searches] == [0.25, 0.6]
    assert read(path)[1] == visits


def test_two_finds_alike_on_one_day_stay_apart(tmp_path: Path) -> None:
    row = "2024-10-05,Invented Wood,old oak,look,Hen of the Woods,prime,1,900,,,,,,"
    _, (visit,), problems = read(table(tmp_path, row, row))
    assert len({find.id for find in visit.finds}) == 2
    assert problems == []


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("2025-10-05,Invented Wood,old oak,,,,,,,,,,,", "line 2, date: 2025-10-05 lies in the future"),
        ("0224-10-05,Invented Wood,old oak,,,,,,,,,,,", "too long ago"),
        ("10/05/2024,Invented Wood,old oak,,,,,,,,,,,", "more than one order"),
        ("2024-13-05,Invented Wood,old oak,,,,,,,,,,,", "not in the calendar"),
        ("yesterday,Invented Wood,old oak,,,,,,,,,,,", "is no day"),
        ("2024-10-05,Elsewhere,old oak,,,,,,,,,,,", "line 2, place: there is no place called 'Elsewhere'"),
        ("2024-10-05,Invented Wood,new oak,,,,,,,,,,,", "line 2, spot: there is no spot called 'new oak'"),
        ("2024-10-05,Invented Wood,,,,,,,,,,,,", "no spot is named"),
        ("2024-10-05,Invented Wood,new oak,,,,,,,,,-74.5,41.5,", "line 2, spot"),
        (
            "2024-10-05,Invented Wood,old oak,,Blue thing,prime,,,,,,,,",
            "line 2, taxon: the book knows no 'Blue thing'",
        ),
        ("2024-10-05,Invented Wood,old oak,,Grifola frondosa,,,,,,,,,", "line 2, stage"),
        ("2024-10-05,Invented Wood,old oak,,Grifola frondosa,prime,1.5,,,,,,,", "1.5 fruit bodies"),
        ("2024-10-05,Invented Wood,old oak,,Grifola frondosa,prime,,-4,,,,,,", "fresh_g '-4'"),
        ("2024-10-05,Invented Wood,old oak,closely,,,,,,,,,,", "searched 'closely'"),
        ("2024-10-05,Invented Wood,old oak,7,,,,,,,,,,", "searched '7'"),
        ("2024-10-05,Invented Wood,old oak", "3 cells"),
    ],
)
def test_each_bad_row_is_named(tmp_path: Path, row: str, said: str) -> None:
    spots, visits, problems = read(table(tmp_path, row))
    assert (spots, visits) == ([], [])
    assert len(problems) == 1
    assert said in problems[0]
    assert "line 2" in problems[0]


def test_a_row_with_three_faults_tells_all_three(tmp_path: Path) -> None:
    _, _, problems = read(table(tmp_path, "2030-10-05,Elsewhere,old oak,,Blue thing,prime,,,,,,,,"))
    assert len(problems) == 3


def test_two_lengths_of_one_visit(tmp_path: Path) -> None:
    rows = [f"2024-10-05,Invented Wood,old oak,,,,,,{minutes},,,,," for minutes in (90, 95)]
    assert "minutes 95 and 90" in read(table(tmp_path, *rows))[2][0]


def test_places_of_one_name_must_be_named_by_id(tmp_path: Path) -> None:
    other = Place("place-other", WOOD.name, ((RING,),), Permission("unknown"))
    path = table(tmp_path, "2024-10-05,Invented Wood,Old Oak,,,,,,,,,,,")
    reading = read_visits(path, places=[WOOD, other], spots=[OAK], taxon_id_of=taxon_id_of, today=TODAY)
    assert "2 places are called" in reading.problems[0].what


def test_the_template_reads_as_empty_and_its_example_as_a_visit(tmp_path: Path) -> None:
    text = template_visits()
    path = tmp_path / "template.csv"
    path.write_text(text)
    with pytest.raises(BadData, match="no row"):
        read(path)
    example = [line[2:] for line in text.splitlines() if line.startswith("# 2024")]
    header = next(line for line in text.splitlines() if not line.startswith("#"))
    spots, visits, problems = read(table(tmp_path, *example, header=header))
    assert problems == []
    assert len(visits) == 1
    assert len(spots) == 1


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "empty"),
        (b"\0\0\0", "binary"),
        (b"a,b\n1,2\n", "lacks date, place, spot"),
        (b"y" * 10_000_000, "characters"),
    ],
)
def test_files_that_are_no_visits(tmp_path: Path, content: bytes, said: str) -> None:
    path = tmp_path / "bad.csv"
    path.write_bytes(content)
    with pytest.raises(BadData) as error:
        read(path)
    assert said in str(error.value)


WAYPOINTS = """<gpx>
<wpt lat="41.505" lon="-74.505"><time>2024-10-06T01:30:00Z</time><name>Big oak</name>
  <desc>Hen of the woods, prime, 2 lb</desc></wpt>
<wpt lat="41.506" lon="-74.506"><time>2024-10-06T14:00:00Z</time><name>Grifola frondosa</name></wpt>
<wpt lat="41.507" lon="-74.507"><name>leaning white oak</name></wpt>
<wpt lat="43.000" lon="-74.507"><name>far away</name></wpt>
<wpt lat="41.508" lon="-74.508"/>
</gpx>"""


def test_waypoints_become_spots_and_finds_only_with_a_stage(tmp_path: Path) -> None:
    path = tmp_path / "way.gpx"
    path.write_text(WAYPOINTS)
    reading = read_gpx_waypoints(
        path, places=[WOOD], spots=[], taxon_id_of=taxon_id_of, today=TODAY, timezone="America/New_York"
    )
    spots = {r.name: r for r in reading.records if isinstance(r, Spot)}
    assert sorted(spots) == ["Big oak", "Grifola frondosa", "leaning white oak"]
    assert spots["leaning white oak"].host_group == "white_oak"
    (visit,) = [r for r in reading.records if isinstance(r, Visit)]
    assert visit.day == date(2024, 10, 5)  # half past nine in the evening in New York
    (find,) = visit.finds
    assert find.fresh_g == pytest.approx(907.2, abs=0.05)
    assert [p.where for p in reading.problems] == ["way.gpx, waypoint 4", "way.gpx, waypoint 5"]


DWC = (
    "occurrenceID\tscientificName\teventDate\tdecimalLatitude\tdecimalLongitude\t"
    "coordinateUncertaintyInMeters\toccurrenceStatus"
)


def reports(folder: Path, *rows: str, header: str = DWC) -> Path:
    path = folder / "occurrence.txt"
    path.write_text("\n".join([header, *rows]) + "\n")
    return path


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("2014-10-05", date(2014, 10, 5)),
        ("2014-10-05T14:30:00Z", date(2014, 10, 5)),
        ("2014-10-05 14:30:00", date(2014, 10, 5)),
        ("2014-10-05/2014-10-05", date(2014, 10, 5)),
        ("2014-10-01/2014-10-05", date(2014, 10, 3)),
        ("2014-10-01/05", date(2014, 10, 3)),
        ("2014-09-28/10-02", date(2014, 9, 30)),
        ("2014-10-05T10:00/2014-10-05T12:00", date(2014, 10, 5)),
    ],
)
def test_event_dates_and_short_intervals(tmp_path: Path, text: str, day: date) -> None:
    path = reports(
        tmp_path,
        f"1\tGrifola frondosa\t{text}\t41.5\t-74.5\t100\tPRESENT",
        '2\tBoletus "x\t2014-10-05\t\t\t\tabsent',
    )
    reading = read_reports(path, taxon_id_of=taxon_id_of, today=TODAY)
    first, second = reading.records
    assert not reading.problems
    assert (first.day, first.taxon_id, first.uncertainty_m, first.present) == (
        day,
        "grifola-frondosa",
        100.0,
        True,
    )
    assert (second.taxon_id, second.longitude_deg, second.present) == (None, None, False)


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("1\tGrifola frondosa\t2014-10\t41.5\t-74.5\t\t", "'2014-10' is no day"),
        ("1\tGrifola frondosa\t2014\t41.5\t-74.5\t\t", "is no day"),
        ("1\tGrifola frondosa\t05/10/2014\t41.5\t-74.5\t\t", "more than one order"),
        ("1\tGrifola frondosa\t2014-09-01/2014-10-31\t41.5\t-74.5\t\t", "spans 60 days"),
        ("1\tGrifola frondosa\t2014-10-05/2014-10-01\t41.5\t-74.5\t\t", "spans -4 days"),
        ("1\tGrifola frondosa\t\t41.5\t-74.5\t\t", "is no day"),
        ("1\t\t2014-10-05\t41.5\t-74.5\t\t", "no scientificName"),
        ("1\tGrifola frondosa\t2014-10-05\t141.5\t-74.5\t\t", "occurrence.txt, line 2"),
        ("1\tGrifola frondosa\t2014-10-05\t\t141.5\t\t", "position"),
        ("1\tGrifola frondosa\t2014-10-05\t41.5\t-74.5\t-3\t", "coordinateUncertaintyInMeters '-3'"),
        ("1\tGrifola frondosa\t2014-10-05\t41.5\t-74.5\t\tmaybe", "occurrenceStatus 'maybe'"),
        ("1\tGrifola frondosa\t2034-10-05\t41.5\t-74.5\t\t", "future"),
    ],
)
def test_each_bad_report_is_named(tmp_path: Path, row: str, said: str) -> None:
    reading = read_reports(reports(tmp_path, row), taxon_id_of=taxon_id_of, today=TODAY)
    assert reading.records == ()
    assert len(reading.problems) == 1
    assert said in reading.problems[0].sentence()
    assert "line 2" in reading.problems[0].where


def test_year_month_day_columns_and_repeated_rows(tmp_path: Path) -> None:
    rows = ["Grifola frondosa,2014,9,5", "Grifola frondosa,2014,9,5"]
    reading = read_reports(
        reports(tmp_path, *rows, header="scientificName,year,month,day"), taxon_id_of=taxon_id_of, today=TODAY
    )
    (report,) = reading.records
    assert report.day == date(2014, 9, 5)
    assert "1 row told before" in reading.understood[1]


def test_thousands_of_bad_rows_are_counted(tmp_path: Path) -> None:
    path = reports(tmp_path, *[f"{k}\tA\t2014\t\t\t\t" for k in range(1000)])
    reading = read_reports(path, taxon_id_of=taxon_id_of, today=TODAY)
    assert len(reading.problems) == 201
    assert "800 more" in reading.problems[-1].what


def test_a_table_without_the_terms(tmp_path: Path) -> None:
    with pytest.raises(BadData, match="lacks scientificName"):
        read_reports(reports(tmp_path, "a,b", header="x,y"), taxon_id_of=taxon_id_of, today=TODAY)
