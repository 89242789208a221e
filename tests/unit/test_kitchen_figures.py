"""Single figures, their files and their refusals."""

from __future__ import annotations

import json
from datetime import timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.unit.generated_kitchens import EVENING, kind
from tests.unit.kitchen_home import DAY, with_finds
from underoak.book.load import load_book
from underoak.book.methods import load_methods
from underoak.cli.kitchen import kitchen
from underoak.desk.kitchen_capacity import capacity_tonight
from underoak.desk.kitchen_figures import heat_figure, height_figure, kept_from_log, method_figure
from underoak.errors import BadData, NoAnswer, UserMistake
from underoak.kitchen.acid import pickle_acid, solution_ph
from underoak.kitchen.altitude import band_for, boiling_point_at_c
from underoak.kitchen.drying import diffusivity_m2_s, drying_time, gab_moisture
from underoak.kitchen.freezer import freezer_load_kg_day
from underoak.kitchen.lethality import lethality_min
from underoak.kitchen.methods import parboiled_steps
from underoak.kitchen.spoilage import deadline, life_days, used_share
from underoak.kitchen.yields import amounts, dried_g
from underoak.ledger.database import open_ledger
from underoak.model.kitchen import Keeping, Lot
from underoak.settings import Home


def lot(hours: float, *kept: Keeping) -> Lot:
    return Lot("L", "kind_0", "confirmed", 1000.0, EVENING - timedelta(hours=hours), kept=kept)


# --- the clock of a lot


@given(st.floats(0.0, 40.0), st.floats(0.0, 40.0))
def test_warmer_never_keeps_longer(one: float, other: float) -> None:
    cold, warm = sorted((one, other))
    assert life_days(warm) <= life_days(cold) + 1e-12


@given(st.floats(0.1, 10.0), st.floats(-5.0, 40.0))
def test_a_kind_never_stretches_the_published_life(keeps: float, temperature: float) -> None:
    assert life_days(temperature, keeps) <= life_days(temperature) + 1e-12


def test_hours_without_a_record_count_as_warm() -> None:
    recorded = lot(4.0, Keeping(4.0, 4.5))
    assert used_share(recorded, EVENING) == pytest.approx(4.0 / 24.0 / 2.0)
    assert used_share(lot(4.0), EVENING) == pytest.approx(4.0 / 24.0 / 1.0)
    assert deadline(lot(30.0), EVENING).by == EVENING


# --- amounts


@given(
    st.floats(0.0, 20_000.0),
    st.sampled_from([m for m in load_methods().values() if m.outcome == "keep"]),
    st.floats(0.3, 1.0),
    st.floats(0.0, 1.0),
)
@settings(deadline=None)
def test_the_balance_closes_at_both_ends(fresh_g: float, method: object, low: float, spread: float) -> None:
    high = low + spread * (1.0 - low)
    found = amounts(method, fresh_g, cleaned_share=(low, high))  # type: ignore[arg-type]
    for end, trimmed in ((0, found.trimmed_g[1]), (1, found.trimmed_g[0])):
        assert found.product_g[end] + found.lost_g[end] + trimmed == pytest.approx(fresh_g, abs=1e-6)
        assert 0.0 <= found.cleaned_g[end] <= fresh_g + 1e-9


@given(st.floats(1.0, 1e4), st.floats(0.5, 0.95), st.floats(0.0, 0.49))
def test_drying_keeps_the_dry_matter(fresh_g: float, before: float, after: float) -> None:
    out = dried_g(fresh_g, before, after)
    assert out * (1.0 - after) == pytest.approx(fresh_g * (1.0 - before))


# --- acid


@given(st.floats(0.001, 1.0), st.floats(0.0, 0.1), st.floats(0.001, 0.1))
def test_more_base_raises_and_more_acid_lowers_the_ph(molar: float, base: float, more: float) -> None:
    here = solution_ph([(molar, 4.756)], strong_base_m=base)
    assert solution_ph([(molar, 4.756)], strong_base_m=base + more) >= here
    assert solution_ph([(molar + more, 4.756)], strong_base_m=base) <= here + 1e-9


