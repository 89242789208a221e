"""What trunk and land say of where a mushroom may stand: a rough age, slope, moisture, water."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from underoak.ledger.connection import Ledger

if TYPE_CHECKING:
    from underoak.model.ground import Spot, Tree

#: So many host groups of a file are told with their ages, those with most trunks.
MOST_GROUPS = 4


def age_words(host_group: str, diameter_cm: float | None) -> str:
    """A tree's rough age with its stated weakness; empty where trunk or growth is not known."""
    from underoak.book.hosts import host_groups
    from underoak.woods.host_trees import rough_age

    group = host_groups().get(host_group)
    if diameter_cm is None or group is None or group.growth is None:
        return ""
    return rough_age(diameter_cm, group.growth).words


def ages_of(trees: Iterable[Tree]) -> list[str]:
    """One line on the rough ages of measured trees, by host group, with the weakness of such figures."""
    from underoak.book.hosts import host_groups
    from underoak.woods.host_trees import rough_age

    years: dict[str, list[float]] = {}
    for tree in trees:
        group = host_groups().get(tree.host_group)
        if tree.diameter_cm is not None and group is not None and group.growth is not None:
            years.setdefault(tree.host_group, []).append(rough_age(tree.diameter_cm, group.growth).years)
    ranked = sorted(years, key=lambda key: (-len(years[key]), key))[:MOST_GROUPS]
    if not ranked:
        return []
    told = ", ".join(f"{key} {min(years[key]):.0f} to {max(years[key]):.0f}" for key in ranked)
    return [
        f"rough ages by the trunks, in years: {told} (a rule of thumb for trees in the open, a third either "
        "way; in dense woods they are often older)"
    ]


def ground_words(connection: Ledger, where: Spot | Tree) -> tuple[str, ...]:
    """Lines on a spot's or a tree's rough age and on how the land lies there, as far as either is known."""
    from underoak.ledger.ground import terrains
    from underoak.woods.lie_of_land import lie_of_land
    from underoak.woods.terrain import terrain_for

    at = where.longitude_deg, where.latitude_deg
    age = age_words(where.host_group, where.diameter_cm)
    grid = terrain_for(terrains(connection), [at])
    land = None if grid is None else lie_of_land(grid, *at)
    is_ = "was" if getattr(where, "condition", "") == "stump" else "is"
    return (*([f"The tree {is_} {age}."] if age else []), *([f"The land: {land.words}."] if land else []))
