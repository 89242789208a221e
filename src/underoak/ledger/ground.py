"""Trails, trees, host patches and terrain in the ledger."""

from __future__ import annotations

import json
import zlib
from collections.abc import Iterable
from typing import TYPE_CHECKING

from underoak.ledger.connection import Ledger
from underoak.model.ground import HostPatch, LonLat, Terrain, Trail, Tree

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt


def store_trails(connection: Ledger, trails: Iterable[Trail]) -> int:
    """Store or update trails by id; returns how many rows were new or changed."""
    rows = (
        (
            t.id,
            t.name,
            json.dumps(t.points),
            json.dumps(t.elevations_m),
            t.surface,
            int(t.oneway),
            int(t.closed),
        )
        for t in trails
    )
    before = connection.total_changes
    connection.executemany(
        "INSERT INTO trail VALUES (?, ?, ?, ?, ?, ?, ?) ON CONFLICT (id) DO UPDATE SET name = excluded.name, "
        "points = excluded.points, elevations_m = excluded.elevations_m, surface = excluded.surface, "
        "oneway = excluded.oneway, closed = excluded.closed "
        "WHERE (trail.name, trail.points, trail.elevations_m, trail.surface, trail.oneway, trail.closed) "
        "IS NOT (excluded.name, excluded.points, excluded.elevations_m, excluded.surface, excluded.oneway, "
        "excluded.closed)",
        rows,
    )
    return connection.total_changes - before


def trails(connection: Ledger) -> list[Trail]:
    """All trails, by id."""
    return [
        Trail(
            row["id"],
            row["name"],
            tuple((p[0], p[1]) for p in json.loads(row["points"])),
            tuple(json.loads(row["elevations_m"])),
            row["surface"],
            bool(row["oneway"]),
            bool(row["closed"]),
        )
        for row in connection.execute("SELECT * FROM trail ORDER BY id")
    ]


def store_trees(connection: Ledger, trees: Iterable[Tree]) -> int:
    """Store or update trees by id; returns how many rows were new or changed."""
    rows = (
        (t.id, t.longitude_deg, t.latitude_deg, t.species_text, t.host_group, t.diameter_cm, t.condition)
        for t in trees
    )
    before = connection.total_changes
    connection.executemany(
        "INSERT INTO tree VALUES (?, ?, ?, ?, ?, ?, ?) ON CONFLICT (id) DO UPDATE SET "
        "species_text = excluded.species_text, host_group = excluded.host_group, "
        "diameter_cm = excluded.diameter_cm, condition = excluded.condition "
        "WHERE (tree.species_text, tree.host_group, tree.diameter_cm, tree.condition) IS NOT "
        "(excluded.species_text, excluded.host_group, excluded.diameter_cm, excluded.condition)",
        rows,
    )
    return connection.total_changes - before


def trees(connection: Ledger) -> list[Tree]:
    """All trees, by id."""
    rows = connection.execute(
        "SELECT id, longitude_deg, latitude_deg, species_text, host_group, diameter_cm, condition "
        "FROM tree ORDER BY id"
    )
    return [Tree(*row) for row in rows]


def store_host_patches(connection: Ledger, patches: Iterable[HostPatch]) -> int:
    """Store or update host patches by id; returns how many rows were new or changed."""
    before = connection.total_changes
    connection.executemany(
        "INSERT INTO host_patch VALUES (?, ?, ?, ?, ?) ON CONFLICT (id) DO UPDATE SET name = excluded.name, "
        "polygons = excluded.polygons, host_group = excluded.host_group, stems_ha = excluded.stems_ha "
        "WHERE (host_patch.name, host_patch.polygons, host_patch.host_group, host_patch.stems_ha) IS NOT "
        "(excluded.name, excluded.polygons, excluded.host_group, excluded.stems_ha)",
        ((p.id, p.name, json.dumps(p.polygons), p.host_group, p.stems_ha) for p in patches),
    )
    return connection.total_changes - before


def host_patches(connection: Ledger) -> list[HostPatch]:
    """All host patches, by id."""
    return [
        HostPatch(row["id"], row["name"], as_polygons(row["polygons"]), row["host_group"], row["stems_ha"])
        for row in connection.execute("SELECT * FROM host_patch ORDER BY id")
    ]


def as_polygons(text: str) -> tuple[tuple[tuple[LonLat, ...], ...], ...]:
    """Polygons of rings of positions from their JSON text."""
    return tuple(tuple(tuple((p[0], p[1]) for p in ring) for ring in rings) for rings in json.loads(text))


def store_terrains(connection: Ledger, terrains: Iterable[Terrain]) -> int:
    """Store or update elevation grids by id; returns how many rows were new or changed.

    Heights are kept as 32-bit numbers: to a tenth of a millimetre in the lowlands, to half a one on peaks.
    """
    before = connection.total_changes
    for terrain in terrains:
        rows, columns = terrain.elevation_m.shape
        connection.execute(
            "INSERT INTO terrain VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (id) DO UPDATE SET "
            "name = excluded.name, elevation_m = excluded.elevation_m "
            "WHERE (terrain.name, terrain.elevation_m) IS NOT (excluded.name, excluded.elevation_m)",
            (
                terrain.id,
                terrain.name,
                terrain.west_deg,
                terrain.north_deg,
                terrain.step_lon_deg,
                terrain.step_lat_deg,
                rows,
                columns,
                zlib.compress(terrain.elevation_m.astype("<f4").tobytes(), 6),
            ),
        )
    return connection.total_changes - before


def terrains(connection: Ledger) -> list[Terrain]:
    """All elevation grids, by id."""
    return [
        Terrain(
            row["id"],
            row["name"],
            row["west_deg"],
            row["north_deg"],
            row["step_lon_deg"],
            row["step_lat_deg"],
            _grid(row["elevation_m"], row["rows"], row["columns"]),
        )
        for row in connection.execute("SELECT * FROM terrain ORDER BY id")
    ]


def _grid(packed: bytes, rows: int, columns: int) -> npt.NDArray[np.float64]:
    import numpy as np

    try:
        # No more than the grid needs, whatever was packed.
        cells = zlib.decompressobj().decompress(packed, 4 * rows * columns + 1)
    except zlib.error as error:
        raise ValueError("an elevation grid is damaged") from error
    return np.frombuffer(cells, dtype="<f4").reshape(rows, columns).astype(np.float64)
