"""Learning, judging and explaining from a ledger with invented seasons."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date

import pytest
from click.testing import CliRunner

from underoak.book.load import load_book
from underoak.cli.outlook import judge as judge_command
from underoak.cli.outlook import learn as learn_command
from underoak.cli.outlook import why as why_command
from underoak.desk.this_week import this_week
from underoak.errors import NoAnswer, UserMistake
from underoak.ledger.database import open_ledger, writing
from underoak.ledger.places import store_places, store_spots
from underoak.ledger.visits import store_visits
from underoak.model.ground import Permission, Place, Spot
from underoak.outlook.drivers import climate_without_station
from underoak.outlook.simulate import habit_of, invented_world
from underoak.settings import Home

TODAY = date(2024, 9, 20)
KINDS = ("grifola_frondosa", "coprinus_comatus")


@pytest.fixture
def seasoned(home: Home) -> Home:
    """Two woods of four oaks, four invented seasons, the fourth still running."""
    place = climate_without_station(latitude_deg=41.5, elevation_m=180.0)
    names = ("high", "low")
    spots = [
        Spot(f"{wood}-{n}", wood, f"oak {n}", -74.5, 41.5, "white_oak", 60.0)
        for wood in names
        for n in range(4)
    ]
    book = load_book()
    habits = [replace(habit_of(book.taxa[kind], place), inhabited=0.8) for kind in KINDS]
    world = invented_world(
        spots, habits, range(2021, 2025), climates=dict.fromkeys(names, place), seed=4, visits_per_season=8
    )
    ring = ((-74.5, 41.5), (-74.49, 41.5), (-74.49, 41.51), (-74.5, 41.51), (-74.5, 41.5))
    connection = open_ledger(home.ledger)
    with writing(connection):
        far = tuple((lon + 1.0, lat) for lon, lat in ring)
        store_places(connection, [Place("high", "High", ((ring,),), Permission("allowed"))])
        store_places(connection, [Place("low", "Low", ((far,),), Permission("allowed"))])
        store_spots(connection, spots)
        store_visits(connection, [visit for visit in world.visits if visit.day <= TODAY])
    connection.close()
    return home


def options(home: Home, *more: str) -> list[str]:
    return [*more, "--home", str(home.folder), "--today", TODAY.isoformat()]


@pytest.fixture(autouse=True)
def _two_kinds_only(monkeypatch: pytest.MonkeyPatch) -> None:
    """Learning all gathered kinds of the book would only repeat the same at length."""
    from underoak.desk import season_record

    def two(book: object) -> list[object]:
        return [load_book().taxa[kind] for kind in KINDS]

    monkeypatch.setattr(season_record, "gathered_taxa", two)


def test_learning_is_kept_and_shown_beside_the_week(seasoned: Home) -> None:
    before = this_week(seasoned, today=TODAY, taxon=KINDS[0])
    assert "Nothing was learned" in before.record.words[0]
    result = CliRunner().invoke(learn_command, options(seasoned), catch_exceptions=False)
    assert "3 seasons (2021, 2022, 2023)" in result.output, "the running season is not learned from"
    assert "Each season of 2021 to 2023 forecast from the others" in result.output
    assert "are needed before weather is tried" in result.output
    after = this_week(seasoned, today=TODAY, taxon=KINDS[0])
    assert after.record.learned_on == TODAY
    assert after.record.seasons == (2021, 2022, 2023)
    assert any("leaving out each of 3 seasons" in words for words in after.record.words)
    assert after.woods[0].expected_kg != before.woods[0].expected_kg


def test_learning_twice_keeps_one_and_gives_the_same(seasoned: Home) -> None:
    arguments = options(seasoned, "--json")
    first, second = (CliRunner().invoke(learn_command, arguments, catch_exceptions=False) for _ in range(2))
    assert first.output == second.output
    connection = open_ledger(seasoned.ledger)
    counts = [connection.execute(f"SELECT count(*) FROM {t}").fetchone()[0] for t in ("learned", "judgement")]  # noqa: S608
    connection.close()
    assert counts == [2, 1], "one for each kind that was found, and one judgement"


def test_judging_names_every_rule_and_counts_the_running_season(seasoned: Home) -> None:
    output = CliRunner().invoke(judge_command, options(seasoned), catch_exceptions=False).output
    for rule in ("model", "the book alone", "ten-day rate of the spot", "same spot, same date", "rain rule"):
        assert rule in output
    assert "2021 to 2024" in output
    assert "too few finds to judge it alone" in output


def test_why_lists_all_parts_and_the_best_day(seasoned: Home) -> None:
    arguments = options(seasoned, "High/oak 1", "maitake", "2024-09-25")
    output = CliRunner().invoke(why_command, arguments, catch_exceptions=False).output
    assert "oak 1, High: hen of the woods (Grifola frondosa) on 2024-09-25" in output
    assert "usual peak here" in output
    assert "Best day of its season there" in output
    document = json.loads(
        CliRunner().invoke(why_command, [*arguments, "--json"], catch_exceptions=False).output
    )
    assert len(document["curve"]) == 365
    assert document["chance"]["prime"] == pytest.approx(document["curve"][208], rel=1e-6)


def test_an_ambiguous_or_unknown_spot_is_named(seasoned: Home) -> None:
    from underoak.desk.why_there import why_there

    with pytest.raises(UserMistake, match="2 places"):
        why_there(seasoned, spot="oak 1", taxon="maitake", day=TODAY, today=TODAY)
    with pytest.raises(UserMistake, match="no spot is called"):
        why_there(seasoned, spot="beech", taxon="maitake", day=TODAY, today=TODAY)


def test_without_a_finished_season_nothing_is_learned(home: Home) -> None:
    from underoak.desk.judge_outlook import judge_outlook
    from underoak.desk.learn_seasons import learn_seasons

    with pytest.raises(NoAnswer, match="nothing to learn from"):
        learn_seasons(home, today=TODAY)
    with pytest.raises(NoAnswer, match="nothing to learn from"):
        judge_outlook(home, today=TODAY)
