"""The map: everything that is loaded, to pan and to zoom, and the story of each spot and tree."""

from __future__ import annotations

import base64
from dataclasses import dataclass
from typing import TYPE_CHECKING

from flask import Blueprint, Response, abort, g, render_template, request

from underoak.errors import BadData
from underoak.web.site import site

if TYPE_CHECKING:
    from underoak.model.ground import Place

page = Blueprint("map", __name__)
#: Spots on one page of the list.
PAGE_SPOTS = 60
#: Woods that can be shown by one tap.
MOST_WOODS = 12
#: One clear point, for places of a tile file that hold nothing.
_CLEAR = base64.b64decode(
    "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNgYGBgAAAABQABeqhXUAAAAABJRU5ErkJggg=="
)


@dataclass(frozen=True, slots=True)
class Below:
    """What lies below the map: a file's zooms and name, an address in the network, or why there is none."""

    file: str = ""
    least_zoom: int = 0
    most_zoom: int = 0
    address: str = ""
    credit: str = ""
    trouble: str = ""


@page.get("/map")
def show() -> str:
    """The map, with the spots as a list below it."""
    from underoak.desk.tell_spot import known_spots

    home = site().home
    spots = site().remembered.answer(("spots",), lambda: known_spots(home))
    told = request.args.get("page", "1")
    at = max(int(told), 1) if told.isascii() and told.isdigit() and len(told) < 7 else 1
    below = _below()
    g.pictures_from = home.settings.backdrop.tile_host
    return render_template(
        "map.html",
        below=below,
        woods=_woods(),
        us=home.settings.units == "us",
        spots=spots[(at - 1) * PAGE_SPOTS : at * PAGE_SPOTS],
        at=at,
        pages=max((len(spots) + PAGE_SPOTS - 1) // PAGE_SPOTS, 1),
        walk=request.args.get("walk", "")[:40],
    )


def _woods() -> list[Place]:
    from underoak.ledger.database import open_ledger
    from underoak.ledger.places import places

    connection = open_ledger(site().home.ledger)
    try:
        return places(connection)[:MOST_WOODS]
    finally:
        connection.close()


def _below() -> Below:
    from underoak.intake.map_tiles import read_tile_file

    told = site().home.settings.backdrop
    if not told.tile_file:
        return Below(address=told.tile_address, credit=told.credit)
    try:
        found = read_tile_file(site().home.maps / told.tile_file)
    except BadData as error:
        return Below(address=told.tile_address, credit=told.credit, trouble=error.problem.sentence())
    credit = told.credit or found.credit
    return Below(found.name, found.least_zoom, found.most_zoom, told.tile_address, credit)


@page.get("/map/tiles/<int:zoom>/<int:column>/<int:row>")
def tile(zoom: int, column: int, row: int) -> Response:
    """A tile of the file that is set, a clear point where it holds none."""
    from underoak.intake.map_tiles import read_tile

    name = site().home.settings.backdrop.tile_file
    if not name:
        abort(404)
    data, kind = read_tile(site().home.maps / name, zoom, column, row) or (_CLEAR, "image/png")
    return Response(data, mimetype=kind)


@page.get("/map/ground.json")
def ground() -> Response:
    """All layers of the map as GeoJSON collections."""
    from underoak.desk.ground_map import ground_map

    home = site().home
    text = site().remembered.answer(("ground",), lambda: ground_map(home))
    return Response(text, mimetype="application/json")


@page.get("/map/walk/<answer_id>.json")
def walk(answer_id: str) -> Response:
    """The line of a planned walk as GeoJSON, empty where it was not kept."""
    from underoak.desk.kept_walks import kept_walk, walk_folder

    folder = walk_folder(site().home, kept_walk(site().home, answer_id).id)
    for path in sorted(folder.glob("*.geojson")):
        return Response(path.read_text("utf-8"), mimetype="application/json")
    return Response('{"type": "FeatureCollection", "features": []}', mimetype="application/json")


@page.get("/map.svg")
def picture() -> Response:
    """The same as a picture, for browsers without script."""
    from underoak.desk.show_map import map_picture

    home = site().home
    text = site().remembered.answer(("picture",), lambda: map_picture(home))
    return Response(text, mimetype="image/svg+xml")


@page.get("/map/spot/<spot_id>")
def spot(spot_id: str) -> str:
    """What a spot has shown over the years."""
    from underoak.desk.tell_spot import tell_spot
    from underoak.web.finds import STAGES

    return render_template("spot.html", story=tell_spot(site().home, spot_id), stages=STAGES)


@page.get("/map/tree/<tree_id>")
def tree(tree_id: str) -> str:
    """What is known of a tree, and of the spots at it."""
    from underoak.desk.tell_spot import tell_tree

    return render_template("tree.html", story=tell_tree(site().home, tree_id))
