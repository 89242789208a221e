"""How much a freezer takes in a day without warming what is in it."""

from __future__ import annotations

from underoak.errors import UserMistake

#: Two pounds for each cubic foot of the freezer a day; the guides say 2 to 3, from memory.
_KG_PER_L_DAY = 2.0 * 0.45359237 / 28.316847


def freezer_load_kg_day(volume_l: float) -> float:
    """Kilograms of food that a freezer of ``volume_l`` litres freezes hard within a day.

    Source: extension_charts, from memory (2 to 3 lb a cubic foot). **Fails towards** the smaller load.
    """
    if not 0.0 < volume_l <= 2000.0:
        raise UserMistake(
            f"a freezer of {volume_l:g} l",
            expected="more than 0, at most 2000 l",
            remedy="without a freezer, set freezer_free_l = 0 and plan to dry or pickle",
        )
    return volume_l * _KG_PER_L_DAY
