"""Quantities in the units a household reads; inside, everything stays metric."""

from __future__ import annotations

from typing import Literal

Units = Literal["metric", "us"]

# International pound and ounce (1959), US liquid quart: exact by definition.
G_PER_LB = 453.59237
G_PER_OZ = G_PER_LB / 16.0
L_PER_QT = 0.946352946
L_PER_FLOZ = L_PER_QT / 32.0


def weight(grams: float, units: Units = "metric") -> str:
    """Grams as "850 g" or "1.25 kg", in US units as "4.6 oz" or "2.76 lb"."""
    if units == "us":
        return f"{grams / G_PER_OZ:.1f} oz" if abs(grams) < G_PER_LB else f"{grams / G_PER_LB:.2f} lb"
    return f"{grams:.0f} g" if abs(grams) < 1000.0 else f"{grams / 1000.0:.2f} kg"


def amount(value: float, unit: str, units: Units = "metric") -> str:
    """An amount of l, ml, g or pieces as a person reads it."""
    if unit == "g":
        return weight(value, units)
    if unit == "piece":
        return f"{value:g}"
    litres = value / 1000.0 if unit == "ml" else value
    if units == "us":
        return f"{litres / L_PER_FLOZ:.1f} fl oz" if litres < L_PER_QT else f"{litres / L_PER_QT:.2f} qt"
    return f"{litres * 1000.0:.0f} ml" if litres < 1.0 else f"{litres:.2f} l"


def temperature(celsius: float, units: Units = "metric") -> str:
    """Degrees as "4.5 °C" or "40.1 °F"."""
    return f"{celsius * 1.8 + 32.0:.1f} °F" if units == "us" else f"{celsius:.1f} °C"


def said(number: int, one: str, many: str) -> str:
    """So many of something with what is said of it: "1 jar is gone", "3 jars are gone"."""
    return f"{number} {one if number == 1 else many}"


def percent(share: float, digits: int = 0) -> str:
    """A share as "33 %", never as "-0 %"."""
    return f"{round(100.0 * share, digits) + 0.0:.{digits}f} %"


def chance_words(chance: float) -> str:
    """An estimated chance as "33 %", never as none or certain: "under 1 %", "over 99 %"."""
    if chance < 0.005:
        return "under 1 %"
    return "over 99 %" if chance > 0.995 else f"{100.0 * chance:.0f} %"


def counted(number: float, what: str) -> str:
    """So many of something: "1 season", "3 seasons", "2 batches"."""
    ending = "" if number == 1 else "es" if what.endswith(("ch", "sh", "s", "x")) else "s"
    return f"{number:g} {what}{ending}"
