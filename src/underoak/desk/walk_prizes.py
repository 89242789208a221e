"""What may be gathered along each trail and at each known spot, in kilograms and minutes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import TYPE_CHECKING

import numpy as np

from underoak.errors import NoAnswer, UserMistake
from underoak.ledger.connection import Ledger
from underoak.model.ground import Spot

if TYPE_CHECKING:
    import numpy.typing as npt

    from underoak.book.load import Book
    from underoak.desk.outlook_inputs import OutlookInputs
    from underoak.desk.walk_ground import WalkGround
    from underoak.model.book import Taxon
    from underoak.model.ground import HostPatch, Tree
    from underoak.outlook.drivers import Climate
    from underoak.walk.problem import Prize

    FloatArray = npt.NDArray[np.float64]

#: Cutting, brushing and bagging [minutes for each kg]. Common practice, no source.
PICK_MIN_KG = 6.0
#: Looking while walking costs this share of the walking time again. Common practice, no source.
LOOKING_SHARE = 0.4
#: Trees that promise less than this are looked at from the trail only [kg].
CLOSE_LOOK_KG = 0.03
#: At most this many trees are offered for a close look.
MOST_CLOSE_LOOKS = 150
#: Below this an edge is not worth looking along [kg].
LEAST_KG = 0.001


def appetite(book: Book, names: Sequence[str]) -> list[Taxon]:
    """The taxa people want: those named, or every gathered one.

    Raises
    ------
    UserMistake   for a name that the book does not gather
    NoAnswer      when the book has no season for any of them
    """
    wanted = [book.find(name) for name in names] or [t for t in book.taxa.values() if t.gathered]
    for taxon in wanted:
        if not taxon.gathered:
            raise UserMistake(f"{taxon.scientific_name} is not gathered", where="--for")
    ready = [t for t in wanted if t.season and t.memory and t.weight]
    if not ready:
        raise NoAnswer("the book has no season for any of the mushrooms asked for")
    return ready


def prizes_of(
    ground: WalkGround, taxa: Sequence[Taxon], day: date, *, climates: Mapping[str, Climate],
    inputs: OutlookInputs, walk_min: FloatArray,
) -> list[Prize]:  # fmt: skip
    """Every prize of the ground on ``day``; ``walk_min`` (edges,) is the quicker walking time.

    ``inputs`` is all that `outlook_inputs` gave: the reports and what was learned count as in the week.

    Method: a host's expected kilograms times the share of it seen from the trail lies on the trail;
    the rest, up to what a close look shows, is a prize of its own with the minutes of going there.
    A known spot is a prize at its node; a tree that belongs to a spot counts as that spot only.
    Where hosts are known by their number on a hectare only, the expected number in view along the trail
    times what one of them promises lies on the trail too; there is nothing to go and look at closely.
    """
    known = {spot.tree_id for spot in ground.spots}
    trees = [tree for tree in ground.trees if tree.id not in known]
    stand_ins = [_as_spot(tree, ground.place.id) for tree in trees]
    usual = [_usual_host(patch, ground.place.id) for patch in ground.patches]
    kg, chance = expected_at([*ground.spots, *stand_ins, *usual], taxa, day, climates=climates, inputs=inputs)
    here, there = len(ground.spots), len(ground.spots) + len(trees)
    thick = _thick(ground, kg[there:], chance[there:])
    return [
        *_along(ground, trees, kg[here:there], chance[here:there], walk_min, thick=thick),
        *_at_spots(ground, kg[:here], chance[:here]),
    ]


def expected_at(
    spots: Sequence[Spot], taxa: Sequence[Taxon], day: date, *, climates: Mapping[str, Climate],
    inputs: OutlookInputs,
) -> tuple[FloatArray, FloatArray]:  # fmt: skip
    """Kilograms of all taxa together, and the chance that at least one is prime, shapes (spots,)."""
    if not spots:
        return np.zeros(0), np.zeros(0)
    table = inputs.basis(climates).table(spots, taxa, [day])
    return table.expected_kg[:, :, 0].sum(axis=1), 1.0 - np.prod(1.0 - table.prime[:, :, 0], axis=1)


def _as_spot(tree: Tree, place_id: str) -> Spot:
    return Spot(
        id=f"tree:{tree.id}", place_id=place_id, name="", longitude_deg=tree.longitude_deg,
        latitude_deg=tree.latitude_deg, host_group=tree.host_group, diameter_cm=tree.diameter_cm,
    )  # fmt: skip


def _usual_host(patch: HostPatch, place_id: str) -> Spot:
    """One host of a patch, of unknown thickness, standing in its first corner."""
    longitude_deg, latitude_deg = patch.polygons[0][0][0]
    return Spot(
        id=f"patch:{patch.id}", place_id=place_id, name="", longitude_deg=longitude_deg,
        latitude_deg=latitude_deg, host_group=patch.host_group,
    )  # fmt: skip


def _thick(ground: WalkGround, kg: FloatArray, chance: FloatArray) -> list[tuple[float, float]]:
    """For each edge the kilograms of its patches, and the chance that nothing stands in them.

    Hosts are taken to fruit independently: 1 - chance for each of the expected number in view.
    """
    from underoak.woods.host_density import hosts_from_patches

    along = []
    for seen in hosts_from_patches(ground.network, ground.patches):
        none = float(np.prod([(1.0 - min(float(chance[p]), 1.0)) ** hosts for p, hosts in seen]))
        along.append((float(sum(hosts * kg[p] for p, hosts in seen)), none))
    return along


def _along(
    ground: WalkGround, trees: Sequence[Tree], kg: FloatArray, chance: FloatArray, walk_min: FloatArray,
    *, thick: Sequence[tuple[float, float]],
) -> list[Prize]:  # fmt: skip
    from underoak.walk.problem import Prize
    from underoak.woods.exposure import hosts_in_view

    prizes: list[Prize] = []
    nearest: dict[int, tuple[float, int]] = {}
    for edge, seen in enumerate(hosts_in_view(ground.network, trees)):
        if ground.network.edges[edge].closed:
            continue
        more_kg, more_none = thick[edge]
        along_kg = sum(share * kg[tree] for tree, share in seen) + more_kg
        for tree, share in seen:
            nearest[tree] = max(nearest.get(tree, (0.0, 0)), (share, edge))
        if along_kg >= LEAST_KG:
            none = more_none * float(np.prod([1.0 - share * chance[tree] for tree, share in seen]))
            minutes = LOOKING_SHARE * float(walk_min[edge]) + PICK_MIN_KG * along_kg
            chance_of = 1.0 - none
            prizes.append(Prize(float(along_kg), minutes, edge=edge, chance=chance_of, key=f"along {edge}"))
    return prizes + _close_looks(trees, kg, chance, nearest)


def _close_looks(
    trees: Sequence[Tree], kg: FloatArray, chance: FloatArray, nearest: Mapping[int, tuple[float, int]]
) -> list[Prize]:
    from underoak.walk.problem import Prize
    from underoak.woods.exposure import SIGHT_M, walk_round

    prizes = []
    for tree, (share, edge) in nearest.items():
        away_m = SIGHT_M * float(np.sqrt(max(-2.0 * np.log(max(share, 1e-3)), 0.0)))
        look = walk_round(away_m, trees[tree].diameter_cm)
        more = (look.share_seen - share) * float(kg[tree])
        if more >= CLOSE_LOOK_KG:
            minutes = look.minutes + PICK_MIN_KG * more
            there = look.share_seen * float(chance[tree])
            prizes.append(Prize(more, minutes, edge=edge, chance=there, key=f"tree {trees[tree].id}"))
    prizes.sort(key=lambda prize: (-prize.kg / prize.minutes, prize.edge))
    return prizes[:MOST_CLOSE_LOOKS]


def _at_spots(ground: WalkGround, kg: FloatArray, chance: FloatArray) -> list[Prize]:
    from underoak.desk.walk_ground import SPOT_REACH_M
    from underoak.walk.problem import Prize
    from underoak.woods.exposure import walk_round
    from underoak.woods.trails import nearest_node

    prizes = []
    for position, spot in enumerate(ground.spots):
        node, gap_m = nearest_node(ground.network, spot.longitude_deg, spot.latitude_deg)
        if gap_m > SPOT_REACH_M:
            continue
        look = walk_round(gap_m, spot.diameter_cm)
        there = look.share_seen * float(kg[position])
        minutes = look.minutes + PICK_MIN_KG * there
        here = float(chance[position])
        prizes.append(Prize(there, minutes, node=node, name=spot.name, chance=here, key=spot_key(spot.id)))
    return prizes


def spot_key(spot_id: str) -> str:
    """The key of a known spot's prize."""
    return f"spot {spot_id}"


def outlook_inputs(connection: Ledger, day: date) -> OutlookInputs:
    """All that the outlook knows by the day."""
    from underoak.book.load import load_book
    from underoak.desk.outlook_inputs import inputs_until

    return inputs_until(connection, load_book(), day)
