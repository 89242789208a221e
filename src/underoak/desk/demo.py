"""The invented valley as a home of its own: files, household, and one Saturday's finds."""

from __future__ import annotations

import json
import shutil
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from underoak.book.load import load_book
from underoak.desk.load_data import Loaded, read_files, store_files
from underoak.desk.load_kinds import Options
from underoak.desk.make_home import make_home
from underoak.desk.record_visit import FindNote, VisitNote, record_visit
from underoak.errors import UserMistake
from underoak.model.household import Kitchen, Person, Settings, Whereabouts
from underoak.model.vetting import Observations
from underoak.model.visits import Find, Visit
from underoak.settings import Home
from underoak.world.basket import noted_find
from underoak.world.files import FIRST_SEASON, write_world
from underoak.world.season import InventedSpot, flushes, known_spots
from underoak.world.trees import park_trees
from underoak.world.valley import HOME_ELEVATION_M, HOME_LATITUDE_DEG, HOME_LONGITUDE_DEG, PARKS

#: The Saturday on which the story plays.
SATURDAY = date(2026, 10, 3)
#: What stands before the codes of the invented household's jars.
TAG = "7QK"
#: Marks a folder that the demo made and may make again.
MARKER = "this-home-is-invented.txt"
_MARKER_TEXT = (
    "Every place, person, tree, day and find in this folder is invented.\n"
    "'underoak demo' makes it anew each time and overwrites what is in it; keep nothing of your own here.\n"
)


@dataclass(frozen=True, slots=True)
class NotedFind:
    """A find of the Saturday with what was noted on it, and how it came to be in the basket."""

    find: Find
    document: Observations
    words: str


@dataclass(frozen=True, slots=True)
class _Basket:
    """What was put into one bag: the true taxon, the name somebody had in mind, and what was skipped."""

    spot: str
    truth: str
    target: str
    fresh_g: int
    stems: int = 1
    not_looked: tuple[str, ...] = ()
    words: str = ""


def fresh_demo_home(folder: Path) -> Home:
    """An empty home for the invented household, made anew if an earlier demo stands there.

    Raises UserMistake when the folder holds anything that no demo made.
    """
    if folder.exists():
        if any(folder.iterdir()) and not (folder / MARKER).is_file():
            raise UserMistake(
                f"{folder} holds something of yours", remedy="name a folder that does not exist yet"
            )
        shutil.rmtree(folder)
    home = make_home(folder, _household(), tag=TAG)
    (folder / MARKER).write_text(_MARKER_TEXT, "utf-8")
    return home


def _household() -> Settings:
    return Settings(
        name="The Alderman household (invented)",
        where=Whereabouts(
            latitude_deg=HOME_LATITUDE_DEG, longitude_deg=HOME_LONGITUDE_DEG, elevation_m=HOME_ELEVATION_M
        ),
        people=(
            Person(name="Mara", carries_kg=8.0),
            Person(name="Jonas", carries_kg=9.0, drinks_alcohol=True),
            Person(name="Ida", carries_kg=2.0, child=True, cooks=False),
            Person(name="Tom", carries_kg=3.0, child=True),
        ),
        kitchen=Kitchen(),
    )


def load_world(home: Home, *, seed: int, today: date = SATURDAY) -> list[Loaded]:
    """Write the invented valley's files into the home's folder ``files`` and load them like anybody's."""
    loaded: list[Loaded] = []
    for file in write_world(home.folder / "files", seed=seed, today=today):
        read = read_files(home, file.kind, [file.path], options=Options(), today=today)
        loaded += store_files(home, file.kind, read, accept_good=False, today=today)
    return loaded


def day_out(
    home: Home, place: str, *, seed: int, minutes: float, today: date = SATURDAY
) -> tuple[Visit, tuple[NotedFind, ...]]:
    """The Saturday at ``place``: everything prime at the known spots, two chance finds and one wrong one.

    The visit is stored; the documents say what the invented people looked at. One lot lacks its spore
    print, and one bag holds small brown mushrooms that a child took for honey mushrooms.
    """
    spots, standing = _truth(place, seed, today)
    baskets = [*standing, *_chance_finds(spots)]
    visit = record_visit(
        home,
        VisitNote(
            day=today,
            place=place,
            searched=[(spot.name, 0.9) for spot in spots],
            finds=[FindNote(each.spot, each.target, "prime", float(each.fresh_g)) for each in baskets],
            minutes=minutes,
            people=[person.name for person in home.settings.people],
            note="invented",
        ),
        today=today,
    )
    day = today.timetuple().tm_yday
    return visit, tuple(
        NotedFind(find, _document(basket, day), basket.words)
        for find, basket in zip(visit.finds, baskets, strict=True)
    )


def _truth(place: str, seed: int, today: date) -> tuple[list[InventedSpot], list[_Basket]]:
    spots: list[InventedSpot] = []
    first = 1
    for park in PARKS:
        trees = park_trees(park, seed, first)
        first += len(trees)
        spots += known_spots(park, trees, 14 if park.permission["status"] == "allowed" else 5)
    seasons = range(FIRST_SEASON, today.year + 1)
    standing = [
        _Basket(
            spot=flush.spot.name,
            truth=flush.habit.taxon_id,
            target=flush.habit.taxon_id,
            fresh_g=round(flush.fresh_g),
            stems=9 if flush.habit.taxon_id == "armillaria_mellea_group" else 1,
        )
        for flush in flushes(spots, seasons, seed)
        if flush.spot.park.name == place and flush.first <= today <= flush.prime_until + timedelta(days=1)
    ]
    return [spot for spot in spots if spot.park.name == place], standing


def _chance_finds(spots: list[InventedSpot]) -> list[_Basket]:
    honey = "armillaria_mellea_group"
    return [
        _Basket(spots[3].name, "lycoperdon_perlatum", "lycoperdon_perlatum", 260),
        _Basket(spots[5].name, "hericium_group", "hericium_group", 420),
        _Basket(
            spots[7].name,
            honey,
            honey,
            650,
            stems=6,
            not_looked=("print_colour",),
            words="no spore print yet",
        ),
        _Basket(
            spots[8].name,
            "galerina_marginata",
            honey,
            180,
            stems=4,
            words="Ida's bag: 'more honeys from a log'",
        ),
    ]


def _document(basket: _Basket, day_of_year: int) -> Observations:
    document: dict[str, Any] = noted_find(
        load_book(),
        basket.truth,
        target=basket.target,
        stems=basket.stems,
        day_of_year=day_of_year,
        not_looked=basket.not_looked,
    )
    return Observations.model_validate_json(json.dumps(document), strict=True)
