"""The story of a spot or a tree: what was looked for there and what was found."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from underoak.errors import UserMistake
from underoak.ledger.connection import Ledger
from underoak.ledger.database import open_ledger
from underoak.ledger.evidence import FindEvidence, evidence_of
from underoak.ledger.places import places, spots
from underoak.ledger.recent import find_ids_at, finds_by_spot, looks_at
from underoak.model.ground import Spot, Tree
from underoak.settings import Home

#: Looks and finds that a story tells.
MOST_TOLD = 60


@dataclass(frozen=True, slots=True)
class KnownSpot:
    """A spot with its place, how often it gave, and when last (empty: never)."""

    spot: Spot
    place: str
    finds: int
    last_find: str


@dataclass(frozen=True, slots=True)
class SpotStory:
    """A spot's record, latest first; ``empty_looks`` are days on which nothing was found."""

    spot: Spot
    place: str
    finds: tuple[FindEvidence, ...]
    looks: tuple[tuple[date, float], ...]

    @property
    def empty_looks(self) -> tuple[tuple[date, float], ...]:
        """Looks without a find."""
        held = {find.day for find in self.finds}
        return tuple(look for look in self.looks if look[0] not in held)


@dataclass(frozen=True, slots=True)
class TreeStory:
    """A tree of the inventory, with the spots that lie at it."""

    tree: Tree
    spots: tuple[Spot, ...]


def known_spots(home: Home) -> tuple[KnownSpot, ...]:
    """All spots, those that gave most in front."""
    connection = open_ledger(home.ledger)
    try:
        names = {p.id: p.name for p in places(connection)}
        given = finds_by_spot(connection)
        found = [
            KnownSpot(s, names.get(s.place_id, s.place_id), *given.get(s.id, (0, "")))
            for s in spots(connection)
        ]
    finally:
        connection.close()
    return tuple(sorted(found, key=lambda one: (-one.finds, one.place, one.spot.name)))


def tell_spot(home: Home, spot_id: str) -> SpotStory:
    """The story of a spot; UserMistake where there is none of this id."""
    connection = open_ledger(home.ledger)
    try:
        spot = next((s for s in spots(connection) if s.id == spot_id), None)
        if spot is None:
            raise UserMistake("there is no such spot", remedy="choose one from the map")
        names = {p.id: p.name for p in places(connection)}
        found = evidence_of(connection, find_ids_at(connection, spot_id, MOST_TOLD))
        return SpotStory(
            spot,
            names.get(spot.place_id, spot.place_id),
            tuple(sorted(found, key=lambda e: (e.day, e.find_id), reverse=True)),
            tuple(looks_at(connection, spot_id, MOST_TOLD)),
        )
    finally:
        connection.close()


def tell_tree(home: Home, tree_id: str) -> TreeStory:
    """What is known of a tree; UserMistake where there is none of this id."""
    connection = open_ledger(home.ledger)
    try:
        tree = _tree(connection, tree_id)
        at_it = tuple(s for s in spots(connection) if s.tree_id == tree_id)
        return TreeStory(tree, at_it)
    finally:
        connection.close()


def _tree(connection: Ledger, tree_id: str) -> Tree:
    row = connection.execute("SELECT * FROM tree WHERE id = ?", (tree_id,)).fetchone()
    if row is None:
        raise UserMistake("there is no such tree", remedy="choose one from the map")
    return Tree(*row)
