"""From the day's finds to jars, labels and back: the ledger keeps the whole way."""

from __future__ import annotations

import json
from pathlib import Path

import pypdfium2
import pytest
from click.testing import CliRunner

from tests.unit.kitchen_home import DAY, give_verdict, with_finds
from underoak.cli.main import underoak
from underoak.errors import BadData, NoAnswer, UnderoakError, UserMistake
from underoak.ledger.database import open_ledger, writing
from underoak.settings import SETTINGS_NAME, Home, settings_text
from underoak.sheets.wording import EATING_CAUTIONS, KITCHEN_CAUTIONS, SET_ASIDE

FINDS = [
    ("f1", "grifola_frondosa", 4200.0, "confirmed"),
    ("f2", "desarmillaria_caespitosa", 2500.0, "consistent"),
    ("f3", "laetiporus_sulphureus", 1800.0, "open"),
    ("f4", "lepista_nuda", 700.0, None),
]


@pytest.fixture
def larder(home: Home) -> Home:
    return with_finds(home, FINDS)  # type: ignore[arg-type]


def run(home: Home, *words: str) -> str:
    """What a command prints; errors come through as they are."""
    result = CliRunner().invoke(
        underoak,
        [words[0], "--home", str(home.folder), "--today", str(DAY), *words[1:]],
        standalone_mode=False,
    )
    if result.exception is not None:
        raise result.exception
    return result.output


def ask(home: Home, *words: str) -> dict:  # type: ignore[type-arg]
    document: dict = json.loads(run(home, *words, "--json"))  # type: ignore[type-arg]
    return document


def done(home: Home, *words: str) -> list:  # type: ignore[type-arg]
    result = CliRunner().invoke(
        underoak,
        ["kitchen", "done", "--home", str(home.folder), "--today", str(DAY), *words, "--json"],
        standalone_mode=False,
    )
    if result.exception is not None:
        raise result.exception
    made: list = json.loads(result.output)  # type: ignore[type-arg]
    return made


def test_the_evening_is_planned_from_the_days_finds(larder: Home) -> None:
    plan = ask(larder, "kitchen", "--seconds", "2")
    planned = {task["lot_id"] for task in plan["schedule"]["tasks"]}
    assert planned == {"lot-f1", "lot-f2"}
    aside = {rest["lot_id"] for rest in plan["leftovers"] if rest["goes"] == "set_aside"}
    assert aside == {"lot-f3", "lot-f4"}
    assert plan["schedule"]["gap"] is not None
    assert [Path(f).exists() for f in plan["files"]] == [True, True]


def test_every_caution_is_on_screen_and_sheet_alike(larder: Home) -> None:
    screen = " ".join(run(larder, "kitchen", "--seconds", "0").split())
    document = pypdfium2.PdfDocument(larder.sheets / f"kitchen-{DAY}.pdf")
    sheet = " ".join(" ".join(page.get_textpage().get_text_range() for page in document).split())
    for words in (SET_ASIDE, *KITCHEN_CAUTIONS, *EATING_CAUTIONS):
        assert words in screen
        assert words in sheet


def test_the_run_sheet_is_the_same_bytes_twice(larder: Home) -> None:
    path = larder.sheets / f"kitchen-{DAY}.pdf"
    run(larder, "kitchen", "--seconds", "0")
    first = path.read_bytes()
    run(larder, "kitchen", "--seconds", "0")
    assert path.read_bytes() == first


def test_likings_are_kept_in_the_settings_and_overruled_for_one_evening(larder: Home) -> None:
    path = larder.folder / SETTINGS_NAME
    never = {task["method_id"]: 0.0 for task in ask(larder, "kitchen", "--seconds", "0")["schedule"]["tasks"]}
    path.write_text(settings_text(larder.settings.model_copy(update={"likings": never})))
    after = {task["method_id"] for task in ask(larder, "kitchen", "--seconds", "0")["schedule"]["tasks"]}
    assert not after & set(never)
    name = min(never)
    again = ask(larder, "kitchen", "--seconds", "0", "--like", f"{name}=5")
    assert name in {task["method_id"] for task in again["schedule"]["tasks"]}


