"""What people read: US units by their exact definitions (NIST Handbook 44, from memory)."""

from __future__ import annotations

import pytest

from underoak.model.quantities import amount, percent, said, temperature, weight


@pytest.mark.parametrize(
    ("grams", "metric", "us"),
    [(130.0, "130 g", "4.6 oz"), (1250.0, "1.25 kg", "2.76 lb"), (453.59237, "454 g", "1.00 lb")],
)
def test_weights(grams: float, metric: str, us: str) -> None:
    assert (weight(grams), weight(grams, "us")) == (metric, us)


@pytest.mark.parametrize(
    ("value", "unit", "metric", "us"),
    [
        (1.0, "l", "1.00 l", "1.06 qt"),
        (20.0, "ml", "20 ml", "0.7 fl oz"),
        (30.0, "g", "30 g", "1.1 oz"),
        (4.0, "piece", "4", "4"),
    ],
)
def test_amounts(value: float, unit: str, metric: str, us: str) -> None:
    assert (amount(value, unit), amount(value, unit, "us")) == (metric, us)


def test_temperatures() -> None:
    assert temperature(100.0, "us") == "212.0 °F"
    assert temperature(4.5) == "4.5 °C"


def test_one_is_told_as_one() -> None:
    told = [said(number, "jar is gone", "jars are gone") for number in (0, 1, 2)]
    assert told == ["0 jars are gone", "1 jar is gone", "2 jars are gone"]


def test_shares_are_never_less_than_none() -> None:
    assert (percent(0.334), percent(0.3344, 1), percent(-1e-9, 1)) == ("33 %", "33.4 %", "0.0 %")
