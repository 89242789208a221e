"""The incident sheet and the log of meals: the call first, and nothing that reassures."""

from __future__ import annotations

import json
from datetime import datetime, timedelta
from pathlib import Path

import pypdfium2
import pytest
from click.testing import CliRunner

from tests.unit.kitchen_home import DAY, with_finds
from underoak.desk.feel_ill import IllNote, feel_ill
from underoak.desk.put_up_haul import HaulQuestion, put_up_haul
from underoak.desk.record_batch import BatchNote, record_batches
from underoak.desk.record_meal import MealNote, record_meal, record_reaction
from underoak.errors import BadData, UserMistake
from underoak.settings import Home
from underoak.sheets.incident import incident_parts, suspect_lines
from underoak.sheets.wording import AMATOXIN_WARNING, INCIDENT_CAUTIONS

SUPPER = datetime(2026, 10, 17, 20, 0)  # noqa: DTZ001 - local time of a meal


@pytest.fixture
def larder(home: Home) -> Home:
    return with_finds(
        home,
        [("f1", "desarmillaria_caespitosa", 2500.0, "confirmed"), ("f2", "grifola_frondosa", 900.0, "open")],
    )


def text_of(path: str) -> str:
    document = pypdfium2.PdfDocument(path)
    assert len(document) == 1
    return " ".join(document[0].get_textpage().get_text_range().split())


def ill(home: Home, hours: float = 9.0, **more: object) -> IllNote:
    began = SUPPER + timedelta(hours=hours)
    return IllNote(who="Ada", now=began + timedelta(hours=1), began_at=began, **more)  # type: ignore[arg-type]


def test_the_sheet_says_first_to_call_and_that_it_is_no_diagnosis(larder: Home) -> None:
    found = feel_ill(larder.folder, ill(larder, symptoms="vomiting"))
    assert found.first_sentence == "Call 1-800-222-1222 now, before reading on: this page is no diagnosis."
    page = text_of(found.files[0])
    assert page.startswith(found.first_sentence)
    for words in (AMATOXIN_WARNING, *INCIDENT_CAUTIONS):
        assert words in page


def test_another_number_of_the_settings_is_printed_instead(larder: Home) -> None:
    settings = larder.folder / "underoak.toml"
    settings.write_text(settings.read_text("utf-8").replace("1-800-222-1222", "0761 12345"))
    found = feel_ill(larder.folder, ill(larder))
    assert "0761 12345" in found.first_sentence
    assert "1-800" not in text_of(found.files[0])


def test_what_was_eaten_its_doubles_evidence_and_specimen_are_on_the_page(larder: Home) -> None:
    note = BatchNote(method="cook_tonight", lots=[("lot-f1", 200.0)], specimen="paper bag, refrigerator door")
    (made,) = record_batches(larder, note, day=DAY)
    record_meal(larder, MealNote(at=SUPPER, people=["Ada"], batch=made.batch.id), now=SUPPER)
    found = feel_ill(larder.folder, ill(larder))
    assert found.onset.amatoxin_warning
    galerina = next(s for s in found.suspects if s.taxon_id == "galerina_marginata")
    assert galerina.instead_of == "desarmillaria_caespitosa"
    assert galerina.fits == ("amatoxin",)
    page = text_of(found.files[0])
    for words in (
        "Galerina marginata",
        "paper bag, refrigerator door",
        "Invented Hollow",
        "Dr. Invented",
        made.batch.id,
    ):
        assert words in page


def test_a_meal_cooked_but_not_written_down_is_found_by_its_batch(larder: Home) -> None:
    record_batches(larder, BatchNote(method="cook_tonight", lots=[("lot-f1", 200.0)]), day=DAY)
    found = feel_ill(larder.folder, ill(larder))
    assert [meal.known_time for meal in found.meals] == [False]
    assert found.onset.amatoxin_warning


def test_what_was_made_against_advice_shows_with_its_reason(larder: Home) -> None:
    note = BatchNote(
        method="pressure_can_cultivated", lots=[("lot-f2", 500.0)], units=(1, 230.0), anyway=True
    )
    (made,) = record_batches(larder, note, day=DAY)
    answer = record_meal(larder, MealNote(at=SUPPER, people=["Ben"], jar=made.jars[0].code), now=SUPPER)
    assert answer.cautions[0].startswith("Made against the advice")
    found = feel_ill(larder.folder, ill(larder))
    assert found.proofs[0].against_advice
    assert "Made against advice" in text_of(found.files[0])


def test_everyday_words_of_a_meal_stand_for_every_kind_they_may_mean(home: Home) -> None:
    found = feel_ill(home.folder, ill(home, ate=[("honeys", SUPPER), ("soup", SUPPER)]))
    meant = {meal.taxon_id for meal in found.meals}
    assert meant == {"armillaria_mellea_group", "desarmillaria_caespitosa", None}
    lines = suspect_lines(found)
    assert lines[0] == "soup (not a name of the book): any kind is possible"
    assert "deadly galerina (Galerina marginata)" in " ".join(lines)


