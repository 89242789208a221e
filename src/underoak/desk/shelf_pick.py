"""Which jars stand on the shelf, which come first and which have to go: all of them, or by words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from underoak.desk.shelf_batches import ShelfBatch
from underoak.ledger.connection import Ledger
from underoak.ledger.shelf import (
    JarGroup,
    codes_ever,
    codes_of_batches,
    codes_with_day,
    codes_without_day,
    due_codes,
    jar_count,
    jar_lines,
    kept_groups,
)

#: Jars whose use-by day comes within so many days are eaten this week.
SOON_DAYS = 7
#: More jars than any ledger holds.
_ALL = 1 << 40


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is asked of the shelf: words, whether also jars that are gone, and which part of the jars."""

    today: date
    words: str = ""
    every: bool = False
    first: int = 0
    most: int | None = None

    @property
    def now(self) -> str:
        """The day as it is stored."""
        return self.today.isoformat()

    @property
    def soon(self) -> str:
        """The last day of this week's jars."""
        return (self.today + timedelta(days=SOON_DAYS)).isoformat()


@dataclass(frozen=True, slots=True)
class Picked:
    """Codes of the part that is shown, of what comes first and of what must not be eaten.

    ``eatable`` are the kept jars that may be used, counted by batch.
    """

    count: int
    page: tuple[str, ...]
    this_week: tuple[str, ...]
    over: tuple[str, ...]
    never: tuple[str, ...]
    eatable: tuple[JarGroup, ...]


def pick_all(connection: Ledger, made: Mapping[str, ShelfBatch], wanted: Wanted) -> Picked:
    """Every jar, counted by the ledger: only the jars of the part that is shown are read."""
    groups = kept_groups(connection)
    dated = sum(group.units for group in groups if group.use_by)
    bad = {group.batch_id for group in groups if made[group.batch_id].forbidden}
    never = {*codes_of_batches(connection, bad), *codes_without_day(connection, 0, _ALL)}
    return Picked(
        count=jar_count(connection) if wanted.every else sum(group.units for group in groups),
        page=tuple(_page(connection, wanted, dated)),
        this_week=tuple(c for c, batch in due_codes(connection, wanted.now, wanted.soon) if batch not in bad),
        over=tuple(code for code, _ in due_codes(connection, "", _before(wanted.today))),
        never=tuple(sorted(never)),
        eatable=tuple(group for group in groups if group.use_by and group.batch_id not in bad),
    )


def _page(connection: Ledger, wanted: Wanted, dated: int) -> Sequence[str]:
    first, most = wanted.first, _ALL if wanted.most is None else wanted.most
    if wanted.every:
        return codes_ever(connection, first, most)
    codes = codes_with_day(connection, first, most) if first < dated else []
    if len(codes) < most:
        codes += codes_without_day(connection, max(first - dated, 0), most - len(codes))
    return codes


def pick_by_words(connection: Ledger, made: Mapping[str, ShelfBatch], wanted: Wanted) -> Picked:
    """Only jars of which every word is in the code or says something of their batch."""
    lacking = {key: batch.lacks(wanted.words) for key, batch in made.items()}
    found = [
        line
        for line in jar_lines(connection, every=wanted.every)
        if all(word in line.code.casefold() for word in lacking[line.batch_id])
    ]
    kept = [line for line in found if line.state == "kept"]
    eatable = [line for line in kept if line.use_by and not made[line.batch_id].forbidden]
    may = {line.code for line in eatable}
    last = None if wanted.most is None else wanted.first + wanted.most
    return Picked(
        count=len(found),
        page=tuple(line.code for line in found[wanted.first : last]),
        this_week=tuple(line.code for line in eatable if wanted.now <= (line.use_by or "") <= wanted.soon),
        over=tuple(line.code for line in kept if line.use_by and line.use_by < wanted.now),
        never=tuple(sorted(line.code for line in kept if line.code not in may)),
        eatable=tuple(JarGroup(line.batch_id, line.use_by, 1, line.net_g) for line in eatable),
    )


def _before(day: date) -> str:
    return (day - timedelta(days=1)).isoformat()
