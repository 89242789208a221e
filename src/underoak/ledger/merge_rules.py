"""How two records of the same id become one: the same one from either side and in any order.

Each table's columns fall into groups that belong together. Of two different contents of a group one is
chosen, by a rank that looks at the content alone: first the rule of the group, then whichever says more,
then plain alphabetical order. Choosing the greatest of a fixed order is commutative, associative and
idempotent, so ledgers may be joined both ways, in any order and again and again.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

Content = tuple[Any, ...]
Rank = Callable[[Content], Any]


def _nothing(content: Content) -> int:  # noqa: ARG001
    return 0


@dataclass(frozen=True, slots=True)
class Group:
    """Columns that are chosen together, the rank of a content, and the rule in words."""

    columns: tuple[str, ...]
    rank: Rank = _nothing
    words: str = "the fuller one"


@dataclass(frozen=True, slots=True)
class TableRule:
    """How one table is joined.

    ``single`` says that every other column is chosen by itself, otherwise all others stay together.
    ``united`` names columns with JSON lists of which the union is kept. ``fixed`` tables are append-only:
    two contents under one id cannot be.
    """

    groups: tuple[Group, ...] = ()
    single: bool = False
    united: tuple[str, ...] = ()
    fixed: bool = False


@dataclass(frozen=True, slots=True)
class Conflict:
    """Two contents of one record that cannot both stay: what was kept, what was not, and why."""

    table: str
    key: str
    columns: tuple[str, ...]
    kept: Content
    dropped: Content
    words: str


_STRICTNESS = {"forbidden": 2, "unknown": 1, "allowed": 0}

RULES: Mapping[str, TableRule] = {
    "station": TableRule(single=True),
    "weather_day": TableRule(single=True),
    "place": TableRule(
        groups=(
            Group(
                (
                    "permission_checked_on",
                    "permission_status",
                    "permission_who",
                    "limit_kg_person_day",
                    "season_start",
                    "season_end",
                    "permission_source",
                    "permission_expires_on",
                    "permission_note",
                ),
                lambda c: (c[0] or "", _STRICTNESS[c[1]]),
                "the permission checked last, then the stricter one",
            ),
        ),
        single=True,
    ),
    "spot": TableRule(
        groups=(
            Group(("withheld",), lambda c: c[0], "withheld, if either household withholds it"),
            Group(("longitude_deg", "latitude_deg"), words="the one farther east"),
        ),
        single=True,
    ),
    "visit": TableRule(
        groups=(Group(("minutes",), lambda c: c[0] or 0.0, "the longer"),), united=("people",)
    ),
    "search": TableRule(groups=(Group(("thoroughness",), lambda c: c[0], "the more thorough look"),)),
    "lot": TableRule(groups=(Group(("fresh_g",), lambda c: c[0], "the heavier"),)),
    "bought": TableRule(groups=(Group(("fresh_g",), lambda c: c[0], "the heavier"),)),
    "batch": TableRule(united=("against_advice",)),
    "jar": TableRule(
        groups=(
            Group(
                ("state", "state_on", "state_note"),
                lambda c: (c[0] != "kept", c[1] or ""),
                "what became of it last; a jar that is gone is gone",
            ),
        ),
        united=("cautions",),
    ),
    "serving": TableRule(
        groups=(
            Group(
                ("reaction", "reaction_at"),
                lambda c: (c[0] != "", c[1] or ""),
                "a noted reaction, and the one noted last",
            ),
            Group(("first_taste",), lambda c: c[0], "a first taste"),
        )
    ),
    "verdict": TableRule(fixed=True),
    "verdict_order": TableRule(groups=(Group(("number",), lambda c: c[0], "the later place"),)),
    "answer": TableRule(
        groups=(Group(("made_on",), lambda c: _earlier(c[0]), "the first day it was given"),)
    ),
    "learned": TableRule(fixed=True),
    "judgement": TableRule(fixed=True),
    "source_file": TableRule(groups=(Group(("partial",), lambda c: -c[0], "a file that was loaded whole"),)),
}

#: Half-filled forms of one computer, the letters before one household's codes, and the marks of seasons,
#: which every ledger makes for itself as rows are written.
NEVER_JOINED = frozenset({"draft", "form_sent", "household", "season_mark"})
#: What stands in a pantry and who ate what belongs to one house.
OF_THE_HOUSE = frozenset(
    {"lot", "bought", "batch", "batch_lot", "batch_bought", "jar", "serving", "specimen", "tasting"}
)


def _earlier(day: str) -> tuple[int, ...]:
    return tuple(-ord(letter) for letter in day)


class RowJoiner:
    """Joins rows of one table, given its columns and its key columns, and collects the conflicts."""

    def __init__(self, table: str, columns: Sequence[str], key: Sequence[str]) -> None:
        self.table, self.columns, self.key = table, columns, key
        self.conflicts: list[Conflict] = []
        self._rule = RULES.get(self.table, TableRule())
        grouped = {name for group in self._rule.groups for name in group.columns} | set(self._rule.united)
        free = [name for name in self.columns if name not in grouped and name not in self.key]
        rest = (
            [Group((name,)) for name in free] if self._rule.single else [Group(tuple(free))] if free else []
        )
        place = {name: at for at, name in enumerate(self.columns)}
        self._groups = [(g, [place[n] for n in g.columns if n in place]) for g in (*self._rule.groups, *rest)]
        self._united = [place[name] for name in self._rule.united if name in place]
        self._key = [place[name] for name in self.key]

    def key_of(self, row: Content) -> Content:
        """The key of a row."""
        return tuple(row[at] for at in self._key)

    def join(self, ours: Content, theirs: Content) -> Content:
        """One row of two with the same key; what had to be dropped is noted."""
        if ours == theirs:
            return ours
        joined = list(ours)
        for group, places in self._groups:
            pair = [tuple(row[at] for at in places) for row in (ours, theirs)]
            kept, other = sorted(pair, key=lambda c: (group.rank(c), _fullness(c), _text(c)), reverse=True)
            if kept != other and not _adds_nothing(other, kept):
                self._note(ours, group, kept, other)
            for at, value in zip(places, kept, strict=True):
                joined[at] = value
        for at in self._united:
            joined[at] = _union(ours[at], theirs[at])
        return tuple(joined)

    def _note(self, row: Content, group: Group, kept: Content, dropped: Content) -> None:
        key = ", ".join(str(part) for part in self.key_of(row))
        differing = [n for n, (k, d) in enumerate(zip(kept, dropped, strict=True)) if k != d]
        self.conflicts.append(
            Conflict(
                self.table,
                key,
                tuple(group.columns[n] for n in differing),
                tuple(kept[n] for n in differing),
                tuple(dropped[n] for n in differing),
                group.words,
            )
        )

    @property
    def fixed(self) -> bool:
        """Whether rows of this table never change."""
        return self._rule.fixed


def _fullness(content: Content) -> int:
    return sum(value not in (None, "", "[]", "{}", "unknown") for value in content)


def _adds_nothing(part: Content, whole: Content) -> bool:
    """Whether everything the part says is also in the whole."""
    return all(p == w or not _fullness((p,)) for p, w in zip(part, whole, strict=True))


def _text(content: Content) -> list[tuple[str, Any]]:
    """A total order over contents: by kind of value, then by value."""
    return [(type(value).__name__, 0 if value is None else value) for value in content]


def _union(a: str, b: str) -> str:
    """JSON list of everything in either list, in alphabetical order."""
    if a == b:
        return a
    items = {json.dumps(item, sort_keys=True) for text in (a, b) for item in json.loads(text)}
    return json.dumps([json.loads(item) for item in sorted(items)], ensure_ascii=False)