def test_what_was_made_is_taken_off_and_traced_both_ways(larder: Home) -> None:
    plan = ask(larder, "kitchen", "--seconds", "0")
    task = next(t for t in plan["schedule"]["tasks"] if t["containers"])
    (made,) = done(larder, task["id"], "--specimen", "paper bag in the refrigerator")
    codes = [jar["code"] for jar in made["jars"]]
    assert len(codes) == task["containers"]
    assert not made["batch"]["weighed"]
    again = ask(larder, "kitchen", "--seconds", "0")
    before = {lot["id"]: lot["fresh_g"] for lot in plan["lots"]}
    after = {lot["id"]: lot["fresh_g"] for lot in again["lots"]}
    assert before[task["lot_id"]] - after.get(task["lot_id"], 0.0) == pytest.approx(task["fresh_g"])
    back = run(larder, "trace", codes[0])
    for words in (
        "Invented Hollow",
        "the big oak",
        "Ada",
        str(DAY),
        "verdict:",
        "underside: pores",
        "paper bag",
    ):
        assert words in back
    find_id = task["lot_id"].removeprefix("lot-")
    forward = ask(larder, "trace", "find", find_id, "--notice")
    assert [jar["code"] for jar in forward["recall"]["jars"]] == codes
    notice = pypdfium2.PdfDocument(forward["files"][0])[0].get_textpage().get_text_range()
    assert all(code in notice for code in codes)
    assert "1-800-222-1222" in notice


def test_tasks_are_those_of_the_plan_shown_last(larder: Home) -> None:
    def first() -> str:
        task = next(
            t for t in ask(larder, "kitchen", "--seconds", "0")["schedule"]["tasks"] if t["containers"]
        )
        return f"{task['lot_id']} {task['method_id']} {task['fresh_g']}"

    one = first()
    ask(larder, "kitchen", "--seconds", "0", "--like", "freeze_steamed=0.1", "--like", "dry=0.1")
    assert first() == one
    plan = ask(larder, "kitchen", "--seconds", "0")
    task = next(t for t in plan["schedule"]["tasks"] if t["containers"])
    (made,) = done(larder, task["id"])
    assert made["batch"]["method_id"] == task["method_id"]
    assert made["batch"]["lots"] == [[task["lot_id"], task["fresh_g"]]]


def test_labels_of_the_day_are_written(larder: Home) -> None:
    (made,) = done(larder, "--method", "pickle_refrigerator", "--lot", "lot-f2=1000", "--units", "4x130")
    assert made["batch"]["weighed"]
    answer = ask(larder, "jars", "--labels", "--paper", "a4-8")
    page = pypdfium2.PdfDocument(answer["files"][0])[0]
    text = " ".join(page.get_textpage().get_text_range().split())
    assert "refrigerator pickle" in text
    assert "Refrigerator only" in text
    assert len(answer["jars"]) == 4


def test_the_shelf_names_what_to_use_first_and_what_is_over(larder: Home) -> None:
    done(larder, "--method", "refrigerate", "--lot", "lot-f1=500", "--units", "1x480")
    done(larder, "--method", "freeze_steamed", "--lot", "lot-f1=1000", "--units", "2x400")
    now = ask(larder, "jars")
    assert now["this_week"] == [now["jars"][0]["jar"]["code"]]
    result = CliRunner().invoke(
        underoak,
        ["jars", "--home", str(larder.folder), "--today", "2026-10-25", "--json"],
        standalone_mode=False,
    )
    later = json.loads(result.output)
    assert later["over"] == now["this_week"]
    lost = run(larder, "jars", "--thrown", now["this_week"][0], "--why", "soft and slimy")
    assert "thrown" in lost
    assert ask(larder, "jars")["losses"][0]["why"] == "soft and slimy"


