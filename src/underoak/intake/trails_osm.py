"""Trails, car parks and trees from an OpenStreetMap extract (XML or PBF)."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from underoak.book.hosts import match_host
from underoak.errors import BadData
from underoak.intake import osm_tags
from underoak.intake.coordinates import position_problem
from underoak.intake.reading import Reading, read_bytes
from underoak.intake.xml_guard import read_xml
from underoak.model.ground import CarPark, LonLat, Trail, Tree
from underoak.model.problem import Problem
from underoak.model.quantities import counted

OsmRecord = Trail | CarPark | Tree
_EXPECTED = "an OpenStreetMap extract (.osm XML or .osm.pbf)"


@dataclass(frozen=True, slots=True)
class _Node:
    id: int
    lonlat: LonLat
    tags: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class _Way:
    """A way with the positions of its nodes, None where the extract does not hold the node."""

    id: int
    points: tuple[LonLat | None, ...]
    tags: Mapping[str, str]


def read_osm(path: Path, *, home: LonLat | None = None, trees: bool = True) -> Reading[tuple[OsmRecord, ...]]:
    """Ways people walk, car parks and mapped trees of an extract.

    Parameters
    ----------
    path : XML (.osm, .xml) or PBF (.pbf)
    home : (longitude, latitude) of the household, to tell a wrong extract
    trees : whether ``natural=tree`` nodes are taken too

    Returns
    -------
    Reading with Trail, CarPark and Tree records. Ways that walkers may not use are kept and marked closed.
    Ways that leave the extract are cut there. Opening hours and other conditions are not understood.

    Raises
    ------
    BadData   when the file as a whole cannot be read or holds nothing to walk on

    Notes
    -----
    The data are © OpenStreetMap contributors, Open Database License 1.0; every map drawn from them says so.
    """
    elements = list(_pbf(path) if path.suffix.lower() == ".pbf" else _xml(path))
    records: list[OsmRecord] = []
    problems: list[Problem] = []
    cut = 0
    for element in elements:
        if isinstance(element, _Node):
            records += _from_node(element, trees)
        elif osm_tags.is_walked(element.tags):
            cut += None in element.points
            records += _trails(element)
        elif osm_tags.is_car_park(element.tags):
            records += _car_park_area(element)
    for record in records:
        lon, lat = (
            record.points[0] if isinstance(record, Trail) else (record.longitude_deg, record.latitude_deg)
        )
        if problem := position_problem(lon, lat, f"{path.name}, {record.id}", home):
            problems.append(problem)
    if not records:
        raise BadData([Problem("there is no way, car park or tree in it", path.name, _EXPECTED)])
    return Reading(tuple(records), tuple(problems), _understood(records, cut))


def _from_node(node: _Node, trees: bool) -> Iterator[OsmRecord]:
    lon, lat = node.lonlat
    if osm_tags.is_car_park(node.tags):
        name = node.tags.get("name") or f"car park at {lat:.5f}, {lon:.5f}"
        yield CarPark(f"osm-node-{node.id}", name, lon, lat)
    elif trees and node.tags.get("natural") == "tree":
        species = osm_tags.species_text(node.tags)
        yield Tree(
            f"osm-node-{node.id}",
            lon,
            lat,
            species,
            match_host(species),
            osm_tags.trunk_cm(node.tags),
            "unknown",
        )


def _trails(way: _Way) -> Iterator[Trail]:
    runs: list[list[LonLat]] = [[]]
    for point in way.points:
        if point is None:
            runs.append([])
        else:
            runs[-1].append(point)
    whole = [run for run in runs if len(run) > 1]
    for number, run in enumerate(whole, start=1):
        sense = osm_tags.direction(way.tags)
        yield Trail(
            f"osm-way-{way.id}" if len(whole) == 1 else f"osm-way-{way.id}-{number}",
            way.tags.get("name") or way.tags.get("ref", ""),
            tuple(reversed(run)) if sense < 0 else tuple(run),
            surface=way.tags.get("surface", ""),
            oneway=sense != 0,
            closed=osm_tags.is_closed(way.tags),
        )


def _car_park_area(way: _Way) -> Iterator[CarPark]:
    known = [p for p in way.points if p is not None]
    if known:
        lon, lat = sum(p[0] for p in known) / len(known), sum(p[1] for p in known) / len(known)
        name = way.tags.get("name") or f"car park at {lat:.5f}, {lon:.5f}"
        yield CarPark(f"osm-way-{way.id}", name, round(lon, 7), round(lat, 7))


def _xml(path: Path) -> Iterator[_Node | _Way]:
    root = read_xml(path, root="osm", expected=_EXPECTED)
    positions: dict[str, LonLat] = {}
    try:
        for element in root.iter("node"):
            lonlat = float(element.get("lon", "")), float(element.get("lat", ""))
            positions[element.get("id", "")] = lonlat
            tags = {t.get("k", ""): t.get("v", "") for t in element.iter("tag")}
            if tags:
                yield _Node(int(element.get("id", "")), lonlat, tags)
        for element in root.iter("way"):
            points = tuple(positions.get(nd.get("ref", "")) for nd in element.iter("nd"))
            tags = {t.get("k", ""): t.get("v", "") for t in element.iter("tag")}
            yield _Way(int(element.get("id", "")), points, tags)
    except ValueError as error:
        where = f"{path.name}, {element.tag} {element.get('id')!r}"
        raise BadData([Problem(f"an id or coordinate is no number: {error}", where, _EXPECTED)]) from error


def _pbf(path: Path) -> Iterator[_Node | _Way]:
    import osmium

    read_bytes(path)  # tells a missing, empty or huge file
    try:
        for thing in osmium.FileProcessor(str(path)).with_locations():
            tags = {tag.k: tag.v for tag in thing.tags}
            if thing.is_node() and tags:
                yield _Node(thing.id, (thing.location.lon, thing.location.lat), tags)
            elif thing.is_way() and tags:
                points = tuple((n.lon, n.lat) if n.location.valid() else None for n in thing.nodes)
                yield _Way(thing.id, points, tags)
    except (RuntimeError, ValueError) as error:
        what = f"the extract cannot be read: {error}"
        raise BadData([Problem(what, path.name, _EXPECTED, "download it again")]) from error


def _understood(records: list[OsmRecord], cut: int) -> tuple[str, ...]:
    trails = [r for r in records if isinstance(r, Trail)]
    car_parks = sum(isinstance(r, CarPark) for r in records)
    lines = [
        f"{counted(len(trails), 'way')}, {sum(t.closed for t in trails)} of them closed to walkers, "
        f"{counted(car_parks, 'car park')}, {counted(len(records) - len(trails) - car_parks, 'tree')}",
        "data © OpenStreetMap contributors, Open Database License",
    ]
    if cut:
        lines.append(f"{counted(cut, 'way')} cut where the extract ends")
    return tuple(lines)
