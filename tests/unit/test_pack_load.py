"""Logs of telephones end in the ledger once, and where two disagree nobody is overruled in silence."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tests.pack_logs import DAY, PACK_ID, Telephone, load
from tests.shared_home import invented_home
from underoak.book.load import load_book
from underoak.desk.load_data import read_files
from underoak.desk.load_kinds import Options
from underoak.desk.take_in_pack import STRUCK_OUT, conflicts_of
from underoak.errors import BadData
from underoak.ledger.database import open_ledger, writing
from underoak.ledger.pack import noted_entries
from underoak.ledger.places import spots
from underoak.ledger.verdicts import StoredVerdict, verdicts_of
from underoak.ledger.visits import find_by_id, visits
from underoak.model.visits import Visit
from underoak.settings import Home
from underoak.vetting.matrix import compiled
from underoak.vetting.simulate import complete

FIND = f"pack-{PACK_ID}-a1"


@pytest.fixture
def wood(tmp_path: Path) -> Home:
    """The invented wood with its oak and elm."""
    return invented_home(tmp_path / "home")


def _visit(home: Home) -> Visit | None:
    connection = open_ledger(home.ledger)
    try:
        return next((v for v in visits(connection) if v.id == f"pack-{PACK_ID}"), None)
    finally:
        connection.close()


def _verdicts(home: Home) -> list[StoredVerdict]:
    connection = open_ledger(home.ledger)
    try:
        return verdicts_of(connection, FIND)
    finally:
        connection.close()


def _looked_at(phone: Telephone, bag: str, **instead: dict[str, Any]) -> Telephone:
    """Every question answered as on a flawless hen of the woods, but for what is given instead."""
    import numpy as np

    book = load_book()
    document = complete(book, compiled(book), "grifola_frondosa", np.random.default_rng(1))
    body = document.bodies[0]
    for name in ("treated", "roadside", "flooded_or_dumped"):
        phone.answer(bag, f"ground.{name}", {"answer": "no"}, body="")
    phone.answer(bag, "stems", {"stems": 1}).answer(bag, "age", {"age": "mature"})
    for name in ("wormy", "soaked", "frozen", "rotten"):
        phone.answer(bag, f"condition.{name}", {"answer": "no"})
    for name, observation in body.observations.items():
        phone.answer(bag, name, {"observation": instead.get(name, observation.model_dump(mode="json"))})
    return phone


def test_finds_searches_and_new_spots_end_in_one_visit(wood: Home, tmp_path: Path) -> None:
    phone = Telephone("ada00001").note("walk", holder="Ada", people=["Ada", "Ben"], minutes=150)
    phone.find("A1", photos=["IMG_1.jpg"], note="by the wall").note("search", spot_id="elm", thoroughness=0.9)
    phone.note("spot", spot_id="new:split log", name="Split Log", lon=-74.511, lat=41.581, within_m=12)
    phone.find("A2", spot_id="new:split log", taxon_id="hericium_group", fresh_g=300)
    load(wood, phone.save(tmp_path))
    visit = _visit(wood)
    assert visit is not None
    assert (visit.day, visit.place_id, visit.minutes, visit.people) == (DAY, "wood", 150.0, ("Ada", "Ben"))
    assert {(s.spot_id, s.thoroughness) for s in visit.searches} >= {("elm", 0.9), ("oak", 0.6)}
    found = {f.id: f for f in visit.finds}
    assert found[FIND].fresh_g == 1500.0
    assert found[FIND].note == "bag A1; by the wall; photos on the telephone: IMG_1.jpg"
    connection = open_ledger(wood.ledger)
    named = {s.name: s for s in spots(connection)}
    connection.close()
    assert found[f"pack-{PACK_ID}-a2"].spot_id == named["Split Log"].id
    assert named["Split Log"].longitude_deg == -74.511


def test_loading_twice_and_a_longer_log_add_only_what_is_new(wood: Home, tmp_path: Path) -> None:
    phone = Telephone("ada00001").find("A1")
    first = phone.save(tmp_path)
    pasted = tmp_path / "pasted.txt"
    pasted.write_text(json.dumps(phone.document(), indent=4), "utf-8")
    assert [loaded.stored for loaded in load(wood, first, first, pasted)] == [1, 0, 0]
    phone.find("A1", fresh_g=1400).note("search", spot_id="elm", thoroughness=0.3)
    assert [loaded.stored for loaded in load(wood, phone.save(tmp_path))] == [2]
    visit = _visit(wood)
    assert visit is not None
    assert [find.fresh_g for find in visit.finds] == [1400.0]
    assert conflicts_of(wood) == ()


def test_two_telephones_that_agree_are_no_conflict(wood: Home, tmp_path: Path) -> None:
    ada, ben = Telephone("ada00001").find("A1"), Telephone("ben00001").find("A1", note="seen by Ben")
    load(wood, ada.save(tmp_path), ben.save(tmp_path))
    assert conflicts_of(wood) == ()
    visit = _visit(wood)
    assert visit is not None
    assert len(visit.finds) == 1


def test_two_values_for_one_bag_are_told_and_both_kept(wood: Home, tmp_path: Path) -> None:
    ada, ben = Telephone("ada00001").find("A1", fresh_g=1500), Telephone("ben00001").find("A1", fresh_g=900)
    told = load(wood, ada.save(tmp_path), ben.save(tmp_path))
    assert "CONFLICT, both are kept" in "\n".join(told[1].understood)
    assert "1500 g" in "\n".join(told[1].understood)
    assert "900 g" in "\n".join(told[1].understood)
    assert len(conflicts_of(wood)) == 1
    connection = open_ledger(wood.ledger)
    assert len(noted_entries(connection)) == 2
    known = find_by_id(connection, FIND)
    connection.close()
    assert known is not None
    assert known[0].fresh_g == 1500.0
    assert conflicts_of(wood)[0].entries == ("ada00001-1-abcd", "ben00001-1-abcd")


def test_conflicts_within_one_load_are_told_before_anything_is_stored(wood: Home, tmp_path: Path) -> None:
    paths = [
        Telephone(f"{who}00001").find("A1", fresh_g=g).save(tmp_path) for who, g in (("ada", 1), ("ben", 2))
    ]
    read = read_files(wood, "pack", paths, options=Options(), today=DAY)
    assert any(line.startswith("CONFLICT") for line in read[1].reading.understood)
    assert _visit(wood) is None


def test_the_order_of_loading_makes_the_same_conflicts(wood: Home, tmp_path: Path) -> None:
    ada, ben = Telephone("ada00001").find("A1"), Telephone("ben00001").find("A1", stage="past")
    load(wood, ben.save(tmp_path), ada.save(tmp_path))
    assert [c.about for c in conflicts_of(wood)] == ["find:A1"]


def test_one_id_with_two_contents_is_a_conflict(wood: Home, tmp_path: Path) -> None:
    one, two = Telephone("ada00001").find("A1"), Telephone("ada00001").find("A1", fresh_g=10)
    load(wood, one.save(tmp_path, "one"), two.save(tmp_path, "two"))
    assert [c.about for c in conflicts_of(wood)] == ["entry:ada00001-1-abcd"]
    visit = _visit(wood)
    assert visit is not None
    assert visit.finds[0].fresh_g == 1500.0


def test_what_was_corrected_at_home_stays_when_the_log_is_loaded_again(wood: Home, tmp_path: Path) -> None:
    phone = Telephone("ada00001").find("A1")
    load(wood, phone.save(tmp_path))
    connection = open_ledger(wood.ledger)
    with writing(connection):
        connection.execute("UPDATE find SET fresh_g = 1234 WHERE id = ?", (FIND,))
    connection.close()
    phone.note("search", spot_id="elm", thoroughness=0.9)
    load(wood, phone.save(tmp_path))
    visit = _visit(wood)
    assert visit is not None
    assert visit.finds[0].fresh_g == 1234.0


def test_a_bag_is_vetted_again_here(wood: Home, tmp_path: Path) -> None:
    phone = _looked_at(Telephone("ada00001").find("A1"), "A1")
    load(wood, phone.save(tmp_path))
    assert [v.state for v in _verdicts(wood)] == ["consistent"]


def test_a_bag_half_looked_at_stays_open(wood: Home, tmp_path: Path) -> None:
    phone = (
        Telephone("ada00001")
        .find("A1")
        .answer("A1", "hymenium", {"observation": {"look": "seen", "states": ["pores"]}})
    )
    load(wood, phone.save(tmp_path))
    assert [v.state for v in _verdicts(wood)] == ["open"]


def test_telephones_that_saw_different_things_never_make_it_better(wood: Home, tmp_path: Path) -> None:
    gills = {"look": "seen", "states": ["gills"]}
    ada = _looked_at(Telephone("ada00001").find("A1"), "A1")
    ben = Telephone("ben00001").find("A1").answer("A1", "hymenium", {"observation": gills})
    for number, order in enumerate(((ada, ben), (ben, ada))):
        home = invented_home(tmp_path / f"again{number}")
        load(home, *(phone.save(tmp_path) for phone in order))
        states = [v.state for v in _verdicts(home)]
        assert states[-1] == "refused", states
        assert "answer:A1:1:hymenium" in [c.about for c in conflicts_of(home)]


def test_the_word_of_the_page_is_not_taken(wood: Home, tmp_path: Path) -> None:
    document = Telephone("ada00001").find("A1").document()
    document["entries"][0]["verdict"] = "consistent"
    path = tmp_path / "made-up.json"
    path.write_text(json.dumps(document), "utf-8")
    with pytest.raises(BadData):
        load(wood, path)
    assert _visit(wood) is None


def test_a_bag_without_a_name_is_told_and_gets_one_later(wood: Home, tmp_path: Path) -> None:
    phone = Telephone("ada00001").find("A1", taxon_id=None)
    told = load(wood, phone.save(tmp_path))[0]
    assert any("A1 has no name" in line for line in told.understood)
    visit = _visit(wood)
    assert visit is not None
    assert visit.finds == ()
    phone.find("A1", taxon_id="grifola_frondosa")
    load(wood, phone.save(tmp_path))
    visit = _visit(wood)
    assert visit is not None
    assert [f.id for f in visit.finds] == [FIND]


def test_a_bag_struck_out_after_loading_loses_its_weight(wood: Home, tmp_path: Path) -> None:
    phone = Telephone("ada00001").find("A1")
    load(wood, phone.save(tmp_path))
    phone.find("A1", gone=True)
    load(wood, phone.save(tmp_path))
    visit = _visit(wood)
    assert visit is not None
    assert visit.finds[0].fresh_g is None
    assert STRUCK_OUT in visit.finds[0].note


def test_another_name_for_a_bag_replaces_the_first(wood: Home, tmp_path: Path) -> None:
    phone = Telephone("ada00001").find("A1")
    load(wood, phone.save(tmp_path))
    phone.find("A1", taxon_id="meripilus_sumstinei")
    load(wood, phone.save(tmp_path))
    visit = _visit(wood)
    assert visit is not None
    assert [f.taxon_id for f in visit.finds] == ["meripilus_sumstinei"]


def test_answers_the_book_does_not_offer_count_as_not_looked(wood: Home, tmp_path: Path) -> None:
    phone = Telephone("ada00001").find("A1")
    phone.answer("A1", "hymenium", {"observation": {"look": "seen", "states": ["feathers"]}})
    phone.answer("A1", "no_such_thing", {"observation": {"look": "absent"}})
    load(wood, phone.save(tmp_path))
    assert [v.state for v in _verdicts(wood)] == ["open"]
    assert _verdicts(wood)[0].observations.bodies[0].observations == {}


BAD: list[tuple[dict[str, Any], str]] = [
    ({"spot_id": "atlantis"}, "no spot 'atlantis'"),
    ({"taxon_id": "no such mushroom"}, "the book does not know"),
    ({"fresh_g": -3}, "greater than 0"),
    ({"bag": "../../x"}, "pattern"),
    ({"stage": "ripe"}, "young"),
]


@pytest.mark.parametrize(("told", "words"), BAD)
def test_faults_name_file_and_entry_and_store_nothing(
    wood: Home, tmp_path: Path, told: dict[str, Any], words: str
) -> None:
    phone = Telephone("ada00001").find("A1").find(**{"bag": "A2", **told})
    with pytest.raises(BadData) as caught:
        load(wood, phone.save(tmp_path))
    sentences = " ".join(p.sentence() for p in caught.value.problems)
    assert words in sentences
    assert "ada00001-2.json" in sentences
    assert _visit(wood) is None


def test_several_faults_are_told_at_once(wood: Home, tmp_path: Path) -> None:
    phone = Telephone("ada00001").find("A1", spot_id="nowhere").find("A2", taxon_id="unheard of")
    phone.answer("A1", "age", {"answer": "no"})
    with pytest.raises(BadData) as caught:
        load(wood, phone.save(tmp_path))
    assert len(caught.value.problems) == 3


@pytest.mark.parametrize("text", ["", "{}", "[1,", "[]", '{"format": "something else"}', "\0\0", "null"])
def test_other_files_are_refused_in_words(wood: Home, tmp_path: Path, text: str) -> None:
    path = tmp_path / "other.json"
    path.write_text(text, "utf-8")
    with pytest.raises(BadData):
        read_files(wood, "pack", [path], options=Options(), today=DAY)
