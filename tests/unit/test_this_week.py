"""The week from a ledger, with and without weather."""

from __future__ import annotations

import json
from datetime import date, timedelta

import numpy as np
import pytest
from click.testing import CliRunner
from defusedxml.ElementTree import fromstring

from underoak.book.load import load_book
from underoak.cli.week import week as week_command
from underoak.desk.draw_week import draw_week, week_shading
from underoak.desk.place_weather import place_climates
from underoak.desk.this_week import Week, this_week
from underoak.desk.walk_prizes import expected_at, outlook_inputs
from underoak.desk.why_there import why_there
from underoak.errors import NoAnswer, UserMistake
from underoak.ledger.connection import Ledger
from underoak.ledger.database import open_ledger, writing
from underoak.ledger.learned import store_learned
from underoak.ledger.places import places, spots, store_places, store_spots
from underoak.ledger.reports import store_reports
from underoak.ledger.visits import store_visits
from underoak.ledger.weather import store_series
from underoak.model.book import Taxon
from underoak.model.ground import Permission, PermissionStatus, Place, Spot
from underoak.model.visits import Find, Report, Search, Visit
from underoak.model.weather import Station, WeatherSeries
from underoak.outlook.learned import Learned
from underoak.settings import Home
from underoak.sheets.map_shading import Shading

TODAY = date(2025, 9, 26)
KIND = "grifola_frondosa"


def square(place_id: str, name: str, lon: float, status: PermissionStatus = "allowed") -> Place:
    ring = ((lon, 41.5), (lon + 0.01, 41.5), (lon + 0.01, 41.51), (lon, 41.51), (lon, 41.5))
    return Place(place_id, name, ((ring,),), Permission(status))


def store_weather(
    home: Home, last: date, *, rain_mm: float = 3.0, latitude_deg: float = 41.6, forecast_days: int = 0
) -> None:
    first = date(2021, 1, 1)
    days = (last - first).days + 1 + forecast_days
    of_year = np.array([(first + timedelta(days=n)).timetuple().tm_yday for n in range(days)], dtype=float)
    tmax = 16.0 - 14.0 * np.cos(2.0 * np.pi * (of_year - 20.0) / 365.0)
    values = {"rain_mm": np.full(days, rain_mm), "tmax_c": tmax, "tmin_c": tmax - 9.0}
    none = np.zeros(days, dtype=bool)
    station = Station("s", "Invented Hill", latitude_deg, -74.5, 200.0)
    ahead = np.arange(days) >= days - forecast_days
    series = WeatherSeries(station, first, values, ahead, dict.fromkeys(values, none))
    connection = open_ledger(home.ledger)
    with writing(connection):
        store_series(connection, series)
    connection.close()


@pytest.fixture
def stocked(home: Home) -> Home:
    """Two woods, two oaks, one maitake tree with a past; one wood where gathering is not settled."""
    oak = Spot("oak", "high", "wall oak", -74.5, 41.5, "white_oak", 90.0)
    visits = [
        Visit(
            f"v{y}",
            date(y, 9, 25),
            "high",
            60.0,
            ("Ada",),
            (Search("oak", 0.9),),
            (Find(f"f{y}", "oak", KIND, "prime"),),
        )
        for y in (2022, 2023, 2024)
    ]
    connection = open_ledger(home.ledger)
    with writing(connection):
        store_places(
            connection, [square("high", "High Oaks", -74.5), square("low", "Low Wood", -74.3, "unknown")]
        )
        store_spots(connection, [oak, Spot("two", "high", "twin oak", -74.5, 41.5, "red_oak", 60.0)])
        store_visits(connection, visits)
    connection.close()
    return home


def answer(home: Home, **asked: str) -> Week:
    return this_week(home, today=TODAY, **asked)


def test_the_tree_with_a_past_comes_first(stocked: Home) -> None:
    week = answer(stocked, taxon="maitake")
    assert len(week.days) == 10
    assert week.spots[0].spot == "wall oak"
    assert week.spots[0].chance.prime > 4.0 * week.spots[1].chance.prime
    assert any("3 of 3 seasons" in reason.words for reason in week.spots[0].chance.reasons)
    assert week.woods[0].place == "High Oaks"
    assert week.woods[0].spots == 2
    assert week.woods[1].spots == 0
    assert any("stands in" in note for note in week.notes)


def test_without_weather_it_says_what_still_holds(stocked: Home) -> None:
    week = answer(stocked)
    assert week.weather.station == ""
    assert "No weather is loaded" in week.weather.notes[0]
    assert "still answer" in week.weather.notes[0]