def test_against_the_advice_is_recorded_only_under_its_warning(larder: Home) -> None:
    words = ("--method", "pressure_can_cultivated", "--lot", "lot-f2=500", "--units", "2x230")
    with pytest.raises(UserMistake, match="against the advice"):
        done(larder, *words)
    assert ask(larder, "jars")["jars"] == []
    (made,) = done(larder, *words, "--anyway")
    assert made["jars"][0]["use_by"] is None
    assert all(why.startswith("ringless honey mushroom: ") for why in made["batch"]["against_advice"])
    shelf = ask(larder, "jars")
    assert shelf["never"] == [jar["code"] for jar in made["jars"]]
    assert shelf["this_week"] == []
    assert "DO NOT EAT" in run(larder, "jars")
    assert "Do not eat it" in run(larder, "trace", made["jars"][0]["code"])
    code = made["jars"][0]["code"]
    with pytest.raises(NoAnswer, match="not given to anybody"):
        run(larder, "jars", "--given", code)
    assert ask(larder, "jars")["jars"][0]["jar"]["state"] == "kept"
    assert "DO NOT EAT" in run(larder, "jars", "--given", code, "--why", "to a neighbour", "--anyway")
    gone = ask(larder, "trace", "lot", "lot-f2")["recall"]["jars"]
    assert [(j["code"], j["state"], j["state_note"]) for j in gone if j["state"] == "given"] == [
        (code, "given", "to a neighbour")
    ]


def test_only_what_a_person_confirmed_is_given_away(larder: Home) -> None:
    (consistent,) = done(larder, "--method", "pickle_refrigerator", "--lot", "lot-f2=500", "--units", "1x130")
    (confirmed,) = done(larder, "--method", "freeze_steamed", "--lot", "lot-f1=500", "--units", "1x350")
    with pytest.raises(NoAnswer, match="only what a named person has confirmed"):
        run(larder, "jars", "--given", consistent["jars"][0]["code"])
    assert "given" in run(larder, "jars", "--given", confirmed["jars"][0]["code"], "--why", "to Dee")


def test_a_worse_verdict_later_takes_the_jar_off_the_table(larder: Home) -> None:
    (made,) = done(larder, "--method", "freeze_steamed", "--lot", "lot-f1=500", "--units", "1x350")
    code = made["jars"][0]["code"]
    assert ask(larder, "jars")["never"] == []
    connection = open_ledger(larder.ledger)
    with writing(connection):
        give_verdict(connection, "f1", "grifola_frondosa", "refused")
    connection.close()
    shelf = ask(larder, "jars")
    assert shelf["never"] == [code]
    assert shelf["left"] == []
    assert "DO NOT EAT, the last verdict on its hen of the woods is refused" in run(larder, "jars")
    labels = ask(larder, "jars", "--labels", "--jar", code)["files"][0]
    assert "DO NOT EAT" in pypdfium2.PdfDocument(labels)[0].get_textpage().get_text_range()


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (
            ("--method", "dry", "--lot", "lot-f3=100", "--lot", "lot-f4=100", "--units", "1x30"),
            "2 kinds, not all",
        ),
        (("--method", "dry", "--lot", "lot-f1=-100", "--units", "1x30"), "-100 g"),
        (("--method", "dry", "--lot", "lot-f1=9999", "--units", "1x30"), "of which 4200 g are left"),
        (("--method", "dry", "--lot", "lot-f1=500", "--units", "1x0"), "1 × 0 g"),
        (("--method", "dry", "--lot", "lot-f1=500", "--units", "0x30"), "whole number"),
        (("--method", "dry", "--lot", "lot-f1=500"), "jars of nothing"),
        (("--method", "dry"), "a batch of nothing"),
        (("--method", "smoke", "--lot", "lot-f1=500"), "no method 'smoke'"),
        (("--method", "dry", "--lot", "lot-f9=500", "--units", "1x30"), "no lot lot-f9"),
        (("T99",), "no task 'T99'"),
    ],
)
def test_impossible_batches_are_refused_and_nothing_is_stored(
    larder: Home, words: tuple[str, ...], told: str
) -> None:
    with pytest.raises(UserMistake, match=told):
        done(larder, *words)
    connection = open_ledger(larder.ledger)
    assert connection.execute("SELECT count(*) FROM batch").fetchone()[0] == 0
    assert connection.execute("SELECT count(*) FROM lot").fetchone()[0] == 0
    connection.close()


