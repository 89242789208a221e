"""A real inventory of fungi in oak-wood plots goes through ``load`` and ``judge``.

Data: US National Park Service, National Capital Region, fungi inventory 2005 and 2006 (public domain); seven
plots in four parks, three to six visits each. They stand beside the checkout, not in it.
"""

from __future__ import annotations

import csv
import json
from collections import defaultdict
from datetime import datetime
from pathlib import Path

import pytest
from click.testing import CliRunner

from tests.outside_data import beside
from underoak.book.load import load_book
from underoak.cli.load import load
from underoak.cli.outlook import judge
from underoak.cli.week import week
from underoak.errors import UserMistake
from underoak.settings import Home

#: Invented corners, degrees, near the real parks: the inventory gives names only.
PARKS = {"ANTI": (-77.74, 39.47), "CATO": (-77.46, 39.64), "CHOH": (-77.70, 39.35), "PRWI": (-77.38, 38.59)}


def rows() -> list[dict[str, str]]:
    path = beside("phenology", "nps_ncr_fungi_inventory_2005_2006.csv")
    with path.open(newline="", encoding="utf-8") as file:
        return [row for row in csv.DictReader(file) if row["Protocol_Name"] == "Plot" and row["Start_Date"]]


def places(folder: Path) -> Path:
    features = []
    for name, (lon, lat) in PARKS.items():
        ring = [[lon, lat], [lon + 0.02, lat], [lon + 0.02, lat + 0.02], [lon, lat + 0.02], [lon, lat]]
        features.append(
            {
                "type": "Feature",
                "properties": {"name": name},
                "geometry": {"type": "Polygon", "coordinates": [ring]},
            }
        )
    path = folder / "parks.geojson"
    path.write_text(json.dumps({"type": "FeatureCollection", "features": features}), "utf-8")
    return path


def diary(folder: Path) -> tuple[Path, int]:
    """The plots' visits as the table of ``underoak template visits``, and how many they are."""
    book = load_book()
    found: dict[tuple[str, str, str], set[str]] = defaultdict(set)
    for row in rows():
        day = datetime.strptime(row["Start_Date"], "%m/%d/%y").date().isoformat()  # noqa: DTZ007 - a day only
        kinds = found[day, row["Unit_Code"], row["Foray_Name"]]
        try:
            kinds.add(book.find(f"{row['Genus']} {row['Species']}").scientific_name)
        except UserMistake:
            continue  # most of the 300 kinds are not in the book: a look that found none of the book's
    path = folder / "plots.csv"
    with path.open("w", newline="", encoding="utf-8") as file:
        table = csv.writer(file)
        table.writerow(
            [
                "date",
                "place",
                "spot",
                "searched",
                "taxon",
                "stage",
                "minutes",
                "latitude",
                "longitude",
                "host",
            ]
        )
        for (day, park, plot), kinds in sorted(found.items()):
            lon, lat = PARKS[park]
            where = [120, lat + 0.01, lon + 0.01, "oak"]
            for kind in sorted(kinds) or [""]:
                table.writerow([day, park, plot, "thorough", kind, "prime" if kind else "", *where])
    return path, len({(day, park) for day, park, _ in found})


@pytest.mark.outside
def test_the_park_inventory_is_loaded_and_judged(home: Home, tmp_path: Path) -> None:
    runner = CliRunner()
    here = ["--home", str(home.folder)]
    table, visits = diary(tmp_path)
    for kind, path in (("places", places(tmp_path)), ("visits", table)):
        result = runner.invoke(load, [kind, str(path), *here], catch_exceptions=False)
        assert result.exit_code == 0, result.output
    today = ["--today", "2006-12-31"]
    answer = json.loads(runner.invoke(judge, [*here, *today, "--json"], catch_exceptions=False).output)
    judgement = answer["judgement"]
    assert judgement["seasons"] == [2005, 2006]
    assert judgement["visits"] == visits
    assert judgement["finds"] >= 8
    assert [score["name"] for score in judgement["scores"]][:2] == ["model", "the book alone"]
    assert all(score["log_score"] < 0.0 for score in judgement["scores"])
    assert {taxon["ruling"] for taxon in judgement["taxa"]} == {"untried"}
    text = runner.invoke(week, [*here, "--today", "2006-09-20"], catch_exceptions=False).output
    assert "PRWI" in text
