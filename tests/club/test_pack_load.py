"""The tests of telephones' logs, on a server."""

from pathlib import Path

import pytest

from tests.club.again import again
from tests.shared_home import invented_home
from underoak.model.club import ClubAddress
from underoak.settings import Home

globals().update(again("tests.unit.test_pack_load", without=("wood",)))


@pytest.fixture
def wood(tmp_path: Path, club: ClubAddress) -> Home:
    """The invented wood, in the club's ledger."""
    return invented_home(tmp_path / "home", ledger=str(club))
