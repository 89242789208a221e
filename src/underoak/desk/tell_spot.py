"""The story of a spot or a tree: what was looked for there and what was found."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from underoak.desk.tell_ground import ground_words
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
#: A spot so near a tree of a group that it may stand on is taken to be at that tree.
AT_TREE_M = 5.0
#: A kind of the book is named where the tree suits it at least so well, 0 to 1.
LEAST_SUITED = 0.3


@dataclass(frozen=True, slots=True)
class KnownSpot:
    """A spot with its place, how often it gave, and when last (empty: never)."""

    spot: Spot
    place: str
    finds: int
    last_find: str


@dataclass(frozen=True, slots=True)
class SpotStory:
    """A spot's record, latest first; ``empty_looks`` are days on which nothing was found.

    ``ground`` are lines on the tree's rough age and the lie of the land.
    """

    spot: Spot
    place: str
    finds: tuple[FindEvidence, ...]
    looks: tuple[tuple[date, float], ...]
    ground: tuple[str, ...] = ()

    @property
    def empty_looks(self) -> tuple[tuple[date, float], ...]:
        """Looks without a find."""
        held = {find.day for find in self.finds}
        return tuple(look for look in self.looks if look[0] not in held)


@dataclass(frozen=True, slots=True)
class TreeStory:
    """A tree of the inventory, the spots at it with what they gave, and gathered kinds that such trees suit.

    ``suits`` holds ids of taxa, those that prefer the tree most in front; ``ground`` are lines on its rough
    age and the lie of the land.
    """

    tree: Tree
    spots: tuple[KnownSpot, ...]
    suits: tuple[str, ...]
    ground: tuple[str, ...] = ()


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
            ground_words(connection, spot),
        )
    finally:
        connection.close()


def tell_tree(home: Home, tree_id: str) -> TreeStory:
    """What is known of a tree; UserMistake where there is none of this id."""
    connection = open_ledger(home.ledger)
    try:
        tree = _tree(connection, tree_id)
        names = {p.id: p.name for p in places(connection)}
        given = finds_by_spot(connection)
        at_it = tuple(
            KnownSpot(s, names.get(s.place_id, s.place_id), *given.get(s.id, (0, "")))
            for s in spots(connection)
            if _stands_at(s, tree)
        )
        return TreeStory(tree, at_it, _suited(tree.host_group), ground_words(connection, tree))
    finally:
        connection.close()


def _stands_at(spot: Spot, tree: Tree) -> bool:
    from underoak.woods.geodesy import distance_m

    if spot.tree_id is not None:
        return spot.tree_id == tree.id
    ends = spot.longitude_deg, spot.latitude_deg, tree.longitude_deg, tree.latitude_deg
    near = abs(ends[1] - ends[3]) < 0.001 and float(distance_m(*ends)) <= AT_TREE_M
    return near and spot.host_group in (tree.host_group, "unknown")


def _suited(group: str) -> tuple[str, ...]:
    from underoak.book.hosts import host_preference
    from underoak.book.load import load_book

    likes = {t.id: host_preference(t.habitat.hosts, group) for t in load_book().taxa.values() if t.gathered}
    return tuple(
        sorted((t for t, like in likes.items() if like >= LEAST_SUITED), key=lambda t: (-likes[t], t))
    )


def _tree(connection: Ledger, tree_id: str) -> Tree:
    row = connection.execute("SELECT * FROM tree WHERE id = ?", (tree_id,)).fetchone()
    if row is None:
        raise UserMistake("there is no such tree", remedy="choose one from the map")
    return Tree(*row)
