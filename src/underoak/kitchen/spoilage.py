"""The clock of a lot: how much of its life is used up by what temperatures, and until when it waits."""

from __future__ import annotations

import math
from datetime import datetime, timedelta
from itertools import pairwise

from underoak.errors import UserMistake
from underoak.model.kitchen import Deadline, Lot
from underoak.model.quantities import percent

#: Life of fresh cultivated mushrooms: (degrees Celsius, days), the shorter end of each published range.
LIFE: tuple[tuple[float, float], ...] = ((1.5, 5.0), (4.5, 2.0), (20.0, 1.0))
#: What a lot met while nobody wrote a temperature down, degrees Celsius.
UNRECORDED_C = 20.0
#: A household refrigerator as the deadlines see it, degrees Celsius.
REFRIGERATOR_C = 4.5
#: Days in the refrigerator of the published figure; a kind that keeps less scales the whole clock.
_PUBLISHED_COLD_DAYS = 2.0
#: Warmest that mushrooms can have been; above, the log is in another unit.
WARMEST_C = 45.0
COLDEST_C = -30.0


def life_days(temperature_c: float, keeps_days_cold: float = _PUBLISHED_COLD_DAYS) -> float:
    """Days that sound fresh bodies last at a constant temperature.

    Parameters
    ----------
    temperature_c : degrees Celsius, -30 to 45
    keeps_days_cold : days in the refrigerator by the book for this kind, more than 0

    Returns
    -------
    days, more than 0

    Raises
    ------
    UserMistake   outside the range: most likely degrees Fahrenheit

    Method
    ------
    Straight lines of ln(days) over temperature between the published points; colder than 1.5 °C counts
    as 1.5 °C; above 20 °C the life halves every 10 degrees (own judgement). A kind that keeps less than
    2 days cold scales the clock down; one that keeps more never scales it up. Never derived from
    respiration: Q10 of respiration is about 2.8, the published lives imply about 39 from 1.5 to 4.5 °C.

    Source
    ------
    suslow_cantwell: 5-7 d at 1.5 °C, 2 d at 4.5 °C, seen; room temperature 1-2 d, second-hand. Published
    check: tests/published/kitchen.toml. Wild kinds are not covered by any source seen.

    **Fails towards** the shorter life.
    """
    if not COLDEST_C <= temperature_c <= WARMEST_C:
        raise UserMistake(
            f"{temperature_c:g} °C is no temperature of a lot",
            expected=f"{COLDEST_C:g} to {WARMEST_C:g} °C",
            remedy="if the log is in °F, convert it: (°F - 32) / 1.8",
        )
    scale = min(1.0, keeps_days_cold / _PUBLISHED_COLD_DAYS)
    return scale * math.exp(_log_life(temperature_c))


def _log_life(temperature_c: float) -> float:
    first, last = LIFE[0], LIFE[-1]
    if temperature_c <= first[0]:
        return math.log(first[1])
    for (t0, d0), (t1, d1) in pairwise(LIFE):
        if temperature_c <= t1:
            share = (temperature_c - t0) / (t1 - t0)
            return (1.0 - share) * math.log(d0) + share * math.log(d1)
    return math.log(last[1]) - math.log(2.0) * (temperature_c - last[0]) / 10.0


def used_share(lot: Lot, now: datetime, keeps_days_cold: float = _PUBLISHED_COLD_DAYS) -> float:
    """Share of its life that a lot has used up by ``now``: 0 when just picked, 1 and more when over.

    Hours since picking that ``lot.kept`` does not cover count at 20 °C.

    Raises
    ------
    UserMistake   for negative hours, a history longer than the time since picking, or a picking to come

    **Fails towards** more used: what was not recorded was warm.
    """
    elapsed_h = (now - lot.picked_at).total_seconds() / 3600.0
    if elapsed_h < 0:
        raise UserMistake(
            f"lot {lot.id} was picked {lot.picked_at:%Y-%m-%d %H:%M}, after the clock's {now:%Y-%m-%d %H:%M}",
            expected="a picking in the past",
            remedy="mend the time of picking or give --now",
        )
    if any(k.hours < 0 for k in lot.kept):
        raise UserMistake(f"lot {lot.id} was kept for a negative time", expected="hours of 0 or more")
    recorded_h = sum(k.hours for k in lot.kept)
    if recorded_h > elapsed_h + 0.26:
        raise UserMistake(
            f"lot {lot.id} has {recorded_h:g} h of temperatures, but was picked {elapsed_h:.1f} h ago",
            expected="a history no longer than the time since picking",
            remedy="mend the hours",
        )
    used = sum(k.hours / 24.0 / life_days(k.temperature_c, keeps_days_cold) for k in lot.kept)
    unrecorded_days = max(elapsed_h - recorded_h, 0.0) / 24.0
    return used + unrecorded_days / life_days(UNRECORDED_C, keeps_days_cold)


def deadline(lot: Lot, now: datetime, keeps_days_cold: float = _PUBLISHED_COLD_DAYS) -> Deadline:
    """Until when work on a lot has to begin if it goes into the refrigerator now.

    Rest of its life at 4.5 °C from ``now`` on; ``now`` itself when nothing is left of it.
    """
    used = used_share(lot, now, keeps_days_cold)
    rest_days = max(1.0 - used, 0.0) * life_days(REFRIGERATOR_C, keeps_days_cold)
    rest = f"{rest_days * 24:.0f} h at {REFRIGERATOR_C:g} °C"
    reason = f"{percent(min(used, 9.99))} of its life is used; the rest is {rest}"
    return Deadline(lot_id=lot.id, by=now + timedelta(days=rest_days), used_share=used, reason=reason)