def test_the_terminal_names_kinds_and_no_ids(larder: Home) -> None:
    told = run(larder, "kitchen", "--seconds", "0")
    assert "hen of the woods 4.20 kg" in told
    assert "blewit, 700 g: set aside; no verdict" in told
    assert "lot-" not in told
    assert not any(taxon_id in told for _, taxon_id, _, _ in FINDS)


def test_a_lot_may_be_named_by_its_kind_or_find(larder: Home) -> None:
    by_kind = done(larder, "--method", "freeze_steamed", "--lot", "hen of the woods=500", "--units", "1x350")
    by_find = done(larder, "--method", "freeze_steamed", "--lot", "f1=500", "--units", "1x350")
    assert [made["batch"]["lots"] for made in by_kind + by_find] == [[["lot-f1", 500.0]]] * 2


def test_several_lots_of_one_kind_are_told_apart(home: Home) -> None:
    larder = with_finds(home, [(name, "grifola_frondosa", 900.0, "consistent") for name in ("f1", "f2")])
    with pytest.raises(UserMistake, match=r"2 lots of .* are 'hen of the woods'") as told:
        done(larder, "--method", "dry", "--lot", "hen of the woods=500", "--units", "1x30")
    assert "lot-f2 (hen of the woods, 900 g)" in told.value.problem.expected


def test_an_evening_of_nothing_says_so(home: Home) -> None:
    larder = with_finds(home, [("f1", "grifola_frondosa", 900.0, "open")])
    told = run(larder, "kitchen", "--seconds", "0")
    assert "Nothing of it can be put up or eaten" in told
    assert "1 lot, 900 g" in told


def test_more_bodies_than_were_looked_at_let_a_verdict_lapse(larder: Home) -> None:
    connection = open_ledger(larder.ledger)
    with writing(connection):
        connection.execute("UPDATE find SET bodies = 3 WHERE id = 'f1'")
    plan = ask(larder, "kitchen", "--seconds", "0")
    assert "lot-f1" not in {task["lot_id"] for task in plan["schedule"]["tasks"]}
    assert any("3 bodies were found, 2 were looked at" in note for note in plan["notes"])
    with writing(connection):
        give_verdict(connection, "f1", "grifola_frondosa", "consistent", bodies=3)
    connection.close()
    plan = ask(larder, "kitchen", "--seconds", "0")
    assert "lot-f1" in {task["lot_id"] for task in plan["schedule"]["tasks"]}


def test_no_first_taste_with_a_child_or_a_guest_at_the_table(larder: Home) -> None:
    def eaten(*people: str) -> float:
        words = [word for name in people for word in ("--eater", name)]
        words += ["--like", "cook_tonight=5", "--seconds", "0"]
        tasks = ask(larder, "kitchen", *words)["schedule"]["tasks"]
        return float(sum(t["fresh_g"] for t in tasks if t["method_id"] == "cook_tonight"))

    assert 0.0 < eaten("Ada", "Ben") <= 120.0
    assert eaten("Ada", "Cleo") == 0.0
    assert eaten("Ada", "a guest") == 0.0


HAUL = "lot,taxon,fresh_g,picked_at,state,dirt,cultivated,hours,temperature_c\n"


def test_a_haul_from_a_file_is_planned(larder: Home, tmp_path: Path) -> None:
    path = tmp_path / "haul.csv"
    path.write_text(
        HAUL
        + "A,hen of the woods,2000,2026-10-17 12:00,confirmed,clean,,,\n"
        + "B,lepista nuda,500,2026-10-17 13:00,,some,,2,8\n"
    )
    plan = ask(larder, "kitchen", "--haul", str(path), "--seconds", "0")
    assert {task["lot_id"] for task in plan["schedule"]["tasks"]} == {"A"}
    assert {rest["lot_id"] for rest in plan["leftovers"] if rest["goes"] == "set_aside"} == {"B"}


