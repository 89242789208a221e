"""Whether anything may be gathered at a place on a day, and how much."""

from __future__ import annotations

import math
from calendar import month_name
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from underoak.model.ground import Permission


@dataclass(frozen=True, slots=True)
class GatherRule:
    """What a permission record says about one day.

    ``reason`` is a sentence; ``ask`` names whom to ask, empty when nobody is on record;
    ``limit_kg`` is the most the whole party may take, infinite when no limit is on record.
    """

    allowed: bool
    reason: str
    ask: str
    limit_kg: float


def gather_rule(permission: Permission, day: date, people: int) -> GatherRule:
    """The rule for ``people`` on ``day``.

    **Fails towards** looking only: unknown, forbidden, lapsed and out of season all mean that nothing
    is gathered.
    """
    refusal = _refusal(permission, day)
    if refusal:
        return GatherRule(allowed=False, reason=refusal, ask=permission.who, limit_kg=0.0)
    each = permission.limit_kg_person_day
    limit = math.inf if each is None else each * people
    words = "no limit is on record" if each is None else f"{each:g} kg for each person and day"
    by = f" by {permission.who}" if permission.who else ""
    return GatherRule(allowed=True, reason=f"allowed{by}, {words}", ask=permission.who, limit_kg=limit)


def _refusal(permission: Permission, day: date) -> str:
    if permission.status == "forbidden":
        return "gathering is forbidden"
    if permission.status != "allowed":
        return "nobody is on record as allowing it"
    if permission.expires_on is not None and day > permission.expires_on:
        return f"the permission lapsed on {permission.expires_on}"
    if permission.season is not None and not _within(permission.season, day):
        (m1, d1), (m2, d2) = permission.season
        return f"gathering is allowed from {d1} {month_name[m1]} to {d2} {month_name[m2]} only"
    return ""


def _within(season: tuple[tuple[int, int], tuple[int, int]], day: date) -> bool:
    first, last = season
    today = (day.month, day.day)
    if first <= last:
        return first <= today <= last
    return today >= first or today <= last
