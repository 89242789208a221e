"""The demo runs the whole job; afterwards every command answers on its home."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import gpxpy
import pytest

from tests.journeys.command import Answer, underoak

DAY = ("--today", "2026-10-03")


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, Any]]:
    folder = tmp_path_factory.mktemp("demo") / "demo-home"
    told = underoak("demo", folder, "--json")
    assert told.code == 0, told.err
    return folder, told.json()


def test_the_story_goes_from_weather_to_jar(demo: tuple[Path, dict[str, Any]]) -> None:
    _, story = demo
    assert 0.0 < story["week_best_chance"] < 1.0
    assert 0.0 < story["walk_kg"] <= story["walk_bound_kg"] * (1.0 + 1e-9)
    assert {"refused", "open", "consistent"} == set(story["verdicts"].values())
    assert story["jars"]


def test_every_file_it_names_is_there(demo: tuple[Path, dict[str, Any]]) -> None:
    folder, story = demo
    endings = {Path(name).suffix for name in story["files"]}
    assert {".pdf", ".svg", ".gpx", ".geojson", ".csv", ".json", ".asc"} <= endings
    for name in story["files"]:
        assert Path(name).stat().st_size > 0
    (track,) = (folder / "sheets").glob("walk-*.gpx")
    assert gpxpy.parse(track.read_text()).tracks


def test_a_second_demo_starts_afresh_doubles_nothing_and_keeps_to_a_screen_a_stage(
    demo: tuple[Path, dict[str, Any]],
) -> None:
    folder, story = demo
    again = underoak("demo", folder)
    assert again.code == 0, again.err
    jars = underoak("jars", *DAY, "--json", home=folder).json()["jars"]
    assert len(jars) == len(story["jars"])
    chapters = [line for line in again.out.splitlines() if line[:1].isdigit()]
    assert [line[0] for line in chapters] == list("123456789")
    lines = 0
    for line in again.out.splitlines():
        lines = 0 if line and not line.startswith(" ") else lines + 1
        assert lines <= 30
        assert len(line) <= 130 or str(folder) in line


def test_the_demo_never_takes_over_a_folder_of_yours(tmp_path: Path) -> None:
    (tmp_path / "recipes.txt").write_text("mine")
    answer = underoak("demo", tmp_path)
    assert answer.code == 2
    assert (tmp_path / "recipes.txt").read_text() == "mine"


COMMANDS = {
    "week": ["week", *DAY],
    "walk": ["walk", *DAY, "--place", "Cold Spring Ridge", "--hours", "2", "--seconds", "2"],
    "review": ["review", *DAY],
    "jars": ["jars", *DAY],
    "book": ["book", "Grifola frondosa"],
}


@pytest.mark.parametrize("command", COMMANDS)
def test_with_json_there_is_one_document_and_nothing_else(
    demo: tuple[Path, dict[str, Any]], command: str
) -> None:
    folder, _ = demo
    arguments = [*COMMANDS[command], "--json"]
    answer = underoak(*arguments, home=None if command == "book" else folder)
    assert answer.code == 0, answer.err
    assert isinstance(json.loads(answer.out), dict)


def test_vetting_by_hand_keeps_an_empty_look_open(demo: tuple[Path, dict[str, Any]], tmp_path: Path) -> None:
    folder, story = demo
    find = next(iter(story["verdicts"]))
    nothing = {"format": "underoak observations 1", "bodies_in_lot": 1, "bodies": [{"id": "body 1"}]}
    file = tmp_path / "nothing.json"
    file.write_text(json.dumps(nothing))
    visits = underoak("trace", "find", find, *DAY, "--json", home=folder)
    assert visits.code in (0, 2)
    answer = underoak("vet", "--observations", file, "--json", home=folder)
    assert answer.json()["state"] in ("open", "refused")


def trace(folder: Path, code: str) -> Answer:
    return underoak("trace", code, *DAY, home=folder)


def test_a_jar_is_traced_to_its_tree_and_the_find_to_its_jar(demo: tuple[Path, dict[str, Any]]) -> None:
    folder, _ = demo
    code = underoak("jars", *DAY, "--json", home=folder).json()["jars"][0]["jar"]["code"]
    back = underoak("trace", code, *DAY, "--json", home=folder).json()["trace"]
    text = json.dumps(back)
    assert "2026-10-03" in text
    find = next(part for part in text.split('"') if part.startswith("visit-") and part.count("-") == 2)
    forward = underoak("trace", "find", find, *DAY, "--json", home=folder)
    assert forward.code == 0, forward.err
    assert code in forward.out