def test_price_model_with_a_weak_base_equals_the_same_salt() -> None:
    # A base that is fully protonated is a strong base: the two terms of the model must meet.
    assert solution_ph([(0.1, 4.756)], bases=[(0.02, 11.0)]) == pytest.approx(
        solution_ph([(0.1, 4.756)], strong_base_m=0.02), abs=1e-5
    )


def test_the_books_pickle_is_under_the_target_and_a_watered_one_is_not() -> None:
    assert pickle_acid(vinegar_l=1.0, acid_g_l=50.0, food_kg=1.0).keep
    assert not pickle_acid(vinegar_l=0.1, acid_g_l=50.0, food_kg=1.0, water_l=0.9).keep


# --- drying


@given(st.floats(35.0, 75.0), st.floats(1.0, 28.0))
@settings(max_examples=30, deadline=None)
def test_warmer_and_thinner_dry_sooner(temperature: float, thickness: float) -> None:
    here = drying_time(thickness_mm=thickness, temperature_c=temperature)
    assert drying_time(thickness_mm=thickness + 2.0, temperature_c=temperature).hours > here.hours
    assert here.shortest_h < here.hours < here.longest_h
    assert diffusivity_m2_s(temperature) > 0


def test_an_isotherm_past_its_end_has_no_answer() -> None:
    # Korean J. Food Preserv. 25:627 Table 1 (product not named): K 1.143 at 25 °C ends at aw 0.875.
    assert gab_moisture(0.6, c=11.84, k=1.143, m0=0.200) > 0.0
    with pytest.raises(NoAnswer, match=r"ends at aw 0\.875"):
        gab_moisture(0.88, c=11.84, k=1.143, m0=0.200)


# --- logs


def write(path: Path, *lines: str) -> Path:
    path.write_text("\n".join(lines) + "\n")
    return path


def test_a_log_of_constant_heat_counts_minute_for_minute(tmp_path: Path) -> None:
    log = write(tmp_path / "log.csv", "minutes,temperature_c", *(f"{m},121.1" for m in range(0, 31, 5)))
    assert heat_figure(log).values["f0_min"] == pytest.approx(30.0)
    assert any("takes the place of a tested process" in words for words in heat_figure(log).cautions)


@pytest.mark.parametrize(
    ("lines", "told"),
    [
        (("minutes,temperature_c", "0,240", "5,245", "10,250"), "°F"),
        (("minutes,temperature_f", "0,240", "5,245"), "is in °F"),
        (("minutes,temperature_c", "0,100", "10,110", "5,115"), "clock goes backwards"),
        (("minutes,temperature_c", "0,100"), "at least two"),
        (("minutes,temperature_c", "0,warm", "5,100"), "'warm'"),
        (("time,temperature_c", "noon,100", "2026-10-17 12:05,101"), "'noon'"),
        (("minutes,pressure", "0,11", "5,11"), "no column temperature_c"),
    ],
)
def test_a_faulty_log_is_refused_with_its_lines(tmp_path: Path, lines: tuple[str, ...], told: str) -> None:
    with pytest.raises(BadData) as caught:
        heat_figure(write(tmp_path / "log.csv", *lines))
    assert told in " ".join(p.sentence() for p in caught.value.problems)


def test_a_cold_store_log_in_fahrenheit_is_refused_by_its_values(tmp_path: Path) -> None:
    with pytest.raises(BadData) as caught:
        kept_from_log(write(tmp_path / "log.csv", "minutes,temperature_c", "0,68", "30,70"))
    assert all("°F" in p.sentence() for p in caught.value.problems)
    good = write(tmp_path / "good.csv", "time,temperature_c", "2026-10-17 12:00,18", "2026-10-17 13:30,8")
    assert kept_from_log(good) == (Keeping(1.5, 18.0),)


