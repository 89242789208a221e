"""The book of methods: read strictly, and never open to what hurts."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path

import pytest

from underoak.book.load import load_book
from underoak.book.methods import load_methods, policy_faults, read_methods
from underoak.kitchen.methods import against_advice, refusal
from underoak.kitchen.use_by import keeps_days, use_by
from underoak.model.household import Kitchen
from underoak.model.kitchen import Lot

NOW = datetime(2026, 10, 17, 17, 0)  # noqa: DTZ001 - local time of a kitchen
FOLDER = Path(__file__).parents[2] / "src" / "underoak" / "book" / "methods"
KITCHEN = Kitchen()
HEN = load_book().taxa["grifola_frondosa"]


def lot(taxon: str, state: str | None = "confirmed", **more: object) -> Lot:
    return Lot("L", taxon, state, 1000.0, NOW, **more)  # type: ignore[arg-type]


def test_all_entries_are_read_and_every_source_is_known() -> None:
    sources = load_book().sources
    for method in load_methods().values():
        blocks = [method, *method.ratios, *method.storage, *method.differing]
        blocks += [b for b in (method.yields, method.packing, method.altitude) if b]
        assert {b.source for b in blocks} <= set(sources), method.id


def test_every_way_a_household_needs_is_there() -> None:
    wanted = "refrigerate freeze_steamed freeze_sauteed freeze_dry_sauteed dry dry_powder pickle_refrigerator"
    wanted += " marinate_cultivated pressure_can_cultivated salt cook_tonight give_away leave"
    assert set(load_methods()) == set(wanted.split())
    for method in load_methods().values():
        assert method.tested_for
        if method.outcome == "keep":
            assert method.ends_when
            assert method.cautions


def test_every_method_that_a_kind_names_exists() -> None:
    for taxon in load_book().taxa.values():
        if taxon.kitchen is not None:
            assert set(taxon.kitchen.methods) <= set(load_methods()), taxon.id
            assert set(taxon.kitchen.refused) <= set(load_methods()), taxon.id


@pytest.mark.parametrize("method", ["pressure_can_cultivated", "marinate_cultivated"])
def test_no_wild_lot_is_ever_canned_or_kept_in_acid_or_oil_on_the_shelf(method: str) -> None:
    entry = load_methods()[method]
    for taxon in load_book().taxa.values():
        use = taxon.kitchen and taxon.kitchen.model_copy(update={"methods": (method,), "refused": {}})
        allowing = taxon.model_copy(update={"kitchen": use})
        assert refusal(lot(taxon.id), allowing, entry, KITCHEN) is not None


def test_no_entry_open_to_wild_lots_stands_on_the_shelf_in_acid_or_oil_or_canned() -> None:
    for entry in load_methods().values():
        shelf = any(s.where in ("room", "cool_room") for s in entry.storage)
        if entry.for_wild:
            assert entry.process != "canned"
            assert not (shelf and (entry.process == "acid" or entry.in_oil))


@pytest.mark.parametrize("method", [m for m in load_methods() if m != "leave"])
@pytest.mark.parametrize("state", ["refused", "open", None])
def test_without_a_verdict_no_method_is_open(method: str, state: str | None) -> None:
    why = refusal(
        lot("grifola_frondosa", state), load_book().taxa["grifola_frondosa"], load_methods()[method], KITCHEN
    )
    assert why is not None
    assert "consistent" in why


def test_a_confirmed_verdict_on_a_kind_that_is_not_gathered_opens_nothing() -> None:
    others = [t for t in load_book().taxa.values() if not t.gathered]
    assert others
    for taxon in others:
        methods = [m for m in load_methods().values() if m.outcome != "leave"]
        assert all(refusal(lot(taxon.id), taxon, m, KITCHEN) for m in methods)


def test_what_the_book_refuses_is_refused_in_its_words() -> None:
    taxon = load_book().taxa["desarmillaria_caespitosa"]
    assert taxon.kitchen is not None
    why = refusal(lot(taxon.id), taxon, load_methods()["dry"], KITCHEN)
    assert why == taxon.kitchen.refused["dry"]


@pytest.mark.parametrize(
    ("kitchen", "method", "words"),
    [
        (Kitchen(freezer_free_l=0.0), "freeze_steamed", "freezer"),
        (Kitchen(dryer_trays=0), "dry", "dryer"),
    ],
)
def test_a_freezer_or_dryer_of_nothing_is_named_as_the_reason(
    kitchen: Kitchen, method: str, words: str
) -> None:
    why = refusal(
        lot("grifola_frondosa"), load_book().taxa["grifola_frondosa"], load_methods()[method], kitchen
    )
    assert why is not None
    assert words in why


def test_policy_in_a_faulty_entry_is_a_fault_of_the_book() -> None:
    can = load_methods()["pressure_can_cultivated"].model_copy(update={"for_wild": True})
    marinade = load_methods()["marinate_cultivated"].model_copy(update={"for_wild": True})
    told = " ".join(f.what for f in policy_faults(can, "pressure_can_cultivated.toml"))
    assert "canning is marked for wild" in told
    told = " ".join(f.what for f in policy_faults(marinade, "marinate_cultivated.toml"))
    assert "room temperature" in told
    assert "4 days in oil" in told


def test_all_faults_of_all_files_are_told_at_once(tmp_path: Path) -> None:
    (tmp_path / "dry.toml").write_text(
        (FOLDER / "dry.toml").read_text("utf-8").replace("batch_kg = 2.0", "batch_kg = -2")
    )
    (tmp_path / "salt.toml").write_text("name = [")
    (tmp_path / "leave.toml").write_text((FOLDER / "leave.toml").read_text("utf-8") + '\nsafe = "yes"\n')
    methods, problems = read_methods(list(tmp_path.iterdir()))
    assert methods == {}
    assert [p.where.split(",")[0] for p in problems] == ["dry.toml", "leave.toml", "salt.toml"]


def test_oil_is_cold_and_four_days_at_most() -> None:
    oily = load_methods()["pickle_refrigerator"].model_copy(update={"in_oil": True})
    assert keeps_days(oily) == 4.0
    assert use_by(oily, date(2026, 10, 17)) == date(2026, 10, 21)


def test_the_stricter_of_two_sources_is_the_default_and_both_are_shown() -> None:
    dry = load_methods()["dry"]
    assert keeps_days(dry, "cool_room") == 60.0
    assert any("6 and 3 months" in d.says for d in dry.differing)
    assert any("4 hours" in d.says for d in dry.differing)


def test_what_was_done_anyway_is_named_in_full() -> None:
    taxon = load_book().taxa["desarmillaria_caespitosa"]
    why = against_advice([(lot(taxon.id, "open"), taxon)], load_methods()["pressure_can_cultivated"])
    assert any("verdict" in w for w in why)
    assert any("cultivated mushrooms only" in w for w in why)
    pickle = load_methods()["pickle_refrigerator"]
    assert against_advice([(lot(taxon.id), taxon)], pickle) == ()
    assert against_advice([(lot(taxon.id), taxon)], pickle, stands="room") != ()
