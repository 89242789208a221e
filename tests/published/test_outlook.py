"""The outlook's parts against published formulas and tables."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from underoak.model.book import Weight
from underoak.outlook.flush_model import Chains, Evidence, filter_states
from underoak.outlook.flush_weight import mean_flush_g
from underoak.outlook.memory import recall, return_chances
from underoak.outlook.season_prior import RECORDS_ELEVATION_M, bioclimatic_shift_days

CASES = tomllib.loads(Path(__file__).with_name("outlook.toml").read_text("utf-8"))


@pytest.mark.parametrize("case", CASES["blanks"], ids=lambda case: f"{case['visits']} blanks")
def test_blanks_lower_a_site_as_published(case: dict[str, Any]) -> None:
    """A flush that stands from the first days on and never ends is occupancy without a season."""
    days, visits = 12, case["visits"]
    chains = Chains(onset=np.ones((days, 1)), ripening=np.ones(1), ageing=np.zeros((days, 1)))
    missed = np.full((visits, 4), 1.0 - case["detection"])
    evidence = Evidence(np.zeros(visits, np.intp), np.arange(4, 4 + visits), missed, np.ones(visits))
    filtered = filter_states(chains, evidence, np.array([days - 1]))
    odds = case["inhabited"] / (1.0 - case["inhabited"])
    odds *= np.exp(filtered.fruited[0, 0] - filtered.blank[0, 0])
    assert odds / (1.0 + odds) == pytest.approx(case["left"], abs=case["tolerance"])


@pytest.mark.parametrize("case", CASES["returns"], ids=lambda case: f"{case['hits']} of {case['seasons']}")
def test_memory_is_the_conjugate_shrinkage(case: dict[str, Any]) -> None:
    phi, weight = return_chances(case["mean"], case["pseudo_seasons"])
    posterior = weight * phi ** case["hits"] * (1.0 - phi) ** (case["seasons"] - case["hits"])
    assert posterior @ phi / posterior.sum() == pytest.approx(case["posterior"], abs=case["tolerance"])


def test_sure_seasons_give_the_conjugate_shrinkage_through_recall() -> None:
    seasons, hits = 5, 2
    sure = np.where(np.arange(seasons) < hits, 60.0, -60.0)
    memory = recall(
        np.array([0.5]),
        0.5,
        fruited=sure[:, None],
        blank=np.zeros(seasons),
        spot=np.zeros(seasons, np.intp),
        log_weight=np.zeros(1),
    )
    assert memory.returns[0, 0] == pytest.approx((4.0 * 0.5 + hits) / (4.0 + seasons), abs=1e-9)
    assert memory.inhabited[0, 0] == pytest.approx(1.0, abs=1e-9)


@pytest.mark.parametrize("case", CASES["bioclimatic"])
def test_dates_move_by_the_bioclimatic_law(case: dict[str, Any]) -> None:
    shift = bioclimatic_shift_days(
        case["day_of_year"],
        latitude_deg=41.5 + case["degrees_north"],
        elevation_m=RECORDS_ELEVATION_M + case["metres_up"],
        from_latitude_deg=41.5,
    )
    assert shift == pytest.approx(case["shift_days"])


@pytest.mark.parametrize("case", CASES["flush_weight"])
def test_mean_weight_is_the_lognormal_mean(case: dict[str, Any]) -> None:
    weight = Weight(source="own_judgement", median_g=case["median_g"], p90_g=case["p90_g"])
    assert mean_flush_g(weight) == pytest.approx(case["mean_g"], abs=case["tolerance"])
