"""A real server for every test of this folder, and homes whose ledger it keeps."""

from __future__ import annotations

from collections.abc import Iterator
from importlib.util import find_spec

import pytest

from tests.club.server import Server, binaries, start
from underoak.ledger.database import open_ledger
from underoak.ledger.shared.session import SharedLedger
from underoak.model.club import ClubAddress
from underoak.model.household import ClubLedger, Person, Settings, Whereabouts


@pytest.fixture(scope="session")
def server() -> Iterator[Server]:
    """One server for all tests of a process."""
    if binaries() is None:
        pytest.skip("no PostgreSQL server of version 15 or newer here (Debian: apt-get install postgresql)")
    if find_spec("pg8000") is None:
        pytest.skip("the driver for PostgreSQL is not installed (requirements/club.txt)")
    running = start()
    yield running
    running.stop()


@pytest.fixture
def club(server: Server) -> ClubAddress:
    """The address of an empty ledger."""
    return server.emptied("one")


@pytest.fixture
def ledger(club: ClubAddress) -> Iterator[SharedLedger]:
    """An empty ledger, open."""
    connection = open_ledger(club)
    yield connection
    connection.close()


@pytest.fixture
def settings(club: ClubAddress) -> Settings:
    """The same invented household as elsewhere, whose record the club keeps."""
    return Settings(
        name="The Invented Family",
        where=Whereabouts(latitude_deg=41.5, longitude_deg=-74.5, elevation_m=180.0),
        people=(Person(name="Ada"), Person(name="Ben"), Person(name="Cleo", child=True, carries_kg=2.0)),
        ledger=ClubLedger(address=str(club)),
    )
