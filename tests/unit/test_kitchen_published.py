"""The calculations of the kitchen against published values (tests/published/kitchen.toml)."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from underoak.book.methods import load_methods
from underoak.kitchen import acid, altitude, drying, lethality, spoilage, use_by, yields
from underoak.model.method import Altitude, Method

CASES = tomllib.loads((Path(__file__).parents[1] / "published" / "kitchen.toml").read_text("utf-8"))["case"]
FT = 0.3048


def _f(celsius: float) -> float:
    return celsius * 1.8 + 32.0


def _table(method_id: str) -> Altitude:
    table = load_methods()[method_id].altitude
    assert table is not None
    return table


def _method(method_id: str) -> Method:
    return load_methods()[method_id]


def _headspace(method: str) -> float:
    packing = _method(method).packing
    assert packing is not None
    return packing.headspace_mm


FUNCTIONS: dict[str, Callable[..., Any]] = {
    "guide_boiling_f": lambda elevation_ft: _f(
        altitude.boiling_point_c(altitude.guide_air_pressure_pa(elevation_ft * FT))
    ),
    "boiling_f": lambda elevation_ft: _f(altitude.boiling_point_at_c(elevation_ft * FT)),
    "gauge_psi_240f": lambda elevation_ft: altitude.gauge_psi((240.0 - 32.0) / 1.8, elevation_ft * FT),
    "steam_f": lambda gauge, elevation_ft: _f(altitude.steam_temperature_c(gauge, elevation_ft * FT)),
    "can_dial_psi": lambda elevation_ft: (
        altitude.band_for(_table("pressure_can_cultivated"), elevation_ft * FT).dial_psi
    ),
    "can_weighted_psi": lambda elevation_ft: (
        altitude.band_for(_table("pressure_can_cultivated"), elevation_ft * FT).weighted_psi
    ),
    "can_minutes": lambda elevation_ft: (
        altitude.band_for(_table("pressure_can_cultivated"), elevation_ft * FT).minutes
    ),
    "marinade_minutes": lambda elevation_ft: (
        altitude.band_for(_table("marinate_cultivated"), elevation_ft * FT).minutes
    ),
    "lethal_rate": lethality.lethal_rate,
    "minutes_for_f": lambda f_min, temperature_c: f_min / lethality.lethal_rate(temperature_c),
    "twelve_d": lambda d_min: 12.0 * d_min,
    "z_endpoints": lambda temperatures_c, minutes: lethality.z_value_c(
        [temperatures_c[0], temperatures_c[-1]], [minutes[0], minutes[-1]]
    ),
    "acid_hold_min": lethality.acid_hold_min,
    "dried_g": yields.dried_g,
    "activation_energy_kj_mol": drying.activation_energy_kj_mol,
    "gab_end": lambda k: 1.0 / k,
    "acetic_ph": lambda molar: acid.solution_ph([(molar, acid.ACETIC_PKA)]),
    "half_neutralised_ph": lambda molar: acid.solution_ph(
        [(molar, acid.ACETIC_PKA)], strong_base_m=molar / 2.0
    ),
    "life_days": spoilage.life_days,
    "life_q10": lambda cold_c, warm_c: (
        (spoilage.life_days(cold_c) / spoilage.life_days(warm_c)) ** (10.0 / (warm_c - cold_c))
    ),
    "keeps_days": lambda method, where: use_by.keeps_days(_method(method), where),
    "headspace_mm": _headspace,
    "step_minutes": lambda method, step: next(s.minutes for s in _method(method).steps if s.name == step),
    "oil_days": lambda: float(use_by.OIL_DAYS),
    "legal_ph": lambda: acid.LEGAL_PH,
}


@pytest.mark.parametrize("case", CASES, ids=lambda c: f"{c['group']}: {c['arguments']}")
def test_published_value(case: dict[str, Any]) -> None:
    assert case["checked"] in ("seen", "second_hand", "memory", "computed")
    found = FUNCTIONS[case["function"]](**case["arguments"])
    assert found == pytest.approx(case["expected"], abs=max(case["tolerance"], 1e-9)), case["source"]


def test_trapezoid_example_of_the_fisheries_circular() -> None:
    # FAO Fisheries Circular 784 (Myrseth 1985), second-hand copy: readings 5 min apart; the heating part has
    # rates that sum to 1.342 from 30 to 55 min and 0.776 at 60 min -> 8.6 min; all rates 2.925 -> 14.6 min.
    # The temperatures of the points are not visible, so rates with these sums are turned into temperatures.
    rates = [1e-9] * 6 + [1.342 / 6] * 6 + [0.776]
    log = [(5.0 * n, 121.1 + 10.0 * math.log10(rate)) for n, rate in enumerate(rates)]
    assert lethality.lethality_min(log) == pytest.approx(8.6, abs=0.06)
    cooling = [0.6, 0.15, 0.05, 0.007, 1e-9]
    whole = [*log, *((60.0 + 5.0 * n, 121.1 + 10.0 * math.log10(rate)) for n, rate in enumerate(cooling, 1))]
    assert sum(rates) + sum(cooling) == pytest.approx(2.925, abs=1e-6)
    assert lethality.lethality_min(whole) == pytest.approx(14.6, abs=0.06)


def test_twelve_d_of_the_odlaug_line() -> None:
    # Extrapolated D121.1 of the same table: 0.35 min in buffer (computed by us from its end points).
    z = lethality.z_value_c([115.6, 104.4], [1.3, 17.6])
    assert 1.3 / 10 ** ((121.1 - 115.6) / z) == pytest.approx(0.36, abs=0.015)


@pytest.mark.parametrize(
    ("cold", "warm", "degrees", "q10"),
    [
        (18.0, 50.0, 10.0, 2.78),  # UC Davis Produce Facts, ml CO2/kg h, middles at 0 and 10 °C, seen
        (18.0, 145.0, 20.0, 2.84),  # the same, 0 and 20 °C
        (35.0, 50.0, 5.0, 2.04),  # the same, 5 and 10 °C
        (22.13, 102.41, 20.0, 2.15),  # Iqbal et al., ml O2/kg h, whole, second-hand
        (28.87, 143.22, 20.0, 2.23),  # the same, sliced
    ],
)
def test_respiration_never_sets_a_shelf_life(cold: float, warm: float, degrees: float, q10: float) -> None:
    respiration = (warm / cold) ** (10.0 / degrees)
    assert respiration == pytest.approx(q10, abs=0.006)
    life = (spoilage.life_days(1.5) / spoilage.life_days(4.5)) ** (10.0 / 3.0)
    assert life > 5.0 * respiration


def test_limits_stand_inside_the_published_growth_limits() -> None:
    # Lindstrom and Korkeala 2006, Table 1 (seen): group I to pH 4.3-4.5 and 10 % salt, group II from 3 °C.
    assert acid.TARGET_PH < 4.3 < acid.LEGAL_PH
    salt = next(r for r in _method("salt").ratios if r.what == "salt").amount_per_kg
    assert salt / (salt + 900.0) > 0.10
    # Graham 1997 (abstract seen): toxin at 4 °C after 3 to 4 weeks, at 5 °C after 2 to 3.
    assert use_by.OIL_DAYS < 14
    # 21 CFR 114.3 (seen): acidified food ends at pH 4.6.
    assert acid.LEGAL_PH == 4.6


def test_the_pickle_waits_longer_than_acid_takes_in_the_cold() -> None:
    # Breidt 2007 J Food Prot 70:2638 (second-hand): 5-log of E. coli at 10 °C and pH 3.3 or less takes 5.7 d.
    words = " ".join(_method("pickle_refrigerator").cautions)
    assert "Wait 6 days" in words


@pytest.mark.parametrize(
    ("what", "cups", "unit_ml"),
    # MSU Extension 1997 (seen): for 7 lb 2½ cups of vinegar, 2 cups of oil, ½ cup of bottled lemon juice.
    [("vinegar, 5 % acidity", 2.5, 1000.0), ("oil", 2.0, 1000.0), ("bottled lemon juice", 0.5, 1.0)],
)
def test_the_marinade_has_the_published_amounts(what: str, cups: float, unit_ml: float) -> None:
    ratio = next(r for r in _method("marinate_cultivated").ratios if r.what == what)
    published_ml_kg = cups * 236.588 / (7.0 * 0.45359237)
    assert ratio.amount_per_kg * unit_ml == pytest.approx(published_ml_kg, rel=0.01)


def test_drying_spread_covers_the_published_hours() -> None:
    # 8 to 10 h (USDA table copy) and about 4 h sliced (MSU 01600531) lie within the stated spread at 60 °C.
    found = drying.drying_time(thickness_mm=8.0, temperature_c=60.0, water_share_fresh=0.90)
    assert found.shortest_h < 4.0 < found.hours < 8.0 < found.longest_h


def test_saturation_line_agrees_with_a_reference_library() -> None:
    psychrolib = pytest.importorskip("psychrolib")
    psychrolib.SetUnitSystem(psychrolib.SI)
    for celsius in (5.0, 40.0, 85.0, 100.0, 121.1, 150.0):
        ours = altitude.saturation_pressure_pa(celsius)
        assert ours == pytest.approx(psychrolib.GetSatVapPres(celsius), rel=2e-3)
        assert altitude.boiling_point_c(ours) == pytest.approx(celsius, abs=1e-6)
        assert altitude.air_pressure_pa(1500.0) == pytest.approx(
            psychrolib.GetStandardAtmPressure(1500.0), rel=1e-5
        )
