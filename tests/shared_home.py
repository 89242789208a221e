"""A small invented home with finds, a withheld spot, verdicts and a photo, whose ground can be moved."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path

from underoak.book.load import load_book
from underoak.desk.make_home import make_home
from underoak.ledger.database import open_ledger, writing
from underoak.ledger.places import store_places, store_spots
from underoak.ledger.verdicts import store_verdict
from underoak.ledger.visits import store_visits
from underoak.model.ground import LonLat, Permission, Place, Spot
from underoak.model.household import ClubLedger, Person, Settings, Whereabouts
from underoak.model.vetting import Body, Observation, Observations
from underoak.model.visits import Find, Search, Visit
from underoak.settings import Home
from underoak.vetting.verdict import evaluate

TODAY = date(2026, 10, 20)
#: Words that must never leave the home.
SECRET_WORDS = ("Hidden Hollow", "The Old Oak", "Secret Elm", "Ada", "Ben", "behind the third wall")


@dataclass(frozen=True)
class Ground:
    """Where the invented wood and its two spots stand."""

    middle: LonLat = (-74.51, 41.58)
    oak: LonLat = (0.004, 0.002)
    elm: LonLat = (-0.003, 0.001)


def invented_home(folder: Path, ground: Ground = Ground(), ledger: str = "") -> Home:
    """The home, with the wood round ``ground.middle`` and both spots beside it; a club keeps it if named."""
    settings = Settings(
        name="Invented",
        where=Whereabouts(latitude_deg=41.5, longitude_deg=-74.5),
        people=(Person(name="Ada"), Person(name="Ben")),
        ledger=ClubLedger(address=ledger),
    )
    home = make_home(folder, settings)
    lon, lat = ground.middle
    ring = tuple((lon + x, lat + y) for x, y in ((-0.01, -0.01), (0.01, -0.01), (0.01, 0.01), (-0.01, 0.01)))
    place = Place("wood", "Hidden Hollow", (((*ring, ring[0]),),), Permission("allowed", "Ada"))
    oak = Spot("oak", "wood", "The Old Oak", lon + ground.oak[0], lat + ground.oak[1], "oak", 93.0)
    elm = Spot("elm", "wood", "Secret Elm", lon + ground.elm[0], lat + ground.elm[1], "elm", withheld=True)
    connection = open_ledger(home.ledger)
    with writing(connection):
        store_places(connection, [place])
        store_spots(connection, [oak, elm])
        store_visits(connection, _visits())
        _vet(connection)
    connection.close()
    return home


def _visits() -> list[Visit]:
    both = (Search("oak", 0.9), Search("elm", 0.6))
    return [
        Visit(
            "v1", date(2026, 10, 3), "wood", 90.0, ("Ada", "Ben"), both,
            (
                Find("f1", "oak", "grifola_frondosa", "prime", 2, 1500.0, "behind the third wall"),
                Find("f2", "elm", "hypsizygus_group", "prime", 1, 400.0),
            ),
            "behind the third wall",
        ),
        Visit("v2", date(2026, 10, 10), "wood", 40.0, ("Ada",), both, (), ""),
        Visit("v3", date(2025, 10, 1), "wood", 40.0, ("Ada",), (Search("elm", 0.6),), (), ""),
    ]  # fmt: skip


def _vet(connection: object) -> None:
    document = Observations(
        format="underoak observations 1",
        target="grifola_frondosa",
        bodies_in_lot=2,
        bodies=(
            Body(
                id="Ada's",
                age="mature",
                observations={
                    "hymenium": Observation(look="seen", states=("pores",), note="behind the third wall"),
                    "host": Observation(look="seen", states=("oak",)),
                    "ring": Observation(look="absent"),
                    "smell": Observation(look="cant_tell"),
                    "latex": Observation(look="not_looked"),
                },
            ),
        ),
    )
    verdict = evaluate(load_book(), document)
    store_verdict(connection, "f1", document, verdict, date(2026, 10, 4))  # type: ignore[arg-type]
