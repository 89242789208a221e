"""Acid of a pickle at equilibrium, and its pH by charge balance. An estimate; the meter decides."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from underoak.errors import UserMistake

#: pKa of acetic acid and grams in a mole; from memory.
ACETIC_PKA = 4.756
ACETIC_G_MOL = 60.052
#: ionic product of water at 25 °C
KW = 1.0e-14
#: The law's limit for acidified foods (21 CFR 114.3) and our own, with a margin for the strictest strains.
LEGAL_PH = 4.6
TARGET_PH = 4.2
#: Strong base that a kilogram of mushrooms binds between its own pH and 4; a wide own judgement.
FOOD_BASE_MOL_KG = 0.06
#: Share of the mushrooms that is water and takes up acid.
FOOD_WATER = 0.9


@dataclass(frozen=True, slots=True)
class PickleAcid:
    """A jar after the acid has spread evenly.

    ``acid_g_l`` and ``molar`` refer to all its water; ``ph`` is calculated, ``highest_ph`` with twice the
    assumed base in the food. ``keep`` is whether even that stays at or under `TARGET_PH`.
    """

    acid_g_l: float
    molar: float
    ph: float
    highest_ph: float
    keep: bool


def solution_ph(
    acids: Sequence[tuple[float, float]],
    *,
    bases: Sequence[tuple[float, float]] = (),
    strong_base_m: float = 0.0,
) -> float:
    """PH of weak acids and bases in water by charge balance.

    Parameters
    ----------
    acids, bases : pairs of (mol/l, pKa); for a base the pKa of its protonated form
    strong_base_m : mol/l of cations that are not hydrogen less anions of strong acids, may be negative

    Returns
    -------
    pH, 0 to 14

    Method
    ------
    sum Ca Ka / (Ka + h) - sum Cb h / (h + Kb) + Kw / h - h - salts = 0, solved by bisection in pH:
    the left side only rises with pH. No activity correction.

    Source
    ------
    price_2020 (USDA-ARS buffer model), seen; published error up to 0.11 pH for 0.6 M acetic acid,
    second-hand. Check: tests/published/kitchen.toml, computed.
    """
    if any(c < 0.0 for c, _ in (*acids, *bases)):
        raise UserMistake("a concentration below nothing", expected="mol/l of 0 or more")
    low, high = 0.0, 14.0
    for _ in range(60):
        middle = (low + high) / 2.0
        if _charge(math.pow(10.0, -middle), acids, bases, strong_base_m) < 0.0:
            low = middle
        else:
            high = middle
    return (low + high) / 2.0


def _charge(
    h: float, acids: Sequence[tuple[float, float]], bases: Sequence[tuple[float, float]], strong_base_m: float
) -> float:
    anions: float = sum(c * 10.0**-pka / (10.0**-pka + h) for c, pka in acids)
    cations: float = sum(c * h / (h + 10.0**-pka) for c, pka in bases)
    return float(anions - cations + KW / h - h - strong_base_m)


def pickle_acid(
    *,
    vinegar_l: float,
    acid_g_l: float,
    food_kg: float,
    water_l: float = 0.0,
    base_mol_kg: float = FOOD_BASE_MOL_KG,
) -> PickleAcid:
    """Acid and pH of a pickle once vinegar, added water and the water of the food have evened out.

    Parameters
    ----------
    vinegar_l : litres of vinegar, more than 0
    acid_g_l : grams of acetic acid a litre, 1 to 250 (5 % vinegar is 50)
    food_kg : drained mushrooms, 0 or more
    water_l : water added to the brine
    base_mol_kg : what the food binds; unknown for wild kinds, so the answer is also given for twice of it

    Returns
    -------
    PickleAcid

    Source
    ------
    own balance over price_2020's equation; limits cfr_21_114 and lindstrom_korkeala_2006, seen.

    **Fails towards** discarding: ``keep`` is judged with twice the assumed base, against 4.2, not 4.6.
    """
    if vinegar_l <= 0.0 or food_kg < 0.0 or water_l < 0.0 or base_mol_kg < 0.0:
        raise UserMistake(
            "a pickle of nothing", expected="more than 0 l of vinegar, and no negative food, water or base"
        )
    if not 1.0 <= acid_g_l <= 250.0:
        raise UserMistake(
            f"vinegar with {acid_g_l:g} g/l of acid",
            expected="1 to 250 g/l",
            remedy="5 % is 50 g/l; read the label",
        )
    volume_l = vinegar_l + water_l + FOOD_WATER * food_kg
    grams = vinegar_l * acid_g_l / volume_l
    molar = grams / ACETIC_G_MOL
    base = base_mol_kg * food_kg / volume_l
    likely, highest = (solution_ph([(molar, ACETIC_PKA)], strong_base_m=base * times) for times in (1.0, 2.0))
    return PickleAcid(grams, molar, likely, highest, keep=highest <= TARGET_PH)