def test_weather_is_named_with_distance_and_age(stocked: Home) -> None:
    store_weather(stocked, TODAY - timedelta(days=1), forecast_days=6)
    week = answer(stocked)
    assert week.weather.station == "Invented Hill"
    assert week.weather.distance_km == pytest.approx(11.1, abs=0.2)
    assert week.weather.observed_to == TODAY - timedelta(days=1)
    assert week.weather.forecast_to == TODAY + timedelta(days=5)
    assert week.weather.notes == ()
    assert {fact.name for fact in week.weather.ground} == {
        "litter_wetness",
        "root_wetness",
        "soil_temp_10cm_c",
    }


def test_old_weather_is_said_to_be_old(stocked: Home) -> None:
    store_weather(stocked, TODAY - timedelta(days=7))
    notes = " ".join(answer(stocked).weather.notes)
    assert "7 days ago" in notes
    assert "No forecast is loaded" in notes


def test_a_station_too_far_away_is_not_used(stocked: Home) -> None:
    store_weather(stocked, TODAY, latitude_deg=44.2)
    week = answer(stocked)
    assert week.weather.station == ""
    assert "300 km away: too far" in week.weather.notes[0]


def test_a_record_without_any_rain_is_doubted(stocked: Home) -> None:
    store_weather(stocked, TODAY, rain_mm=0.0)
    week = answer(stocked)
    assert "Rain is zero" in " ".join(week.weather.notes)
    assert {fact.name for fact in week.weather.ground} == {"soil_temp_10cm_c"}


def test_visits_of_the_wrong_year_are_named_and_left_out(stocked: Home) -> None:
    before = answer(stocked, taxon=KIND)
    connection = open_ledger(stocked.ledger)
    with writing(connection):
        store_visits(connection, [Visit("wrong", date(2052, 9, 26), "high", searches=(Search("oak", 0.9),))])
    connection.close()
    after = answer(stocked, taxon=KIND)
    assert after.woods[0].expected_kg == before.woods[0].expected_kg
    assert any("dated after 2025-09-26" in note for note in after.notes)


def test_the_answer_is_kept_once_with_its_inputs(stocked: Home) -> None:
    first, second = answer(stocked), answer(stocked)
    assert first.answer_id == second.answer_id
    connection = open_ledger(stocked.ledger)
    rows = connection.execute("SELECT kind, book_version, inputs, document FROM answer").fetchall()
    connection.close()
    assert len(rows) == 1
    assert rows[0]["kind"] == "week"
    assert rows[0]["book_version"] == first.book_version
    assert json.loads(rows[0]["inputs"])["visits"] == 3
    assert json.loads(rows[0]["document"])["woods"][0]["place"] == first.woods[0].place


def test_an_empty_home_is_told_what_to_load(home: Home) -> None:
    with pytest.raises(NoAnswer, match="no place is known"):
        answer(home)


def test_unknown_names_are_told_the_known_ones(stocked: Home) -> None:
    with pytest.raises(UserMistake, match="High Oaks"):
        answer(stocked, place="Nowhere")
    with pytest.raises(UserMistake):
        answer(stocked, taxon="no such mushroom")
    with pytest.raises(NoAnswer, match="not gathered"):
        answer(stocked, taxon="Galerina marginata")


def test_the_command_prints_one_screen_and_one_document(stocked: Home) -> None:
    store_weather(stocked, TODAY - timedelta(days=1), forecast_days=6)
    runner = CliRunner()
    base = ["--home", str(stocked.folder), "--today", TODAY.isoformat()]
    text = runner.invoke(week_command, base, catch_exceptions=False).output
    assert len(text.splitlines()) <= 60
    assert max(len(line) for line in text.splitlines()) <= 160
    assert "Invented Hill, 11 km from home" in text
    assert "gathering unknown: scouting only" in text
    assert "odds x" in text
    document = json.loads(runner.invoke(week_command, [*base, "--json"], catch_exceptions=False).output)
    assert document["weather"]["station"] == "Invented Hill"
    assert len(document["days"]) == 10


def test_pictures_are_drawn_for_the_first_rows(stocked: Home) -> None:
    base = ["--home", str(stocked.folder), "--today", TODAY.isoformat(), "--taxon", "maitake", "--pictures"]
    output = CliRunner().invoke(week_command, base, catch_exceptions=False).output
    drawn = sorted((stocked.sheets / "week").glob("*.svg"))
    assert [path.name for path in drawn] == [
        "2025-09-26-high-oaks-grifola_frondosa.svg",
        "2025-09-26-low-wood-grifola_frondosa.svg",
        "2025-09-26-map.svg",
    ]
    assert output.count("Drawn:") == 3
    assert "best of 2 spots" in drawn[0].read_text("utf-8")


