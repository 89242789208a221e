"""The interval of a chance knows that its parameters are uncertain."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import numpy.typing as npt
import pytest

from tests.unit.test_outlook_forecast import KIND, OAK, PLACE, TODAY, look
from underoak.outlook.forecast import ChanceTable, chance_table
from underoak.outlook.knowledge import DOUBTED, knowledge_of
from underoak.outlook.learned import Learned
from underoak.outlook.parameters import WIDTHS

FloatArray = npt.NDArray[np.float64]
#: Eleven days after a young flush was seen: how long prime days last is what counts.
VISITS = (look(TODAY - timedelta(days=11), "young"), look(TODAY - timedelta(days=4)))


def knowing(covariance: FloatArray, means: FloatArray | None = None) -> dict[str, Learned]:
    size = len(DOUBTED)
    return {
        "kind": Learned(
            "kind", DOUBTED, np.zeros(size) if means is None else means, covariance, (2024,), 9, 9
        )
    }


def table(learned: dict[str, Learned] | None = None) -> ChanceTable:
    return chance_table([OAK], [KIND], [TODAY], climates={"wood": PLACE}, visits=VISITS, learned=learned)


def logit_width(t: ChanceTable) -> float:
    low, high = float(t.low[0, 0, 0]), float(t.high[0, 0, 0])
    return float(np.log(high / (1.0 - high)) - np.log(low / (1.0 - low)))


BOOK = np.diag([WIDTHS[name] ** 2 for name in DOUBTED])


def test_what_was_learned_well_narrows_the_interval_and_the_book_is_as_wide_as_its_prior() -> None:
    widths = [logit_width(table(knowing(scale * BOOK))) for scale in (0.0, 0.25, 1.0)]
    assert widths[0] < widths[1] < widths[2]
    assert logit_width(table()) == pytest.approx(widths[2])


def test_the_width_is_that_of_chances_over_drawn_parameters() -> None:
    """Against 120 draws from the covariance, correlation included: first order, so within a fifth."""
    mixed = np.array([[0.06, 0.01, -0.05], [0.01, 0.04, 0.0], [-0.05, 0.0, 0.12]])
    none = np.zeros_like(mixed)
    drawn = np.random.default_rng(4).multivariate_normal(np.zeros(3), mixed, 120)
    chances = np.array([table(knowing(none, draw)).prime[0, 0, 0] for draw in drawn])
    sd = float(np.std(np.log(chances / (1.0 - chances))))
    half, without = (logit_width(table(knowing(c))) / (2.0 * 1.6449) for c in (mixed, none))
    assert np.sqrt(half**2 - without**2) == pytest.approx(sd, rel=0.2)


def test_steps_are_one_deviation_each_and_cover_the_covariance() -> None:
    mixed = np.array([[0.06, 0.01, -0.05], [0.01, 0.04, 0.0], [-0.05, 0.0, 0.12]])
    doubts = knowledge_of(KIND, knowing(mixed)["kind"]).doubts()
    steps = np.array([[d.learned.mean(name) for name in DOUBTED] for d in doubts if d.learned])
    assert steps.T @ steps == pytest.approx(mixed)
    term = replace(
        knowing(BOOK)["kind"],
        names=(*DOUBTED, "term:cooling_10_days"),
        means=np.zeros(4),
        covariance=np.eye(4),
    )
    assert len(knowledge_of(KIND, term).doubts()) == 4, "a weather term that is on is doubted too"


def test_without_an_interval_the_chances_are_the_same() -> None:
    whole = table()
    quick = chance_table([OAK], [KIND], [TODAY], climates={"wood": PLACE}, visits=VISITS, with_interval=False)
    for name in ("prime", "expected_kg", "found"):
        assert getattr(quick, name).tobytes() == getattr(whole, name).tobytes()
    assert quick.low == pytest.approx(quick.prime)
