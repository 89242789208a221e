"""What people ask of a walk beside kilograms: spots to see, spots and trails to avoid, ground to stay off."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from underoak.errors import BadData, NoAnswer, UserMistake

if TYPE_CHECKING:
    import numpy.typing as npt

    from underoak.desk.walk_ground import WalkGround
    from underoak.desk.walk_plan import WalkWish
    from underoak.model.ground import LonLat, Spot

#: Polygons of rings of positions, as in `underoak.model.ground.Place`.
Areas = tuple[tuple[tuple["LonLat", ...], ...], ...]
#: At most so many known names are listed in an error.
MOST_NAMES = 12


@dataclass(frozen=True, slots=True, eq=False)
class Limits:
    """The wishes as they stand on the ground.

    ``ground`` keeps only the hosts and spots that may be gone to; ``closed`` (edges,) marks trails that
    are not walked; ``must_see`` are ids of spots; ``notes`` says what was left out.
    """

    ground: WalkGround
    closed: npt.NDArray[np.bool_]
    must_see: frozenset[str]
    notes: tuple[str, ...]


def limits_of(ground: WalkGround, wish: WalkWish) -> Limits:
    """Names and areas of the wish found on the ground.

    A trail that touches an area to stay off is left out from junction to junction.

    Raises
    ------
    UserMistake   for names that are unknown or stand for two, for what is both wanted and avoided, and
        for a car park inside ground to stay off
    NoAnswer      when a spot to see is too far from every trail, or no trail is left at the car park

    **Fails towards** walking less: whatever touches ground to stay off is not walked.
    """
    must = [_spot(ground, name) for name in wish.must_see]
    names = {name.casefold() for name in wish.avoid}
    _check_avoided(ground, wish.avoid)
    off = _Off(wish.no_go)
    spots = tuple(s for s in ground.spots if not called(s, names) and not off.holds(_at(s)))
    trees = tuple(tree for tree in ground.trees if not off.holds((tree.longitude_deg, tree.latitude_deg)))
    for spot in must:
        _check_wanted(ground, spot, spots)
    edges = ground.network.edges
    avoided = np.array([edge.name.casefold() in names for edge in edges], dtype=bool)
    closed = avoided | np.array([off.touches(edge.points) for edge in edges], dtype=bool)
    _check_start(ground, off, closed)
    notes = []
    if wish.avoid:
        notes.append(f"Avoided as you asked: {', '.join(wish.avoid)}.")
    if wish.no_go:
        metres = sum(edge.length_m for edge, shut in zip(edges, closed & ~avoided, strict=True) if shut)
        notes.append(f"Ground to stay off takes {metres / 1000:.1f} km of trail out of the plan.")
    return Limits(
        replace(ground, spots=spots, trees=trees), closed, frozenset(s.id for s in must), tuple(notes)
    )


class _Off:
    """The ground to stay off, as one shape."""

    def __init__(self, areas: Areas) -> None:
        import shapely

        self._shape: Any = shapely.union_all([shapely.Polygon(rings[0], rings[1:]) for rings in areas])
        shapely.prepare(self._shape)

    def holds(self, point: LonLat) -> bool:
        """Whether a position lies inside."""
        import shapely

        return bool(shapely.intersects_xy(self._shape, *point))

    def touches(self, line: Sequence[LonLat]) -> bool:
        """Whether a line has a point inside."""
        import shapely

        return bool(self._shape.intersects(shapely.LineString(line)))


def _at(spot: Spot) -> LonLat:
    return spot.longitude_deg, spot.latitude_deg


def called(spot: Spot, names: set[str]) -> bool:
    """Whether a spot goes by one of these names or ids, given in small letters."""
    return spot.name.casefold() in names or spot.id.casefold() in names


def listed(names: Sequence[str], before: str = "") -> str:
    """Known names for an error: the first of them with a word before, and how many more there are."""
    known = sorted({name for name in names if name})
    more = f" and {len(known) - MOST_NAMES} more" if len(known) > MOST_NAMES else ""
    return before + ", ".join(known[:MOST_NAMES]) + more if known else "none: no name is known here yet"


def _spot(ground: WalkGround, name: str) -> Spot:
    found = [spot for spot in ground.spots if called(spot, {name.casefold()})]
    if not found:
        raise UserMistake(
            f"no spot at {ground.place.name} is called {name!r}",
            where="--must-see",
            expected=listed([spot.name for spot in ground.spots], "one of "),
        )
    if len(found) > 1:
        ids = ", ".join(spot.id for spot in found)
        raise UserMistake(
            f"{len(found)} are called {name!r}", where="--must-see", expected=f"one id of {ids}"
        )
    return found[0]


def known_here(ground: WalkGround, names: Sequence[str]) -> tuple[str, ...]:
    """Those of the names that a spot or trail of this ground has."""
    known = {edge.name.casefold() for edge in ground.network.edges}
    known |= {name.casefold() for spot in ground.spots for name in (spot.name, spot.id)}
    return tuple(name for name in names if name and name.casefold() in known)


def _check_avoided(ground: WalkGround, avoid: Sequence[str]) -> None:
    here = known_here(ground, avoid)
    unknown = [name for name in avoid if name not in here]
    if unknown:
        trails = {edge.name for edge in ground.network.edges}
        raise UserMistake(
            f"no spot or trail at {ground.place.name} is called {', '.join(map(repr, unknown))}",
            where="--avoid",
            expected=f"trails {listed(sorted(trails))}; spots {listed([s.name for s in ground.spots])}",
        )


def _check_wanted(ground: WalkGround, spot: Spot, kept: Sequence[Spot]) -> None:
    from underoak.desk.walk_ground import SPOT_REACH_M
    from underoak.woods.trails import nearest_node

    if spot not in kept:
        raise UserMistake(
            f"{spot.name} is to be seen and to be stayed away from",
            where="--must-see",
            remedy="take it out of --must-see, --avoid or --no-go",
        )
    _, gap_m = nearest_node(ground.network, *_at(spot))
    if gap_m > SPOT_REACH_M:
        raise NoAnswer(
            f"{spot.name} lies {gap_m:.0f} m from the nearest trail",
            where="--must-see",
            expected=f"a spot no farther than {SPOT_REACH_M:.0f} m from one",
        )


def _check_start(ground: WalkGround, off: _Off, closed: npt.NDArray[np.bool_]) -> None:
    park = ground.car_park
    if off.holds((park.longitude_deg, park.latitude_deg)):
        raise UserMistake(f"{park.name} lies in ground to stay off", where="--no-go")
    edges = ground.network.edges
    open_ = [e for e, shut in zip(edges, closed, strict=True) if not (shut or e.closed)]
    if not any(ground.start in (edge.start, edge.end) for edge in open_):
        raise NoAnswer(
            f"what is to be avoided leaves no trail at {park.name}",
            remedy="avoid less, or choose another car park",
        )


def no_go_areas(path: Path) -> Areas:
    """The polygons of a GeoJSON file, where nobody is to walk.

    Raises BadData with every problem of the file: broken features, and such as are no polygons.
    """
    from underoak.intake.geojson import read_features
    from underoak.model.problem import Problem

    reading = read_features(path)
    problems = list(reading.problems)
    areas: list[tuple[tuple[LonLat, ...], ...]] = []
    for feature in reading.records:
        if feature.geometry == "Polygon":
            areas.append(feature.coordinates)
        elif feature.geometry == "MultiPolygon":
            areas += feature.coordinates
        else:
            problems.append(
                Problem(
                    f"a {feature.geometry} has no inside", feature.where, "Polygon or MultiPolygon",
                    "draw the ground to stay off as an area",
                )
            )  # fmt: skip
    if problems:
        raise BadData(problems)
    return tuple(areas)