def test_lethality_refuses_a_clock_that_goes_backwards() -> None:
    with pytest.raises(BadData, match="goes from 5 to 3"):
        lethality_min([(0.0, 100.0), (5.0, 100.0), (3.0, 100.0)])


# --- refusals of single figures


@pytest.mark.parametrize(
    ("call", "told"),
    [
        (lambda: boiling_point_at_c(40_000.0), "feet, multiply"),
        (lambda: height_figure(40_000.0), "40000 m"),
        (lambda: freezer_load_kg_day(0.0), "freezer of 0 l"),
        (lambda: dried_g(-5.0, 0.9, 0.1), "-5 g"),
        (lambda: dried_g(5.0, 0.1, 0.9), "less after than before"),
        (lambda: life_days(68.0), "°F"),
        (lambda: drying_time(thickness_mm=8.0, temperature_c=140.0), "140 °F is 60"),
        (lambda: pickle_acid(vinegar_l=0.0, acid_g_l=50.0, food_kg=1.0), "pickle of nothing"),
        (lambda: pickle_acid(vinegar_l=1.0, acid_g_l=0.05, food_kg=1.0), "read the label"),
    ],
)
def test_impossible_figures_are_refused_with_the_reason(call: object, told: str) -> None:
    with pytest.raises(UserMistake, match=told):
        call()  # type: ignore[operator]


def test_above_the_published_table_there_is_no_process() -> None:
    table = load_methods()["pressure_can_cultivated"].altitude
    assert table is not None
    with pytest.raises(NoAnswer, match="no line for 2500 m"):
        band_for(table, 2500.0)


# --- the book and the command


def test_a_kind_that_has_to_be_parboiled_is_boiled_before_the_heat() -> None:
    taxon = kind("kind_0", parboil=True)
    for name in ("freeze_steamed", "freeze_sauteed", "cook_tonight"):
        assert [s.name for s in parboiled_steps(load_methods()[name], taxon)][1] == "parboil"
    for name in ("dry", "pickle_refrigerator", "salt"):
        assert parboiled_steps(load_methods()[name], taxon) == load_methods()[name].steps


def test_a_published_process_is_shown_as_cultivated_only() -> None:
    shown = method_figure("pressure_can_cultivated", 500.0)
    assert shown.cautions[0].startswith("For cultivated mushrooms only")
    assert "at 500 m: 45 min, dial 11 psi, weighted 15 psi" in shown.lines
    both = method_figure("dry", 0.0).lines
    assert any("60 days in the cool room" in line for line in both)
    assert any("6 and 3 months" in line for line in both)


@pytest.mark.parametrize(
    "words",
    [
        ["height", "1500"],
        ["freezer", "100"],
        ["acid", "--vinegar-l", "1", "--food-kg", "1"],
        ["dryer", "--fresh-g", "1000"],
    ],
)
def test_every_figure_is_one_json_document(words: list[str]) -> None:
    result = CliRunner().invoke(kitchen, [*words, "--json"], standalone_mode=False)
    assert result.exception is None
    assert json.loads(result.output)["values"]


# --- capacity


def test_the_walk_is_told_what_the_kitchen_can_take(home: Home) -> None:
    with_finds(home, [("f1", "grifola_frondosa", 6000.0, "confirmed")])
    connection = open_ledger(home.ledger)
    book = load_book()
    taxa = [book.taxa["grifola_frondosa"], book.taxa["lepista_nuda"], book.taxa["galerina_marginata"]]
    today = capacity_tonight(connection, home.settings, book, DAY, taxa)
    later = capacity_tonight(connection, home.settings, book, DAY + timedelta(days=7), taxa)
    connection.close()
    assert 0.0 <= today.kg < later.kg < 30.0
    assert "galerina_marginata" not in later.by_taxon
    assert f"{later.kg:.1f} kg" in later.sentence
