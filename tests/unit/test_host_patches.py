"""Areas with hosts where no tree is mapped."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from underoak.errors import BadData
from underoak.intake.host_notes import read_host_notes
from underoak.intake.tree_features import area_m2
from underoak.intake.trees import read_trees
from underoak.ledger.database import open_ledger, writing
from underoak.ledger.ground import host_patches
from underoak.ledger.ground_records import store_ground
from underoak.model.ground import HostPatch, Trail, Tree
from underoak.model.network import Network
from underoak.woods.exposure import hosts_in_view
from underoak.woods.geodesy import LocalPlane
from underoak.woods.host_density import hosts_from_patches, strip_half_width_m, unmapped
from underoak.woods.trails import build_network

PLANE = LocalPlane(-74.5, 41.5)


def lonlat(*xy: tuple[float, float]) -> list[tuple[float, float]]:
    return [(float(a), float(b)) for a, b in PLANE.to_degrees(xy)]


SQUARE = lonlat((0, -100), (200, -100), (200, 100), (0, 100), (0, -100))


def written(folder: Path, geometry: str, coordinates: Any, **properties: Any) -> Path:
    path = folder / "hosts.geojson"
    feature = {
        "type": "Feature",
        "geometry": {"type": geometry, "coordinates": coordinates},
        "properties": properties,
    }
    path.write_text(json.dumps({"type": "FeatureCollection", "features": [feature]}))
    return path


def test_a_forest_type_area_with_several_hosts(tmp_path: Path) -> None:
    path = written(tmp_path, "Polygon", [SQUARE], name="slope", hosts={"white oak": 40, "red oak": 25.5})
    patches = [p for p in read_trees(path).records if isinstance(p, HostPatch)]
    assert {(p.host_group, p.stems_ha) for p in patches} == {("white_oak", 40.0), ("red_oak", 25.5)}
    assert area_m2(patches[0].polygons) == pytest.approx(40_000, rel=0.005)


def test_a_note_on_the_way(tmp_path: Path) -> None:
    line = lonlat((0, 0), (500, 0))
    (some,) = read_trees(
        written(tmp_path, "LineString", line, note="old oaks along here", how_many="many")
    ).records
    assert isinstance(some, HostPatch)
    assert (some.host_group, some.stems_ha, some.name) == ("oak", 60.0, "old oaks along here")
    (counted,) = read_trees(written(tmp_path, "LineString", line, host="white oak", count=12)).records
    assert isinstance(counted, HostPatch)
    assert counted.stems_ha * area_m2(counted.polygons) / 10_000 == pytest.approx(12)


@pytest.mark.parametrize(
    ("properties", "said"),
    [
        ({"host": "white oak"}, "how_many"),
        ({"host": "white oak", "how_many": "lots"}, "how_many"),
        ({"host": "white oak", "stems_per_ha": -3}, "-3 stems"),
        ({"host": "white oak", "count": 10**9}, "on a hectare"),
        ({"how_many": "some", "note": "nice view"}, "no host tree"),
        ({"hosts": {"white oak": "few"}}, "'few' stems"),
    ],
)
def test_areas_that_say_too_little(tmp_path: Path, properties: dict[str, Any], said: str) -> None:
    reading = read_trees(written(tmp_path, "Polygon", [SQUARE], **properties))
    assert reading.records == ()
    assert said in reading.problems[0].sentence()
    assert "feature 1" in reading.problems[0].where


def test_notes_of_a_receiver_say_where_hosts_stand(tmp_path: Path) -> None:
    """A track of 500 m with 15 m on either side, and 30 m around a waypoint; the car is no tree."""
    ends = "".join(f'<trkpt lon="{x}" lat="{y}"/>' for x, y in lonlat((0, 0), (500, 0)))
    path = tmp_path / "notes.gpx"
    path.write_text(
        "<gpx><wpt lat='41.5' lon='-74.5'><name>Car</name></wpt><wpt lat='41.5' lon='-74.5'><name>017</name>"
        "<desc>many beeches</desc></wpt>"
        f"<trk><name>old oaks along here</name><trkseg>{ends}</trkseg></trk></gpx>"
    )
    reading = read_host_notes(path)
    oaks, beeches = reading.records
    assert (oaks.host_group, oaks.stems_ha, oaks.name) == ("oak", 20.0, "old oaks along here")
    assert area_m2(oaks.polygons) == pytest.approx(500 * 30 + np.pi * 15**2, rel=0.01)
    assert (beeches.host_group, beeches.stems_ha) == ("beech", 60.0)
    assert area_m2(beeches.polygons) == pytest.approx(np.pi * 30**2, rel=0.03)
    assert "2 areas with hosts, 1 other note left aside" in reading.understood
    path.write_text("<gpx><wpt lat='41.5' lon='-74.5'><name>Car</name></wpt></gpx>")
    with pytest.raises(BadData, match="nothing in it names a host tree"):
        read_host_notes(path)


def test_patches_are_kept_in_the_ledger(tmp_path: Path) -> None:
    (patch,) = read_trees(written(tmp_path, "Polygon", [SQUARE], host="oak", stems_per_ha=30)).records
    connection = open_ledger(tmp_path / "l.sqlite3", create=True)
    for changed in (1, 0):
        with writing(connection):
            assert store_ground(connection, [patch]) == {"host_patches": changed}
    assert host_patches(connection) == [patch]
    connection.close()


def mapped_hosts(network: Network, *, seed: int, times: int) -> float:
    """Hosts in view on average where 400 trees are scattered over the square."""
    rng, mapped = np.random.default_rng(seed), []
    for _ in range(times):
        xy = list(zip(rng.uniform(0, 200, 400), rng.uniform(-100, 100, 400), strict=True))
        trees = [Tree(str(k), *place, "oak", "oak") for k, place in enumerate(lonlat(*xy))]
        mapped.append(sum(share for seen in hosts_in_view(network, trees) for _, share in seen))
    return float(np.mean(mapped))


def test_density_along_a_trail_agrees_with_as_many_mapped_trees() -> None:
    """400 scattered trees on 4 hectares, and 100 stems on a hectare, promise the same hosts in view."""
    network = build_network([Trail("a", "a", tuple(lonlat((-300, 0), (500, 0))))])
    patch = HostPatch("p", "p", ((tuple(SQUARE),),), "oak", 100.0)
    density = sum(hosts for seen in hosts_from_patches(network, [patch]) for _, hosts in seen)
    assert density == pytest.approx(200 * 2 * strip_half_width_m() * 0.01)
    assert mapped_hosts(network, seed=4, times=20) == pytest.approx(density, rel=0.05)


def test_two_trails_beside_each_other_do_not_both_count_what_stands_between_them() -> None:
    """20 m apart, and a crossing one: within 8 % of 400 mapped trees, each of which pays once."""
    network = build_network(
        [
            Trail("a", "a", tuple(lonlat((-300, 0), (500, 0)))),
            Trail("b", "b", tuple(lonlat((-300, 20), (500, 20)))),
            Trail("c", "c", tuple(lonlat((100, -300), (100, 300)))),
        ]
    )
    patch = HostPatch("p", "p", ((tuple(SQUARE),),), "oak", 100.0)
    density = sum(hosts for seen in hosts_from_patches(network, [patch]) for _, hosts in seen)
    assert mapped_hosts(network, seed=5, times=10) == pytest.approx(density, rel=0.08)
    alone = 3 * 200 * 2 * strip_half_width_m() * 0.01
    assert density < 0.85 * alone


def test_mapped_hosts_are_taken_off_the_density() -> None:
    patch = HostPatch("p", "p", ((tuple(SQUARE),),), "oak", 5.0)  # 20 stems on 4 hectares
    oaks = [
        Tree(str(k), *place, "oak", "oak") for k, place in enumerate(lonlat(*[(10 + k, 0) for k in range(8)]))
    ]
    elm = Tree("e", *lonlat((50, 0))[0], "elm", "elm")
    (left,) = unmapped([patch], [*oaks, elm])
    assert left.stems_ha == pytest.approx(3.0, rel=1e-3)
    assert unmapped([patch], oaks * 3) == ()
    assert hosts_from_patches(build_network([]), [patch]) == ()
