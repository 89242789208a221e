"""One walk from a ledger of an invented wood: plan, limits, refusals and files."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, time, timedelta
from pathlib import Path
from xml.etree.ElementTree import Element

import gpxpy
import pytest
from click.testing import CliRunner
from defusedxml.ElementTree import parse

from underoak.cli.main import underoak
from underoak.desk.plan_days import days_named, plan_days
from underoak.desk.plan_walk import plan_walk
from underoak.desk.walk_plan import PlannedWalk, WalkWish
from underoak.desk.walk_problem import kitchen_takes_kg
from underoak.desk.walk_sheets import sheet_name, write_walk_sheets
from underoak.errors import NoAnswer, UserMistake
from underoak.ledger.database import open_ledger, writing
from underoak.ledger.ground import store_trails, store_trees
from underoak.ledger.places import store_car_parks, store_places, store_spots
from underoak.model.ground import CarPark, Permission, Place, Spot, Trail, Tree
from underoak.settings import Home
from underoak.sheets.pdf import compile_typst
from underoak.sheets.wording import WALK_CAUTIONS
from underoak.walk.problem import WalkProblem
from underoak.walk.result import WalkResult
from underoak.walk.several import Given, Slot

pytestmark = pytest.mark.usefixtures("plain_kitchen")

LON, LAT = -74.5, 41.5
M_LON, M_LAT = 1.0 / 83_400.0, 1.0 / 111_060.0
DAY = date(2026, 10, 3)
#: One kind only: the outlook of all takes a good part of a small walk's time.
WISH = WalkWish(
    day=DAY, hours=0.75, place="Invented Wood", car_park="Lower lot", seed=3, seconds=math.inf, rounds=15,
    taxa=("Grifola frondosa",),
)  # fmt: skip
ALLOWED = Permission(
    status="allowed", who="Invented Parks", limit_kg_person_day=2.0, expires_on=date(2026, 12, 31)
)


def at(east_m: float, north_m: float) -> tuple[float, float]:
    return LON + east_m * M_LON, LAT + north_m * M_LAT


def invented_wood(permission: Permission) -> Place:
    ring = (at(-100, -100), at(1300, -100), at(1300, 1300), at(-100, 1300), at(-100, -100))
    return Place("wood", "Invented Wood", ((ring,),), permission)


def fill(home: Home, permission: Permission = ALLOWED, *, closed: str = "") -> None:
    lines = {f"Row {k}": (at(0, 300 * k), at(900, 300 * k)) for k in range(4)} | {
        f"Column {k}": (at(300 * k, 0), at(300 * k, 900)) for k in range(4)
    }
    trails = [Trail(name, name, points, closed=name == closed) for name, points in lines.items()]
    trees = [
        Tree(
            f"t{k}",
            *at(140 + 290 * (k % 3), 300 * (k // 3) + 8),
            "Quercus alba",
            "white_oak",
            60.0 + 5 * k,
            "living",
        )
        for k in range(9)
    ]
    connection = open_ledger(home.ledger)
    with writing(connection):
        store_places(connection, [invented_wood(permission)])
        store_car_parks(connection, [CarPark("lot", "Lower lot", *at(0, -20))])
        store_spots(connection, [Spot("s1", "wood", "far oak", *at(880, 905), "white_oak", 110.0)])
        store_trails(connection, trails)
        store_trees(connection, trees)
    connection.close()


def plan(home: Home, **changes: object) -> PlannedWalk:
    return plan_walk(home, replace(WISH, **changes), today=DAY - timedelta(days=1))  # type: ignore[arg-type]


def test_a_plan_keeps_its_limits_and_is_stored(home: Home) -> None:
    fill(home)
    walk = plan(home)
    answer = walk.plan
    assert answer.gathering
    assert 0.0 < answer.kg <= answer.bound_kg
    assert answer.proved
    assert answer.minutes <= 45.0
    assert answer.back_at - answer.leaves_at <= timedelta(minutes=45)
    assert answer.leaves_at < answer.turn_back_at < answer.leaves_at + timedelta(minutes=45)
    assert answer.cautions == WALK_CAUTIONS
    assert [line.turn.number for line in answer.turns] == list(range(1, len(answer.turns) + 1))
    assert sum(line.turn.length_m for line in answer.turns) == pytest.approx(answer.length_m)
    connection = open_ledger(home.ledger)
    row = connection.execute("SELECT kind, document FROM answer WHERE id = ?", (answer.answer_id,)).fetchone()
    connection.close()
    assert row["kind"] == "walk"
    assert json.loads(row["document"])["kg"] == pytest.approx(answer.kg)


def test_the_same_seed_gives_the_same_plan(home: Home) -> None:
    fill(home)
    assert plan(home).plan == plan(home).plan


def test_a_left_out_spot_is_explained(home: Home) -> None:
    fill(home)
    left = plan(home, hours=0.4).plan.left_out
    assert len(left) == 1
    assert left[0].startswith("far oak: ")
    assert "minutes more" in left[0]


@pytest.mark.parametrize(
    ("permission", "words"),
    [
        (Permission(status="unknown"), "nobody is on record"),
        (Permission(status="forbidden", who="Invented Parks"), "forbidden"),
        (replace(ALLOWED, expires_on=date(2026, 9, 30)), "lapsed on 2026-09-30"),
        (replace(ALLOWED, season=((10, 15), (11, 30))), "from 15 October to 30 November"),
    ],
)
def test_without_permission_only_a_walk_to_look(home: Home, permission: Permission, words: str) -> None:
    fill(home, permission)
    answer = plan(home).plan
    assert not answer.gathering
    assert words in answer.permission
    assert answer.kg == answer.bound_kg == 0.0
    assert all(line.kg == 0.0 for line in answer.turns)
    assert answer.turns
    assert "Look only" in answer.cautions[0]
    assert "ask" in answer.cautions[0]


def test_daylight_cuts_the_walk(home: Home) -> None:
    fill(home)
    answer = plan(home, leaves=time(16, 30), hours=6.0).plan
    assert answer.sunset_at is not None
    assert answer.back_at <= answer.sunset_at - timedelta(minutes=44)
    assert any("Daylight cuts" in note for note in answer.notes)
    assert any("every trail is timed as if it were level" in note for note in answer.notes)
    with pytest.raises(NoAnswer, match="no daylight is left"):
        plan(home, leaves=time(18, 0))
    with pytest.raises(NoAnswer, match="dark until"):
        plan(home, leaves=time(4, 0))


def test_bad_wishes_are_told(home: Home) -> None:
    with pytest.raises(NoAnswer, match="no place is known"):
        plan(home)
    fill(home)
    with pytest.raises(UserMistake, match="nobody is called"):
        plan(home, party=("Zed",))
    with pytest.raises(UserMistake, match="no place is called"):
        plan(home, place="Elsewhere")
    with pytest.raises(UserMistake, match="no car park is called"):
        plan(home, car_park="Upper lot")
    with pytest.raises(UserMistake, match="hours"):
        plan(home, hours=-1.0)
    with pytest.raises(UserMistake, match="2026-10-01 has gone by; expected 2026-10-02 or later"):
        plan(home, day=DAY - timedelta(days=2))
    with pytest.raises(UserMistake, match="only children would walk"):
        plan(home, party=("Cleo",))


def test_a_start_far_from_any_trail_is_told(home: Home) -> None:
    fill(home)
    connection = open_ledger(home.ledger)
    with writing(connection):
        store_car_parks(connection, [CarPark("far", "Far lot", *at(-3200, -300))])
    connection.close()
    with pytest.raises(NoAnswer, match="km from the nearest trail"):
        plan(home, car_park="Far lot")


def test_no_hosts_is_told(home: Home) -> None:
    fill(home)
    connection = open_ledger(home.ledger)
    with writing(connection):
        connection.execute("DELETE FROM spot")
        connection.execute("DELETE FROM tree")
    connection.close()
    with pytest.raises(NoAnswer, match=r"no host tree and no spot is on record at Invented Wood.*load trees"):
        plan(home)


def test_too_short_a_walk_is_told_with_its_minutes(home: Home) -> None:
    fill(home)
    with pytest.raises(NoAnswer, match=r"nothing worth a stop .* in 2 minutes; allow more time"):
        plan(home, hours=0.05)


def root_of(path: Path) -> Element:
    """The outermost element of an XML file."""
    root = parse(path).getroot()
    assert root is not None
    return root


def test_files_are_valid(home: Home, tmp_path: Path) -> None:
    fill(home)
    walk = plan(home)
    files = {path.suffix: path for path in write_walk_sheets(walk, tmp_path / "out", paper="a4")}
    assert set(files) == {".svg", ".pdf", ".gpx", ".geojson"}
    gpx = gpxpy.parse(files[".gpx"].read_text("utf-8"))
    assert gpx.version == "1.1"
    assert gpx.time == walk.plan.leaves_at
    assert f"<time>{gpx.time:%Y-%m-%dT}13:00:00Z</time>" in files[".gpx"].read_text("utf-8")  # 9 in New York
    assert gpx.tracks[0].length_2d() == pytest.approx(walk.plan.length_m, rel=0.01)
    assert len(gpx.waypoints) == len(walk.plan.turns)
    looks = [line.spots for line in walk.plan.turns]
    assert [("Look at: " in (point.description or "")) for point in gpx.waypoints] == [bool(s) for s in looks]
    order = [child.tag.rpartition("}")[2] for child in root_of(files[".gpx"])]
    assert order == ["metadata", *["wpt"] * len(walk.plan.turns), "rte", "trk"]
    document = json.loads(files[".geojson"].read_text("utf-8"))
    assert len(document["features"]) == len(walk.result.legs) + len(walk.plan.turns)
    assert sum(f["properties"].get("expected_kg", 0.0) for f in document["features"]) <= walk.plan.kg + 1e-6
    picture = root_of(files[".svg"])
    assert picture[0].tag.endswith("title")
    assert picture[1].tag.endswith("desc")
    assert "Lower lot" in [text.text for text in picture.iter() if text.tag.endswith("text")]
    assert files[".pdf"].read_bytes().startswith(b"%PDF")
    names = {
        sheet_name(replace(walk.plan, party=party, place=place))
        for party in (("Max",), ("Mara",), ("\u0410\u043d\u043d\u0430",))
        for place in ("Wood", "\u043b\u0435\u0441", "W\u00e4ldchen")
    }
    assert len(names) == 9


def test_every_caution_is_on_the_pdf(home: Home, tmp_path: Path) -> None:
    pdfium = pytest.importorskip("pypdfium2")
    fill(home)
    pdf = next(p for p in write_walk_sheets(plan(home), tmp_path) if p.suffix == ".pdf")
    document = pdfium.PdfDocument(str(pdf))
    words = " ".join(" ".join(page.get_textpage().get_text_range().split()) for page in document)
    for sentence in WALK_CAUTIONS:
        assert sentence in words
    assert len(document) == 2


@pytest.mark.parametrize(("lines", "pages"), [(12, 2), (24, 3), (90, 4)])
def test_no_sheet_ends_with_two_lonely_lines(lines: int, pages: int) -> None:
    """What does not fit below the turns begins a page of its own."""
    pdfium = pytest.importorskip("pypdfium2")
    turn = {"number": 1, "at": "09:00", "words": "Set out", "walk": "9 m", "expected": "", "car": "1 min"}
    told = {
        "title": "Invented Wood", "opening": "", "facts": [], "cautions_first": [], "bearings": "",
        "chart": "",
        "picture": '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9"/>', "turns": [turn] * 24,
        "cautions": list(WALK_CAUTIONS), "promises": ["alike"], "left_out": [], "notes": ["a note"] * lines,
    }  # fmt: skip
    document = pdfium.PdfDocument(compile_typst("walk", told))
    assert len(document) == pages
    if pages > 2:
        assert document[2].get_textpage().get_text_range().startswith("What it may bring")


@pytest.mark.parametrize("goal", ["something", "poor_day"])
def test_other_goals_show_what_each_walk_may_bring(home: Home, goal: str) -> None:
    fill(home)
    answer = plan(home, goal=goal, hours=0.75).plan
    assert {one.goal for one in answer.promises} == {"expected", "something", "poor_day"}
    assert answer.minutes <= 45.0
    assert ("Chosen" if goal == "something" else "of the few walks tried") in answer.quality


def test_several_days_pay_no_prize_twice(home: Home) -> None:
    fill(home)
    days = days_named("sat,sun", DAY - timedelta(days=1))
    assert days == (DAY, DAY + timedelta(days=1))
    summary, walks = plan_days(
        home, replace(WISH, place=None), days=days, cars=1, today=DAY - timedelta(days=1)
    )
    assert [walk.plan.day for walk in walks] == list(days)
    first, second = (set(walk.result.gathered) for walk in walks)
    assert not {p for p in first & second if walks[1].problem.prizes[p].kg > 0.0}
    assert summary.kg == pytest.approx(sum(walk.plan.kg for walk in walks))
    with pytest.raises(UserMistake, match="expected a grown-up for each car"):
        plan_days(home, WISH, days=days[:1], cars=3, today=DAY)
    with pytest.raises(UserMistake, match="no day"):
        days_named("someday", DAY)


def test_several_days_pay_nothing_twice_that_only_the_full_search_finds(
    home: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The quick search that shares out the days may find less, or other things, than the full one."""

    def found_nothing(
        slots: Sequence[Slot], problems: Mapping[tuple[Slot, str], WalkProblem], *_: object
    ) -> tuple[Given, ...]:
        nothing = WalkResult((), 0.0, 0.0, math.inf, 1.0, proved=False, gathered=())
        return tuple(Given(slot, "wood", problems[slot, "wood"], nothing) for slot in slots)

    fill(home)
    monkeypatch.setattr("underoak.walk.several.plan_several", found_nothing)
    days = (DAY, DAY + timedelta(days=1))
    _, walks = plan_days(home, replace(WISH, place=None, rounds=3), days=days, cars=1, today=DAY)
    first, second = ({w.problem.prizes[p].key for p in w.result.gathered} for w in walks)
    assert first
    assert second
    assert not first & second
    assert not any(prize.name for prize in walks[1].problem.prizes if prize.key in first)


