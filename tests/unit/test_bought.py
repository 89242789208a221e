"""Bought mushrooms: planned with the finds, never vetted, and traced from the jar back to the shop."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, time, timedelta
from typing import Any

import pypdfium2
import pytest

from tests.unit.kitchen_home import DAY, with_finds
from tests.unit.test_put_up_haul import ask, done, run
from tests.unit.web_client import PORT, Browser
from underoak.desk.feel_ill import IllNote, feel_ill
from underoak.desk.record_bought import BoughtNote, record_bought
from underoak.errors import BadData, UserMistake
from underoak.settings import Home
from underoak.sheets.incident import suspect_lines
from underoak.sheets.wording import BOUGHT, BOUGHT_CAUTION, EATING_CAUTIONS
from underoak.web.app import create_app

SHOP = "Invented Market"
EVENING = datetime.combine(DAY, time(22))


def bought(home: Home, kind: str = "oyster mushroom", grams: float = 800.0) -> str:
    note = BoughtNote(kind, grams, SHOP, datetime.combine(DAY, time(12)), grown=True)
    return record_bought(home, note, now=EVENING).lot.id


@pytest.fixture
def market(home: Home) -> Home:
    """A home with a find that has no verdict, and bought mushrooms."""
    with_finds(home, [("f1", "grifola_frondosa", 900.0, None)])
    bought(home)
    return home


def test_the_command_says_who_named_it_and_all_cautions(home: Home) -> None:
    told = run(home, "kitchen", "bought", "oyster mushroom=800", "--shop", SHOP, "--grown")
    assert f"oyster mushroom, 800 g from {SHOP}" in told
    for words in (BOUGHT_CAUTION, *EATING_CAUTIONS):
        assert words in told


def test_it_is_planned_without_a_verdict_while_the_find_is_set_aside(market: Home) -> None:
    plan = ask(market, "kitchen", "--seconds", "0")
    assert {task["taxon_id"] for task in plan["schedule"]["tasks"]} == {"pleurotus_ostreatus_group"}
    assert {rest["lot_id"]: rest["goes"] for rest in plan["leftovers"]}["lot-f1"] == "set_aside"
    assert f"oyster mushroom from {SHOP}: {BOUGHT}" in plan["notes"]
    assert BOUGHT_CAUTION in plan["cautions"]


def test_from_the_plan_to_the_jar_and_back_to_the_shop(market: Home) -> None:
    (made,) = done(market, "--method", "dry", "--lot", "oyster mushroom=300", "--units", "1x30")
    assert made["cautions"][0] == BOUGHT_CAUTION
    code = made["jars"][0]["code"]
    assert BOUGHT_CAUTION in made["jars"][0]["cautions"]
    traced = run(market, "trace", code)
    assert f"300 g of oyster mushroom (Pleurotus ostreatus group), bought on {DAY} at {SHOP}" in traced
    assert f"verdict: {BOUGHT}" in traced
    assert "consistent" not in traced
    lot_id = made["batch"]["lots"][0][0]
    assert [jar["code"] for jar in ask(market, "trace", "lot", lot_id)["recall"]["jars"]] == [code]
    assert code in run(market, "jars")
    rest = [lot for lot in ask(market, "kitchen", "--seconds", "0")["lots"] if lot["id"] == lot_id]
    assert [lot["fresh_g"] for lot in rest] == [500.0]
    with pytest.raises(UserMistake, match="of which 500 g are left"):
        done(market, "--method", "dry", "--lot", f"{lot_id}=600", "--units", "1x30")


def test_a_kind_that_is_not_in_the_book_goes_by_the_sellers_words(home: Home) -> None:
    bought(home, "button  Mushrooms", 600.0)
    done(home, "--method", "cook_tonight", "--lot", "button mushrooms=600")
    found = feel_ill(home.folder, IllNote("Ada", EVENING, EVENING - timedelta(hours=1)))
    assert found.proofs[0].find == f"bought on {DAY} at {SHOP}"
    assert found.proofs[0].verdict == BOUGHT
    assert "any kind is possible" in suspect_lines(found)[0].lower()
    text = " ".join(p.get_textpage().get_text_range() for p in pypdfium2.PdfDocument(found.files[0]))
    assert SHOP in " ".join(text.split())


def test_bought_and_found_are_kept_apart(market: Home) -> None:
    with pytest.raises(UserMistake, match="2 kinds, not all of them vetted"):
        done(market, "--method", "dry", "--lot", "f1=100", "--lot", "oyster mushroom=100", "--units", "1x30")


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"kind": "death cap"}, "dangerous"),
        ({"kind": "chanterelles"}, "roots of trees and is not grown"),
        ({"grown": False}, "not said that it was grown"),
        ({"kind": "", "fresh_g": 0.0, "shop": " "}, "no name of the mushroom / 0 g / no shop"),
        ({"at": EVENING + timedelta(hours=1)}, "which is to come"),
    ],
)
def test_what_is_no_purchase_of_grown_mushrooms_is_refused(
    home: Home, changes: dict[str, Any], told: str
) -> None:
    grown = BoughtNote("oyster mushroom", 100.0, SHOP, datetime.combine(DAY, time(12)), grown=True)
    note = replace(grown, **changes)
    with pytest.raises(BadData) as refused:
        record_bought(home, note, now=EVENING)
    assert told in " / ".join(problem.what for problem in refused.value.problems)


def test_the_page_takes_it_in_and_shows_the_way_back(home: Home) -> None:
    browser = Browser(create_app(home, today=lambda: DAY, now=lambda: EVENING, port=PORT))
    asked = {"bought_kind": "oyster mushroom", "bought_g": "800", "shop": SHOP, "bought_at": "12:00"}
    refused = browser.send("/kitchen/bought", asked, seen_on="/kitchen")
    assert "it is not said that it was grown" in refused.get_data(as_text=True)
    poison = browser.send(
        "/kitchen/bought", {**asked, "bought_kind": "death cap", "grown": "1"}, seen_on="/kitchen"
    )
    assert 'name="grown" value="1" checked' in poison.get_data(as_text=True)
    browser.send("/kitchen/bought", {**asked, "grown": "1"}, seen_on="/kitchen")
    assert f"Oyster mushroom, 800 g from {SHOP}" in browser.text("/kitchen")
    (made,) = done(home, "--method", "dry", "--lot", "oyster mushroom=300", "--units", "1x30")
    page = browser.text(f"/pantry/jar/{made['jars'][0]['code']}")
    assert "Back to the shop" in page
    assert SHOP in page
    assert BOUGHT in page
