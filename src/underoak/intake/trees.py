"""Trees from inventories (tables, GeoJSON points), and areas with hosts where no tree is mapped."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

from underoak.intake.geojson import read_features
from underoak.intake.reading import Reading
from underoak.intake.stable_id import stable_id
from underoak.intake.table import read_table, told
from underoak.intake.tree_features import patches_of, tree_of_point
from underoak.intake.tree_names import is_vacant
from underoak.intake.tree_table import EXPECTED, LocalGrid, TreeTable
from underoak.model.ground import HostPatch, LonLat, Tree
from underoak.model.problem import Problem
from underoak.model.quantities import counted

__all__ = ["LocalGrid", "read_trees"]


def read_trees(
    path: Path,
    *,
    columns: Mapping[str, str] | None = None,
    diameter_unit: str | None = None,
    grid: LocalGrid | None = None,
    home: LonLat | None = None,
) -> Reading[tuple[Tree | HostPatch, ...]]:
    """Trees of a CSV, TSV or GeoJSON file.

    Parameters
    ----------
    path : a table, or GeoJSON when its name ends in .geojson or .json: points are trees, areas and lines
        are host patches (`tree_features.patches_of`)
    columns : our field (latitude, longitude, species, condition, diameter, or with its unit diameter_in,
        girth_cm, …) -> header in the file, for headers that are not recognised
    diameter_unit : mm, cm, m, in or ft, where the header does not carry it
    grid : for tables whose x and y are a local grid, x towards east and y towards north
    home : (longitude, latitude) of the household, to tell swapped coordinates

    Returns
    -------
    Reading with Tree and HostPatch records. Species text is matched to host groups; text that matches none
    is kept and counts as unknown. A diameter of 0 or an empty cell means not measured.

    Raises
    ------
    BadData   when the file as a whole cannot be read or a needed column is missing
    """
    if path.suffix.lower() in (".geojson", ".json"):
        return _from_geojson(path, diameter_unit, home)
    table = read_table(path, expected=EXPECTED)
    reader = TreeTable(table, columns or {}, diameter_unit, grid, home)
    found = [reader.tree(row) for row in table.rows]
    problems = [*table.problems, *(p for p in found if isinstance(p, Problem))]
    standing = [t for t in found if isinstance(t, Tree)]
    trees = _numbered(_standing(standing))
    lines = (*_understood(trees, reader.columns_used()), *_vacant(len(standing) - len(trees)))
    return Reading(trees, told(problems, path.name), lines)


def _from_geojson(path: Path, unit: str | None, home: LonLat | None) -> Reading[tuple[Tree | HostPatch, ...]]:
    features = read_features(path, home=home)
    problems, trees = list(features.problems), []
    patches: dict[str, HostPatch] = {}
    aside = 0
    for feature in features.records:
        found: list[Tree | HostPatch | Problem] = []
        if feature.geometry == "Point":
            found = [tree_of_point(feature, unit)]
        elif feature.geometry in ("Polygon", "MultiPolygon", "LineString"):
            found = [*patches_of(feature)]
        aside += not found
        problems += [one for one in found if isinstance(one, Problem)]
        trees += [one for one in found if isinstance(one, Tree)]
        patches |= {one.id: one for one in found if isinstance(one, HostPatch)}
    numbered = _numbered(_standing(trees))
    areas = counted(len(patches), "area")
    note = f"GeoJSON points; {areas} with hosts, {counted(aside, 'other feature')} left aside"
    return Reading(
        (*numbered, *patches.values()),
        told(problems, path.name),
        (*_understood(numbered, note), *_vacant(len(trees) - len(numbered))),
    )


def _standing(trees: Iterable[Tree]) -> list[Tree]:
    return [tree for tree in trees if not is_vacant(tree.species_text)]


def _vacant(count: int) -> list[str]:
    return [f"{counted(count, 'place')} where no tree stands left aside"] if count else []


def _numbered(trees: Iterable[Tree]) -> tuple[Tree, ...]:
    """Give each tree its id, from position and species; stems on one point are counted through."""
    seen: Counter[str] = Counter()
    numbered = []
    for t in trees:
        key = stable_id(
            "tree", round(t.longitude_deg, 7), round(t.latitude_deg, 7), t.species_text.casefold()
        )
        seen[key] += 1
        own = key if seen[key] == 1 else f"{key}-{seen[key]}"
        numbered.append(  # `replace` would take a third of the time of a large inventory
            Tree(
                own, t.longitude_deg, t.latitude_deg, t.species_text, t.host_group, t.diameter_cm, t.condition
            )
        )
    return tuple(numbered)


def _understood(trees: Sequence[Tree], columns: str) -> tuple[str, ...]:
    groups = Counter(tree.host_group for tree in trees)
    unknown = Counter(t.species_text for t in trees if t.host_group == "unknown")
    measured = sum(tree.diameter_cm is not None for tree in trees)
    lines = [f"{counted(len(trees), 'tree')}, {measured} with a diameter", columns]
    if groups:
        lines.append("host groups: " + ", ".join(f"{group} {count}" for group, count in groups.most_common()))
    if unknown:
        named = ", ".join(f"{text or '(empty)'!s} {count}" for text, count in unknown.most_common(8))
        lines.append(f"species not recognised, kept as unknown: {named}")
    return tuple(lines)
