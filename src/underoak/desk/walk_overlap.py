"""Where places overlap, the smaller one rules: nothing is gathered in a reserve inside an allowed wood."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from underoak.errors import NoAnswer
from underoak.ledger.connection import Ledger

if TYPE_CHECKING:
    from underoak.desk.walk_limits import Limits
    from underoak.desk.walk_plan import Outing
    from underoak.model.ground import HostPatch, Place


def where_allowed(connection: Ledger, outing: Outing, limits: Limits) -> Limits:
    """The limits without hosts and spots in smaller places where nothing may be gathered that day.

    Trails there stay open: they may be walked, and what is seen from them is left standing.

    Raises NoAnswer for a spot to see that lies in such a place.

    **Fails towards** looking only: of two places of one size the one that allows nothing rules.
    """
    from underoak.ledger.places import places

    ground = limits.ground
    barred = _barred(outing, places(connection)) if outing.rule.allowed else []
    if not barred:
        return limits
    inside = [place for place, _, shape in barred if any(_holds(shape, one) for one in _all(limits))]
    inside += [
        place
        for place, _, shape in barred
        if place not in inside and any(shape.intersects(_shape(p)) for p in ground.patches)
    ]
    for spot in ground.spots:
        for place, reason, shape in barred:
            if spot.id in limits.must_see and _holds(shape, spot):
                raise NoAnswer(
                    f"{spot.name} lies in {place.name}, and there {reason}",
                    where="--must-see",
                    remedy="take it out of --must-see",
                )
    off = [shape for _, _, shape in barred]
    kept = replace(
        ground,
        spots=tuple(s for s in ground.spots if not any(_holds(shape, s) for shape in off)),
        trees=tuple(t for t in ground.trees if not any(_holds(shape, t) for shape in off)),
        patches=tuple(cut for patch in ground.patches for cut in _outside(patch, off)),
    )
    notes = [
        f"{place.name} overlaps with {ground.place.name}, and there {reason}: what stands in it is not "
        "counted and not picked."
        for place, reason, _ in barred
        if place in inside
    ]
    return replace(limits, ground=kept, notes=(*limits.notes, *notes))


#: A place, why nothing may be gathered there, and its outline.
_Barred = tuple["Place", str, Any]


def _barred(outing: Outing, known: Sequence[Place]) -> list[_Barred]:
    from underoak.walk.permission import gather_rule

    own = _shape(outing.ground.place)
    barred: list[_Barred] = []
    for place in known:
        rule = gather_rule(place.permission, outing.wish.day, len(outing.party))
        shape = _shape(place)
        smaller = shape.area <= own.area and place.id != outing.ground.place.id
        if smaller and not rule.allowed and shape.intersects(own):
            barred.append((place, rule.reason, shape))
    return barred


def _all(limits: Limits) -> tuple[Any, ...]:
    return (*limits.ground.spots, *limits.ground.trees)


def _shape(area: Place | HostPatch) -> Any:
    import shapely

    shape = shapely.union_all([shapely.Polygon(rings[0], rings[1:]) for rings in area.polygons])
    shapely.prepare(shape)
    return shape


def _holds(shape: Any, one: Any) -> bool:
    import shapely

    return bool(shapely.intersects_xy(shape, one.longitude_deg, one.latitude_deg))


def _outside(patch: HostPatch, off: Sequence[Any]) -> tuple[HostPatch, ...]:
    """What is left of a patch, none or one."""
    import shapely

    from underoak.desk.walk_ground import polygons_of

    left = _shape(patch).difference(shapely.union_all(list(off)))
    return (replace(patch, polygons=polygons_of(left)),) if left.area > 0.0 else ()
