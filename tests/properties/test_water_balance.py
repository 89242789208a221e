"""What must hold of the water balance whatever the weather."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from underoak.weather.soils import TEXTURES
from underoak.weather.water_balance import LITTER_CAPACITY_MM, GroundWater, ground_water

DAYS = 60
RAIN = arrays(float, DAYS, elements=st.one_of(st.just(0.0), st.floats(0.0, 150.0)))
ETO = arrays(float, DAYS, elements=st.floats(0.0, 12.0))
LEAVES = arrays(float, DAYS, elements=st.floats(0.0, 1.0))
SOIL = st.sampled_from(sorted(TEXTURES)).map(TEXTURES.__getitem__)
SHARE = st.floats(0.0, 1.0)


def _stored(water: GroundWater, start_litter_mm: float, start_depletion_mm: float) -> float:
    litter = water.litter.store_mm[-1] - start_litter_mm
    return float(litter - (water.roots.depletion_mm[-1] - start_depletion_mm))


@settings(max_examples=60, deadline=None)
@given(rain=RAIN, eto=ETO, leaves=LEAVES, soil=SOIL, start=st.tuples(SHARE, SHARE))
def test_the_balance_closes(rain, eto, leaves, soil, start) -> None:  # type: ignore[no-untyped-def]
    litter, depletion = start
    water = ground_water(rain, eto, leaves, soil, start_litter=litter, start_depletion=depletion)
    out = sum(
        part.sum()
        for part in (
            water.interception_mm,
            water.runoff_mm,
            water.litter.evaporation_mm,
            water.roots.evapotranspiration_mm,
            water.roots.drainage_mm,
        )
    )
    stored = _stored(water, litter * LITTER_CAPACITY_MM, depletion * soil.available_mm)
    assert out + stored == pytest.approx(rain.sum(), abs=1e-6)


@settings(max_examples=60, deadline=None)
@given(rain=RAIN, eto=ETO, leaves=LEAVES, soil=SOIL, depletion=SHARE)
def test_everything_stays_in_its_bounds(rain, eto, leaves, soil, depletion) -> None:  # type: ignore[no-untyped-def]
    water = ground_water(rain, eto, leaves, soil, start_depletion=depletion)
    assert ((water.roots.stress >= 0.0) & (water.roots.stress <= 1.0)).all()
    assert (water.roots.depletion_mm >= 0.0).all()
    assert (water.roots.depletion_mm <= soil.available_mm + 1e-9).all()
    assert ((water.litter.store_mm >= 0.0) & (water.litter.store_mm <= LITTER_CAPACITY_MM)).all()
    assert (water.roots.evapotranspiration_mm <= eto + 1e-9).all()
    for flow in (water.interception_mm, water.runoff_mm, water.litter.through_mm, water.roots.drainage_mm):
        assert (flow >= -1e-12).all()


@settings(max_examples=60, deadline=None)
@given(
    rain=RAIN,
    eto=ETO,
    leaves=LEAVES,
    soil=SOIL,
    shower=st.tuples(st.integers(0, DAYS - 1), st.floats(0.0, 80.0)),
)
def test_more_rain_never_dries_litter_or_roots(rain, eto, leaves, soil, shower) -> None:  # type: ignore[no-untyped-def]
    day, more = shower
    wetter = rain.copy()
    wetter[day] += more
    before, after = ground_water(rain, eto, leaves, soil), ground_water(wetter, eto, leaves, soil)
    assert (after.litter.store_mm >= before.litter.store_mm - 1e-9).all()
    assert (after.roots.depletion_mm <= before.roots.depletion_mm + 1e-9).all()


@settings(max_examples=20, deadline=None)
@given(rain=arrays(float, (DAYS, 3), elements=st.floats(0.0, 90.0)), eto=ETO, leaves=LEAVES, soil=SOIL)
def test_many_stations_at_once_give_the_numbers_of_each_alone(rain, eto, leaves, soil) -> None:  # type: ignore[no-untyped-def]
    together = ground_water(rain, np.repeat(eto[:, None], 3, axis=1), leaves, soil)
    for station in range(3):
        alone = ground_water(np.ascontiguousarray(rain[:, station]), eto, leaves, soil)
        assert together.roots.depletion_mm[:, station] == pytest.approx(alone.roots.depletion_mm, abs=1e-9)
        assert together.litter.store_mm[:, station] == pytest.approx(alone.litter.store_mm, abs=1e-9)
