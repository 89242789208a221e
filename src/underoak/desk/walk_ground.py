"""Place, car park, trails and trees of one walk, from the ledger."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, TypeVar

from underoak.errors import NoAnswer, UserMistake
from underoak.ledger.connection import Ledger

if TYPE_CHECKING:
    from underoak.model.ground import CarPark, HostPatch, LonLat, Place, Spot, Terrain, Trail, Tree
    from underoak.model.network import Network

#: Trails this far around place and car park belong to the walk [degrees], a bit over half a kilometre.
AROUND_DEG = 0.006
#: A spot farther than this from every trail is not offered [m].
SPOT_REACH_M = 150.0
#: So many of the nearest car parks are tried.
MOST_PARKS = 5

N = TypeVar("N", "Place", "CarPark")


@dataclass(frozen=True, slots=True)
class WalkGround:
    """Everything on the ground that a walk at one place needs.

    ``start`` is the network node of the car park and ``start_gap_m`` how far it is from there.
    ``trees`` and ``spots`` lie inside the place; ``patches`` are the parts of it where hosts stand that
    no tree records. ``exits`` are the other car parks around; ``passed_over`` names nearer ones from
    which nothing can be reached.
    """

    place: Place
    car_park: CarPark
    network: Network
    start: int
    start_gap_m: float
    trees: tuple[Tree, ...]
    spots: tuple[Spot, ...]
    terrain: Terrain | None
    patches: tuple[HostPatch, ...] = ()
    exits: tuple[CarPark, ...] = ()
    passed_over: tuple[str, ...] = ()


def walk_ground(connection: Ledger, *, place: str | None, car_park: str | None) -> WalkGround:
    """The ground of a walk at a named place from a named car park.

    Without a name it is the nearest car park from whose trails something of the place can be reached; where
    there is none, the nearest.

    Raises
    ------
    UserMistake   for a name that is unknown or stands for two
    NoAnswer      when no place, car park or trail is known, or no trail can be reached from the start
    """
    from underoak.ledger import ground, places

    where = named(places.places(connection), place, "place", "--place")
    parks = places.car_parks(connection)
    choice = _car_parks(parks, car_park, where)
    trees = _inside(where, ground.trees(connection))
    all_ = _Around(
        where,
        trails=ground.trails(connection),
        spots=tuple(s for s in places.spots(connection) if s.place_id == where.id),
        trees=trees,
        patches=_patches(where, trees, ground.host_patches(connection)),
        terrains=ground.terrains(connection),
        parks=parks,
    )
    return all_.walk_from(choice[0]) if len(choice) == 1 else _nearest_that_reaches(all_, choice)


@dataclass(frozen=True, slots=True)
class _Around:
    """All that the ledger knows of a place and what lies around it."""

    place: Place
    trails: Sequence[Trail]
    spots: tuple[Spot, ...]
    trees: tuple[Tree, ...]
    patches: tuple[HostPatch, ...]
    terrains: Sequence[Terrain]
    parks: Sequence[CarPark]

    def walk_from(self, park: CarPark) -> WalkGround:
        """The ground from one car park; raises NoAnswer where no walk can start there."""
        from underoak.woods.network_report import start_problem
        from underoak.woods.terrain import terrain_for
        from underoak.woods.trails import build_network, nearest_node

        box = _box([point for rings in self.place.polygons for point in rings[0]] + [_at(park)])
        trails = [t for t in self.trails if any(_in_box(p, box) for p in t.points)]
        grid = terrain_for(self.terrains, [p for t in trails for p in t.points])
        network = build_network(trails, [park], self.spots, grid)
        if words := start_problem(network, *_at(park)):
            raise NoAnswer(words, where=park.name)
        start, gap_m = nearest_node(network, *_at(park))
        exits = tuple(one for one in self.parks if one.id != park.id and _in_box(_at(one), box))
        return WalkGround(
            self.place, park, network, start, gap_m, self.trees, self.spots, grid, self.patches, exits
        )


def _nearest_that_reaches(around: _Around, choice: Sequence[CarPark]) -> WalkGround:
    """The ground from the first car park from which something can be reached, else from the first."""
    passed: list[str] = []
    for park in choice:
        try:
            walk = around.walk_from(park)
        except NoAnswer:
            passed.append(park.name)
            continue
        if reaches(walk):
            return replace(walk, passed_over=tuple(passed))
        passed.append(park.name)
    return around.walk_from(choice[0])


def reaches(walk: WalkGround) -> bool:
    """Whether open trails lead from the start past a spot, a tree or a patch; into the place without any."""
    import shapely

    from underoak.woods.geodesy import LocalPlane
    from underoak.woods.network_report import components

    own = next(part for part in components(walk.network) if walk.start in part.nodes)
    plane = LocalPlane(*_at(walk.car_park))
    ways = shapely.union_all(
        [shapely.LineString(plane.to_plane(walk.network.edges[k].points)) for k in own.edges]
    )
    shapely.prepare(ways)
    points = [*map(_at, walk.spots), *map(_at, walk.trees)]
    if points and shapely.dwithin(ways, shapely.points(plane.to_plane(points)), SPOT_REACH_M).any():
        return True
    areas = walk.patches if points or walk.patches else (walk.place,)
    return any(ways.intersects(shapely.transform(_outline(one.polygons), plane.to_plane)) for one in areas)


def named(known: Sequence[N], name: str | None, kind: str, option: str) -> N:
    """The one of ``known`` that is called so; the only one where there is no name.

    Raises UserMistake for a name that is missing, unknown or stands for two, NoAnswer when none is known.
    """
    if not known:
        raise NoAnswer(f"no {kind} is known yet", remedy="load one: underoak load places FILE")
    if name is None and len(known) == 1:
        return known[0]
    often = Counter(one.name for one in known)
    own = (one.name if often[one.name] == 1 else f"{one.name} ({one.id})" for one in known)
    names = ", ".join(sorted(own))
    if name is None:
        raise UserMistake(f"there are {len(known)} {kind}s", where=option, expected=f"one of {names}")
    chosen = [one for one in known if name.casefold() in (one.name.casefold(), one.id.casefold())]
    if not chosen:
        raise UserMistake(f"no {kind} is called {name!r}", where=option, expected=f"one of {names}")
    if len(chosen) > 1:
        ids = ", ".join(one.id for one in chosen)
        raise UserMistake(f"{len(chosen)} are called {name!r}", where=option, expected=f"one id of {ids}")
    return chosen[0]


def _car_parks(known: Sequence[CarPark], name: str | None, place: Place) -> list[CarPark]:
    """The one that is named, or the nearest ones in order."""
    from underoak.woods.geodesy import distance_m

    if name is not None or not known:
        return [named(known, name, "car park", "--from")]
    middle = _outline(place.polygons).centroid

    def far(park: CarPark) -> tuple[float, str]:
        return float(distance_m(*_at(park), middle.x, middle.y)), park.id

    return sorted(known, key=far)[:MOST_PARKS]


def _at(thing: CarPark | Tree | Spot) -> LonLat:
    return thing.longitude_deg, thing.latitude_deg


def _box(points: Sequence[LonLat]) -> tuple[float, float, float, float]:
    lons, lats = [p[0] for p in points], [p[1] for p in points]
    return min(lons) - AROUND_DEG, min(lats) - AROUND_DEG, max(lons) + AROUND_DEG, max(lats) + AROUND_DEG


def _in_box(point: LonLat, box: tuple[float, float, float, float]) -> bool:
    return box[0] <= point[0] <= box[2] and box[1] <= point[1] <= box[3]


def _patches(place: Place, trees: Sequence[Tree], patches: Sequence[HostPatch]) -> tuple[HostPatch, ...]:
    """What is not mapped of the patches, cut to the place: beyond it nobody allowed gathering.

    Where two patches of one host overlap the smaller counts: a note on the way knows more than a map.
    """
    from underoak.woods.host_density import unmapped

    outline = _outline(place.polygons)
    left = [(patch, _outline(patch.polygons)) for patch in unmapped(patches, trees)]
    cut, taken = [], dict[str, Any]()
    for patch, whole in sorted(left, key=lambda one: (one[1].area, one[0].id)):
        before = taken.get(patch.host_group)
        mine = (whole if before is None else whole.difference(before)).intersection(outline)
        taken[patch.host_group] = whole if before is None else before.union(whole)
        if mine.area > 0.0:
            cut.append(replace(patch, polygons=polygons_of(mine)))
    return tuple(sorted(cut, key=lambda patch: patch.id))


def _outline(polygons: Sequence[Sequence[Sequence[LonLat]]]) -> Any:
    import shapely

    return shapely.union_all([shapely.Polygon(rings[0], rings[1:]) for rings in polygons])


def polygons_of(shape: Any) -> tuple[tuple[tuple[LonLat, ...], ...], ...]:
    """Rings of positions of a shape's polygons; lines and points of it are left aside."""
    parts = [part for part in getattr(shape, "geoms", [shape]) if part.geom_type == "Polygon"]
    return tuple(
        tuple(tuple((x, y) for x, y in ring.coords) for ring in (part.exterior, *part.interiors))
        for part in parts
    )


def _inside(place: Place, trees: Sequence[Tree]) -> tuple[Tree, ...]:
    import shapely

    outline = _outline(place.polygons)
    shapely.prepare(outline)
    if not trees:
        return ()
    inside = shapely.contains_xy(outline, [t.longitude_deg for t in trees], [t.latitude_deg for t in trees])
    return tuple(tree for tree, is_in in zip(trees, inside, strict=True) if is_in)
