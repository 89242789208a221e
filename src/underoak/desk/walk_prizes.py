"""What may be gathered along each trail and at each known spot, in kilograms and minutes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

import numpy as np

from underoak.desk.walk_worth import PICK_MIN_KG, Worth
from underoak.errors import NoAnswer, UserMistake
from underoak.ledger.connection import Ledger
from underoak.model.ground import Spot
from underoak.woods.host_trees import substrate_fit

if TYPE_CHECKING:
    import numpy.typing as npt

    from underoak.book.load import Book
    from underoak.desk.outlook_inputs import OutlookInputs
    from underoak.desk.walk_ground import WalkGround
    from underoak.model.book import Taxon
    from underoak.model.ground import HostPatch, Tree
    from underoak.outlook.drivers import Climate
    from underoak.walk.problem import Prize
    from underoak.woods.decay import Sight

    FloatArray = npt.NDArray[np.float64]

#: So many spots are named of each kind that was picked already.
MOST_PICKED = 6


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


@dataclass(frozen=True, slots=True, eq=False)
class Prizes:
    """What may be gathered, and the kilograms of each with the shortest and the longest likely sight."""

    prizes: tuple[Prize, ...]
    low_kg: tuple[float, ...]
    high_kg: tuple[float, ...]

    def where_open(self, closed: npt.NDArray[np.bool_]) -> Prizes:
        """Those that do not lie along a closed edge; ``closed`` is of shape (edges,)."""
        kept = [k for k, prize in enumerate(self.prizes) if prize.edge < 0 or not closed[prize.edge]]
        low, high = (tuple(kg[k] for k in kept) for kg in (self.low_kg, self.high_kg))
        return Prizes(tuple(self.prizes[k] for k in kept), low, high)


def prizes_of(
    ground: WalkGround, taxa: Sequence[Taxon], day: date, *, climates: Mapping[str, Climate],
    inputs: OutlookInputs, walk_min: FloatArray, sight: Sight,
) -> Prizes:  # fmt: skip
    """Every prize of the ground on ``day``; ``walk_min`` (edges,) is the quicker walking time.

    ``inputs`` is all that `outlook_inputs` gave: the reports and what was learned count as in the week.

    Method: a host's expected kilograms times the share of it seen from the trail lies on the trail;
    the rest, up to what a close look shows, is a prize of its own with the minutes of going there.
    A known spot is a prize at its node; a tree that belongs to a spot counts as that spot only.
    Where hosts are known by their number on a hectare only, the expected number in view along the trail
    times what one of them promises lies on the trail too; there is nothing to go and look at closely.
    A tree whose condition does not offer what a mushroom grows on counts for it in part.
    """
    known = {spot.tree_id for spot in ground.spots}
    trees = [tree for tree in ground.trees if tree.id not in known]
    stand_ins = [_as_spot(tree, ground.place.id) for tree in trees]
    usual = [_usual_host(patch, ground.place.id) for patch in ground.patches]
    spots = [*ground.spots, *stand_ins, *usual]
    suits = np.ones((len(spots), len(taxa)))
    here = len(ground.spots)
    for row, tree in enumerate(trees, start=here):
        suits[row] = [substrate_fit(taxon.habitat.substrate, tree.condition) for taxon in taxa]
    kg, chance = expected_at(spots, taxa, day, climates=climates, inputs=inputs, suits=suits)
    worth = Worth(ground, tuple(trees), tuple(ground.patches), kg[here:], chance[here:])
    prizes = (*worth.prizes(sight.sight_m, walk_min), *_at_spots(ground, kg[:here], chance[:here]))
    least, most = worth.kg_by_key(sight.low_m), worth.kg_by_key(sight.high_m)
    return Prizes(
        prizes,
        tuple(least.get(prize.key, prize.kg) for prize in prizes),
        tuple(most.get(prize.key, prize.kg) for prize in prizes),
    )


def expected_at(
    spots: Sequence[Spot], taxa: Sequence[Taxon], day: date, *, climates: Mapping[str, Climate],
    inputs: OutlookInputs, suits: FloatArray | None = None,
) -> tuple[FloatArray, FloatArray]:  # fmt: skip
    """Kilograms of all taxa together, and the chance that at least one is prime, shapes (spots,).

    What the household has picked there this season counts in neither.
    ``suits`` (spots, taxa) is how well each spot suits each taxon, 0 to 1; without it 1.
    """
    if not spots:
        return np.zeros(0), np.zeros(0)
    table = inputs.basis(climates).table(spots, taxa, [day])
    share = np.ones((len(spots), len(taxa))) if suits is None else suits
    kg = table.expected_kg[:, :, 0]
    # what was picked this season still counts as a flush, but there is nothing left of it
    chance = 1.0 - np.prod(1.0 - share * np.where(kg > 0.0, table.prime[:, :, 0], 0.0), axis=1)
    return (share * kg).sum(axis=1), chance


def picked_note(
    spots: Sequence[Spot], taxa: Sequence[Taxon], day: date, inputs: OutlookInputs
) -> tuple[str, ...]:
    """What was picked at these spots this season by the day, of which nothing more is expected."""
    from underoak.outlook.season import day_number, season_of

    position = {spot.id: k for k, spot in enumerate(spots)}
    told = []
    for taxon in taxa:
        on = inputs.seen.picked_on(taxon.id, position, season_of(day), len(spots))
        gone = np.flatnonzero(on <= day_number(day)).tolist()
        names = [spots[k].name for k in gone if spots[k].name]
        more = f" and {len(names) - MOST_PICKED} more" if len(names) > MOST_PICKED else ""
        if names:
            told.append(f"{taxon.common_names[0]} at {', '.join(names[:MOST_PICKED])}{more}")
    if not told:
        return ()
    return (f"Picked already this season, so nothing more of it is expected there: {'; '.join(told)}.",)


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