def test_all_faults_of_a_haul_are_told_with_their_lines(larder: Home, tmp_path: Path) -> None:
    path = tmp_path / "haul.csv"
    path.write_text(
        HAUL
        + "A,hen of the woods,-2000,2026-10-17 12:00,confirmed,clean,,,\n"
        + "B,wood blewitt of nowhere,500,17/10/2026,eaten,some,,2,46.4\n"
    )
    with pytest.raises(BadData) as caught:
        run(larder, "kitchen", "--haul", str(path))
    told = " | ".join(p.sentence() for p in caught.value.problems)
    for words in (
        "line 2, fresh_g",
        "line 3, taxon",
        "line 3, picked_at",
        "line 3, state",
        "line 3, temperature_c",
    ):
        assert words in told
    assert "°F" in told


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--now", "25:00"), "no time of day"),
        (("--hours", "Ada=20:00-18:00"), "20:00 to 18:00"),
        (("--kept", "3@46"), "°F"),
        (("--kept", "-3@4"), "negative time"),
        (("--kept", "30@4"), "30 h of temperatures"),
        (("--like", "dry=9"), "liking of 9"),
        (("--like", "drying=1.2"), "a liking of drying"),
    ],
)
def test_impossible_questions_are_refused_with_the_reason(
    larder: Home, words: tuple[str, ...], told: str
) -> None:
    with pytest.raises(UnderoakError, match=told):
        run(larder, "kitchen", *words)


def test_a_day_without_finds_has_no_answer(home: Home) -> None:
    with pytest.raises(NoAnswer, match="nothing left to put up"):
        run(home, "kitchen")


def test_json_is_one_document_and_nothing_else(larder: Home) -> None:
    json.loads(run(larder, "kitchen", "--seconds", "1", "--json"))


def test_a_household_that_reads_pounds_is_told_pounds(larder: Home) -> None:
    settings = larder.folder / "underoak.toml"
    settings.write_text(settings.read_text("utf-8").replace('units = "metric"', 'units = "us"'))
    screen = run(larder, "kitchen", "--seconds", "0")
    sheet = pypdfium2.PdfDocument(larder.sheets / f"kitchen-{DAY}.pdf")[0].get_textpage().get_text_range()
    for text in (screen, sheet):
        assert " lb" in text
        assert " kg" not in text
    done(larder, "--method", "pickle_refrigerator", "--lot", "lot-f2=1000", "--units", "1x130")
    assert "4.6 oz" in run(larder, "jars")
    labels = ask(larder, "jars", "--labels")["files"][0]
    label = " ".join(pypdfium2.PdfDocument(labels)[0].get_textpage().get_text_range().split())
    assert "4.6 oz" in label  # whatever blank stands between figure and unit


def test_the_timeline_is_a_picture_with_words(larder: Home) -> None:
    from defusedxml.ElementTree import fromstring

    plan = ask(larder, "kitchen", "--seconds", "0")
    picture = fromstring((larder.sheets / f"kitchen-{DAY}.svg").read_text("utf-8"))
    space = "{http://www.w3.org/2000/svg}"
    assert picture.find(f"{space}title") is not None
    described = picture.find(f"{space}desc")
    assert described is not None
    assert described.text is not None
    steps = sum(len(task["steps"]) for task in plan["schedule"]["tasks"])
    assert len(picture.findall(f"{space}rect")) == steps + 1
    for task in plan["schedule"]["tasks"]:
        assert task["id"] in described.text
    dashed = [r for r in picture.findall(f"{space}rect") if r.get("stroke-dasharray")]
    waiting = sum(not step["hands_on"] for task in plan["schedule"]["tasks"] for step in task["steps"])
    assert len(dashed) == waiting