def test_several_days_without_permission_have_no_answer(home: Home) -> None:
    fill(home, Permission(status="unknown"))
    with pytest.raises(NoAnswer, match="nobody is on record as allowing it"):
        plan_days(home, replace(WISH, place=None), days=[DAY], cars=1, today=DAY)


def test_kitchen_capacity_is_the_sum_of_its_stated_parts(home: Home) -> None:
    kitchen = home.settings.kitchen
    assert kitchen_takes_kg(kitchen) == pytest.approx(6 * 0.5 + 3.0 + 0.1 * 30.0)


def test_the_command_prints_one_document(home: Home) -> None:
    fill(home)
    words = [
        "walk",
        "--home",
        str(home.folder),
        "--day",
        "2026-10-03",
        "--today",
        "2026-10-02",
        "--hours",
        "1",
    ]
    words += ["--rounds", "3", "--for", "Grifola frondosa"]
    answer = CliRunner().invoke(underoak, [*words, "--json", "--no-sheets"])
    assert answer.exit_code == 0, answer.output
    document = json.loads(answer.stdout)
    assert document["place"] == "Invented Wood"
    told = CliRunner().invoke(underoak, words)
    assert told.exit_code == 0, told.output
    # by rounds the same seed gives the same walk
    assert all(line["turn"]["words"] in told.stdout for line in document["turns"])
    assert document["quality"] in told.stdout
    for sentence in WALK_CAUTIONS:
        assert sentence in told.stdout
    assert len(list(home.sheets.iterdir())) == 4
