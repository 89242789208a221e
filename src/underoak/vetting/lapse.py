"""When an old verdict no longer stands."""

from __future__ import annotations

from dataclasses import dataclass

#: Days after which even an unchanged find must be looked at again: bodies age. Own judgement.
STANDS_DAYS = 3


@dataclass(frozen=True, slots=True)
class Standing:
    """What a verdict was given on, or what holds now."""

    taxon_id: str
    bodies: int
    fresh_g: float | None
    book_version: str
    day: int


def lapsed(then: Standing, now: Standing) -> tuple[str, ...]:
    """Why a verdict given ``then`` does not hold ``now``; empty when it still does.

    ``day`` is a running day number (`date.toordinal`). Fewer bodies or less weight never lapse it.

    **Fails towards** lapsing: an unknown weight then or now counts as added when bodies are unknown.
    """
    reasons = []
    if now.taxon_id != then.taxon_id:
        reasons.append("The lot now goes by another name.")
    if now.bodies > then.bodies:
        reasons.append(f"{now.bodies - then.bodies} bodies were added after the verdict.")
    if then.fresh_g is not None and now.fresh_g is not None and now.fresh_g > then.fresh_g * 1.02:
        reasons.append(f"The lot weighs {now.fresh_g - then.fresh_g:.0f} g more than when it was vetted.")
    if now.book_version != then.book_version:
        reasons.append("The book has changed since the verdict.")
    if now.day - then.day > STANDS_DAYS:
        reasons.append(
            f"The verdict is {now.day - then.day} days old; fresh bodies do not stay as they were."
        )
    if now.day < then.day:
        reasons.append("The verdict is dated in the future; check the clock.")
    return tuple(reasons)
