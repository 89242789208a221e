"""Which checks of a find the household skips, and how many finds stayed open for want of them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from underoak.review.intervals import Estimate, share_of


@dataclass(frozen=True, slots=True)
class VettedFind:
    """The last verdict of one find: its state and the characters it waits for that nobody looked at."""

    find_id: str
    taxon_id: str
    state: str
    waits_for: frozenset[str]


@dataclass(frozen=True, slots=True)
class SkippedCheck:
    """One character: finds it kept open, those where it alone was wanting, and its share of open finds."""

    character: str
    kept_open: int
    alone: int
    share: Estimate


@dataclass(frozen=True, slots=True)
class SkippedChecks:
    """All vetted finds, those still open, and what they wait for, most frequent first."""

    vetted: int
    open: int
    checks: tuple[SkippedCheck, ...]


def skipped_checks(finds: Sequence[VettedFind]) -> SkippedChecks:
    """Count over finds what kept them open; a refused find counts as vetted but waits for nothing."""
    waiting = [find for find in finds if find.state == "open"]
    counts = Counter(character for find in waiting for character in find.waits_for)
    alone = Counter(next(iter(find.waits_for)) for find in waiting if len(find.waits_for) == 1)
    return SkippedChecks(
        vetted=len(finds),
        open=len(waiting),
        checks=tuple(
            SkippedCheck(character, count, alone[character], share_of(count, len(waiting)))
            for character, count in sorted(counts.items(), key=lambda item: (-item[1], item[0]))
        ),
    )