def test_week_why_and_walk_say_the_same_of_a_spot_after_learning(stocked: Home) -> None:
    """Reports, what was learned, and finds at another place this season count in all three."""
    book = load_book()
    taxon = book.taxa[KIND]
    connection = open_ledger(stocked.ledger)
    found = Find("now", "other", KIND, "prime")
    with writing(connection):
        store_spots(connection, [Spot("other", "low", "low oak", -74.3, 41.5, "white_oak", 70.0)])
        store_visits(
            connection,
            [Visit("n", date(2025, 9, 20), "low", searches=(Search("other", 0.9),), finds=(found,))],
        )
        before = expected(connection, stocked, taxon)
        reports = [
            Report(f"r{n}", date(2025, 9, 10 + n), "Grifola frondosa", KIND, None, None) for n in range(6)
        ]
        store_reports(connection, reports)
        told = expected(connection, stocked, taxon)
        learned = Learned(KIND, ("timing",), np.array([6.0]), np.array([[1.0]]), (2024,), 30, 12)
        store_learned(connection, KIND, learned.document(), made_on=TODAY, book_version=book.version)
        after = expected(connection, stocked, taxon)
    connection.close()
    whole, one_wood = answer(stocked, taxon=KIND), answer(stocked, taxon=KIND, place="High Oaks")
    best = next(row for row in whole.spots if row.spot == "wall oak").chance
    alone = next(row for row in one_wood.spots if row.spot == "wall oak").chance
    assert after[best.day] == pytest.approx(best.expected_kg, rel=1e-12)
    assert alone.expected_kg == pytest.approx(best.expected_kg, rel=1e-12)
    why = why_there(stocked, spot="wall oak", taxon=KIND, day=best.day, today=TODAY)
    assert why.chance.expected_kg == pytest.approx(best.expected_kg, rel=1e-12)
    assert why.ground == (
        "The tree is about 177 years by its trunk (rough: 118 to 236, older in dense woods).",
    )
    assert len({round(kg[best.day], 6) for kg in (before, told, after)}) == 3, "each counts"


def expected(connection: Ledger, home: Home, taxon: Taxon) -> dict[date, float]:
    """What a walk through one wood expects at the wall oak, by day."""
    oak = next(spot for spot in spots(connection) if spot.id == "oak")
    wood = next(place for place in places(connection) if place.id == "high")
    climates, _ = place_climates(connection, home.settings.where, [wood], today=TODAY)
    inputs = outlook_inputs(connection, TODAY)
    days = [TODAY + timedelta(days=n) for n in range(10)]
    return {
        day: float(expected_at([oak], [taxon], day, climates=climates, inputs=inputs)[0][0]) for day in days
    }


def test_the_map_is_hatched_and_numbered_by_what_is_expected(stocked: Home) -> None:
    week = answer(stocked, taxon="maitake")
    draw_week(stocked, week)
    shading = week_shading(week)
    best = max(range(10), key=lambda day: sum(row.expected_kg[day] for row in week.woods))
    assert shading.kg["oak"] == week.spot_kg["oak"][best]
    assert shading.kg["high"] == pytest.approx(shading.kg["oak"] + shading.kg["two"])
    assert shading.shade("oak") > shading.shade("two") == 0
    picture = fromstring((stocked.sheets / "week" / "2025-09-26-map.svg").read_text("utf-8"))
    svg = "{http://www.w3.org/2000/svg}"
    fills = [path.get("fill") for path in picture.iter(f"{svg}path")]
    assert fills.count(f"url(#shade{shading.shade('oak')})") >= 2, "the wood and its spot"
    assert {p.get("id") for p in picture.iter(f"{svg}pattern")} == {"shade1", "shade2", "shade3"}
    words = [text.text for text in picture.iter(f"{svg}text")]
    assert f"{shading.kg['oak']:.2g} kg" in words
    assert f"High Oaks, {shading.kg['high']:.2g} kg" in words
    assert any("Expected kilograms on" in (text or "") for text in words)


def test_shades_begin_at_fixed_kilograms() -> None:
    shading = Shading("", {"a": 0.04, "b": 0.05, "c": 0.3, "d": 4.0})
    assert [shading.shade(key) for key in "abcd"] == [0, 1, 2, 3]
    assert shading.shade("unknown") == 0
    assert shading.number("unknown") == ""
    assert [shading.number(key) for key in "ad"] == ["0.04 kg", "4 kg"]