def test_no_hours_move_a_deadly_kind_behind_a_milder_one(home: Home) -> None:
    found = feel_ill(home.folder, ill(home, hours=0.5, ate=[("honey mushroom", SUPPER)]))
    dangers = [one.danger for one in found.suspects]
    assert dangers[: dangers.count("deadly")] == ["deadly"] * dangers.count("deadly")
    assert any(one.fits and one.danger == "mild" for one in found.suspects)


@pytest.mark.parametrize("hours", [0.5, 9.0, 40.0])
def test_the_page_speaks_in_words_not_in_names_of_the_books_files(home: Home, hours: float) -> None:
    found = feel_ill(home.folder, ill(home, hours=hours, ate=[("honeys", SUPPER)]))
    told = "\n".join(line for _, lines in incident_parts(found) for line in lines)
    assert "_" not in told, told
    assert "No hours rule out amatoxins" in told


def test_an_empty_ledger_never_reassures(home: Home) -> None:
    found = feel_ill(home.folder, ill(home, hours=0.5))
    assert found.onset.amatoxin_warning
    page = text_of(found.files[0])
    assert "Nothing is written down. That does not mean that nothing was eaten" in page
    assert "Any kind is possible" in page


def test_even_without_a_home_the_call_comes(tmp_path: Path) -> None:
    found = feel_ill(tmp_path, IllNote(who="Ada", now=SUPPER))
    assert found.first_sentence.startswith("Call 1-800-222-1222 now")
    assert found.files == ()
    assert found.onset.amatoxin_warning


def test_a_ledger_that_is_no_ledger_still_gives_the_page(larder: Home) -> None:
    larder.ledger_path.write_bytes(b"this is no ledger" * 100)
    found = feel_ill(larder.folder, ill(larder))
    assert "ledger cannot be read" in text_of(found.files[0])


def test_symptoms_in_the_future_are_refused(larder: Home) -> None:
    note = IllNote(who="Ada", now=SUPPER, began_at=SUPPER + timedelta(hours=2))
    with pytest.raises(UserMistake, match="later than now"):
        feel_ill(larder.folder, note)


def test_first_tastes_and_reactions_decide_what_is_new(larder: Home) -> None:
    (made,) = record_batches(larder, BatchNote(method="cook_tonight", lots=[("lot-f1", 200.0)]), day=DAY)
    note = MealNote(at=SUPPER, people=["Ada", "Ben"], batch=made.batch.id)
    answer = record_meal(larder, note, now=SUPPER)
    assert len(answer.first_tastes) == 2
    assert any("No alcohol for" in words for words in answer.cautions)
    again = record_meal(
        larder,
        MealNote(SUPPER + timedelta(days=2), ["Ada"], batch=made.batch.id),
        now=SUPPER + timedelta(days=2),
    )
    assert again.first_tastes == ()

    def meal_g(now: datetime) -> float:
        plan = put_up_haul(larder, HaulQuestion(day=DAY, now=now, seconds=0.0, write=False))
        return sum(t.fresh_g for t in plan.schedule.tasks if t.method_id == "cook_tonight")

    early = datetime(2026, 10, 17, 21, 0)  # noqa: DTZ001
    assert meal_g(early) <= 120.0  # a day has not passed: still new, a first portion for two
    record_reaction(larder, answer.servings[0].id, "cramps", SUPPER + timedelta(hours=2))
    assert meal_g(early) <= 120.0


def test_a_second_new_kind_waits_a_day_after_the_first(home: Home) -> None:
    with_finds(home, [("f1", "grifola_frondosa", 900.0, "confirmed")])
    noon = datetime(2026, 10, 17, 12, 0)  # noqa: DTZ001

    def new_portion_g() -> float:
        ask = HaulQuestion(day=DAY, now=SUPPER, seconds=0.0, write=False, liking={"cook_tonight": 5.0})
        tasks = put_up_haul(home, ask).schedule.tasks
        return sum(t.fresh_g for t in tasks if t.method_id == "cook_tonight")

    assert new_portion_g() > 0.0
    record_meal(home, MealNote(noon, ["Ada"], taxon="lepista_nuda"), now=noon)
    assert new_portion_g() == 0.0


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"people": ["Zoe"]}, "nobody of the household"),
        ({"people": []}, "nobody ate"),
        ({"at": SUPPER + timedelta(days=9)}, "to come"),
        ({"grams": -5.0}, "-5 g"),
        ({"taxon": None}, "not one source"),
    ],
)
def test_impossible_meals_are_refused_and_not_stored(
    home: Home, change: dict[str, object], told: str
) -> None:
    note = {"at": SUPPER, "people": ["Ada"], "taxon": "grifola_frondosa", **change}
    with pytest.raises(BadData) as caught:
        record_meal(home, MealNote(**note), now=SUPPER)  # type: ignore[arg-type]
    assert told in " ".join(p.sentence() for p in caught.value.problems)


def test_the_command_prints_one_document(larder: Home) -> None:
    from underoak.cli.ill import ill as command

    words = [
        "--home",
        str(larder.folder),
        "--now",
        "2026-10-18T08:00",
        "--since",
        "2026-10-18T05:00",
        "--json",
    ]
    result = CliRunner().invoke(
        command, [*words, "--ate", "honey soup@2026-10-17T20:00"], standalone_mode=False
    )
    found = json.loads(result.output)
    assert found["first_sentence"].startswith("Call ")
    assert found["onset"]["amatoxin_warning"] is True
