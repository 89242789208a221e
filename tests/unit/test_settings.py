"""Settings survive being written and read, and every fault is named at once."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from underoak.desk.make_home import likely_timezone, make_home
from underoak.errors import BadData, UserMistake
from underoak.model.household import Person, Settings, Whereabouts
from underoak.settings import Home, load_home, parse_settings, settings_text


def test_a_home_reads_back_what_was_written(home: Home) -> None:
    assert load_home(home.folder) == home
    assert home.ledger_path.is_file()


def test_a_second_home_in_the_same_folder_is_refused(home: Home) -> None:
    with pytest.raises(UserMistake, match="already is a home"):
        make_home(home.folder, home.settings)


def test_a_folder_without_settings_is_no_home(tmp_path: Path) -> None:
    with pytest.raises(UserMistake, match="is no home"):
        load_home(tmp_path)


@pytest.mark.parametrize(
    ("longitude_deg", "own", "zone"),
    [
        (-74.5, "", "America/New_York"),
        (-87.6, "America/Chicago", "America/Chicago"),
        (-74.5, "Europe/Berlin", "America/New_York"),
        (11.57, "Europe/Berlin", "Europe/Berlin"),
        (11.57, "Etc/UTC", "Etc/GMT-1"),
        (11.57, "Nowhere/At_All", "Etc/GMT-1"),
        (-122.3, "UTC", "Etc/GMT+8"),
    ],
)
def test_a_new_home_keeps_clock_times_near_the_sun(longitude_deg: float, own: str, zone: str) -> None:
    assert likely_timezone(longitude_deg, own) == zone
    Whereabouts(latitude_deg=41.0, longitude_deg=longitude_deg, timezone=zone)


def test_all_faults_of_the_settings_come_at_once(settings: Settings) -> None:
    text = settings_text(settings).replace("latitude_deg = 41.5", "latitude_deg = 140.0")
    text = text.replace("burners = 4", 'burners = "four"') + "carries = 3\n"
    with pytest.raises(BadData) as caught:
        parse_settings(text, "underoak.toml")
    where = [problem.where for problem in caught.value.problems]
    assert where == [
        "underoak.toml, where.latitude_deg",
        "underoak.toml, people.2.carries",
        "underoak.toml, kitchen.burners",
    ]


@given(
    name=st.text(min_size=1, max_size=60).filter(lambda s: s.isprintable()),
    latitude=st.floats(-66, 66),
    carries=st.floats(0, 40),
)
def test_any_settings_survive_the_round_trip(name: str, latitude: float, carries: float) -> None:
    settings = Settings(
        where=Whereabouts(latitude_deg=latitude, longitude_deg=0.0),
        people=(Person(name=name, carries_kg=carries),),
    )
    assert parse_settings(settings_text(settings), "here") == settings
