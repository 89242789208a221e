"""Use-by days: the shortest of the sources for where it stands, and never past a policy limit."""

from __future__ import annotations

from datetime import date, timedelta

from underoak.errors import NoAnswer
from underoak.model.method import Method, Where

#: Low-acid food in oil: refrigerated at most this many days (the strictest advice seen).
OIL_DAYS = 4


def keeps_days(method: Method, where: Where | None = None) -> float:
    """Days a product of ``method`` keeps at ``where`` (by default where the method puts it).

    Raises
    ------
    NoAnswer   when no source gives a storage life there: it does not stand there

    **Fails towards** the shortest life of all sources for that place; in oil at most 4 days cold.
    """
    place = where or method.product_stands
    days = [s.days for s in method.storage if s.where == place]
    if not days:
        known = sorted({s.where for s in method.storage})
        raise NoAnswer(
            f"{method.name}: no source lets this stand in the {place or 'open'}",
            expected=", ".join(known) if known else "nothing: it is not kept",
        )
    shortest = min(days)
    if method.in_oil and method.for_wild and place != "freezer":
        return min(shortest, OIL_DAYS)
    return shortest


def use_by(method: Method, made_on: date, where: Where | None = None) -> date:
    """Last day on which a product made on ``made_on`` is used, whole days, rounded down."""
    return made_on + timedelta(days=int(keeps_days(method, where)))
