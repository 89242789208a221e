"""The command ``pack``: what it writes and prints, with and without permission, and what it refuses early."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from tests.made_once import valley as loaded_valley
from tests.pack_logs import Telephone
from underoak.cli.load import load
from underoak.cli.pack import pack
from underoak.settings import Home

DAY = "2026-10-03"


@pytest.fixture(scope="module")
def valley(tmp_path_factory: pytest.TempPathFactory) -> Home:
    """The invented valley, loaded."""
    return loaded_valley(tmp_path_factory)


def _run(home: Home, *words: str) -> Result:
    common = ["--home", str(home.folder), "--today", DAY]
    return CliRunner().invoke(pack, [*common, *words])


def test_it_writes_page_briefing_and_sheet(valley: Home) -> None:
    where = ["--place", "Fiddler's Hollow", "--hours", "1.5", "--seconds", "1", "--check", "Mara"]
    result = _run(valley, *where, "--vetting-sheet", "Grifola frondosa", "--json")
    assert result.exit_code == 0, result.output
    told = json.loads(result.stdout)
    assert Path(told["file"]).stat().st_size == told["size_bytes"] < 3_000_000
    assert [Path(name).name for name in told["papers"]] == [
        "vetting-grifola-frondosa.pdf",
        "briefing-2026-10-03-fiddler-s-hollow.pdf",
    ]
    assert all(Path(name).read_bytes().startswith(b"%PDF") for name in told["papers"])


def test_where_nobody_allows_it_the_page_says_look_only(valley: Home) -> None:
    result = _run(valley, "--place", "Old Quarry Woods", "--seconds", "1", "--no-briefing")
    assert result.exit_code == 0, result.output
    text = next(valley.sheets.glob("pack-*-old-quarry-woods.html")).read_text("utf-8")
    assert "Look only: gather nothing here." in text
    assert '"gathering":false' in text


@pytest.mark.parametrize("name", ["Galerina marginata", "honey mushroom", "no such thing"])
def test_a_sheet_for_another_name_is_refused_before_anything_is_planned(valley: Home, name: str) -> None:
    result = _run(valley, "--place", "no such place", "--vetting-sheet", name)
    assert result.exit_code != 0
    assert "place" not in str(result.exception)


def test_conflicts_are_listed(valley: Home, tmp_path: Path) -> None:
    from underoak.ledger.database import open_ledger
    from underoak.ledger.places import places, spots

    assert "No two telephones" in _run(valley, "--conflicts").output
    connection = open_ledger(valley.ledger)
    place = next(p for p in places(connection) if p.name == "Fiddler's Hollow")
    spot = next(s for s in spots(connection) if s.place_id == place.id)
    connection.close()
    logs = [
        str(Telephone(device, place.id).find("A1", spot_id=spot.id, fresh_g=grams).save(tmp_path))
        for device, grams in (("ada00001", 100), ("ben00001", 200))
    ]
    loaded = CliRunner().invoke(load, ["pack", *logs, "--home", str(valley.folder), "--today", DAY])
    assert loaded.exit_code == 0, loaded.output
    assert "CONFLICT" in loaded.output
    shown = _run(valley, "--conflicts").output
    assert "100 g" in shown
    assert "200 g" in shown
