"""What every test may ask for."""

from __future__ import annotations

from pathlib import Path

import pytest

from underoak.desk.make_home import make_home
from underoak.model.household import Person, Settings, Whereabouts
from underoak.settings import Home


@pytest.fixture
def settings() -> Settings:
    """An invented household of three, settled in an invented valley."""
    return Settings(
        name="The Invented Family",
        where=Whereabouts(latitude_deg=41.5, longitude_deg=-74.5, elevation_m=180.0),
        people=(Person(name="Ada"), Person(name="Ben"), Person(name="Cleo", child=True, carries_kg=2.0)),
    )


@pytest.fixture
def home(tmp_path: Path, settings: Settings) -> Home:
    """A fresh, empty home."""
    return make_home(tmp_path / "home", settings)


@pytest.fixture
def plain_kitchen(monkeypatch: pytest.MonkeyPatch) -> None:
    """A kitchen whose evening needs no planning: that takes most of the time of a small walk's plan."""
    room = (9.0, "The kitchen takes 9.0 kg that evening.")
    monkeypatch.setattr("underoak.desk.walk_problem.kitchen_room", lambda *_: room)
    monkeypatch.setattr("underoak.desk.day_outings.kitchen_room", lambda *_: room)
