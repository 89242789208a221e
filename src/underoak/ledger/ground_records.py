"""One door for any mix of ground records."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from underoak.ledger.connection import Ledger
from underoak.ledger.ground import store_host_patches, store_terrains, store_trails, store_trees
from underoak.ledger.places import store_car_parks, store_places, store_spots
from underoak.model.ground import CarPark, HostPatch, Place, Spot, Terrain, Trail, Tree

GroundRecord = Place | CarPark | Spot | Trail | Tree | HostPatch | Terrain


def store_ground(connection: Ledger, records: Iterable[GroundRecord]) -> dict[str, int]:
    """Store any mix of ground records, places before their spots.

    Returns
    -------
    How many rows were new or changed, for each kind that came: {"places": 1, "trails": 40, …}.

    Raises
    ------
    BadData   when a place of the same name is known elsewhere; the caller's transaction then stores nothing
    """
    everything = list(records)
    counts: dict[str, int] = {}
    kinds: tuple[tuple[str, type, Callable[..., int]], ...] = (
        ("places", Place, store_places),
        ("car_parks", CarPark, store_car_parks),
        ("trees", Tree, store_trees),
        ("host_patches", HostPatch, store_host_patches),
        ("spots", Spot, store_spots),
        ("trails", Trail, store_trails),
        ("terrains", Terrain, store_terrains),
    )
    for name, kind, store in kinds:
        mine = [record for record in everything if isinstance(record, kind)]
        if mine:
            counts[name] = store(connection, mine)
    return counts
