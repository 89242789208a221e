"""Photos: taken in with the time and place of their tags, kept with a find, shown small and whole."""

from __future__ import annotations

import hashlib
import re
import secrets
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from flask import Blueprint, Response, abort, request, send_file

from underoak.errors import BadData, UserMistake
from underoak.model.problem import Problem
from underoak.web.form_token import once
from underoak.web.site import site

if TYPE_CHECKING:
    from werkzeug.datastructures import FileStorage

    from underoak.web.ask import Answers

page = Blueprint("photos", __name__)
#: Photos taken in at a time, and the largest of them.
MOST_PHOTOS, MOST_PHOTO_BYTES = 12, 20_000_000
#: A photo this near to a known spot shows that spot, m; a telephone in the woods is no better.
NEAR_M = 40.0
#: Longer side of a small picture, points.
SMALL = 480
_NAME = re.compile(r"[0-9a-f]{20}\.(jpg|png|webp)")
_ENDINGS = {b"\xff\xd8": "jpg", b"\x89P": "png", b"RI": "webp"}


@dataclass
class WaitingPhotos:
    """Photos that were taken in and belong to no find yet; ``values`` is what they fill into the form."""

    id: str = ""
    files: list[dict[str, Any]] = field(default_factory=list)
    values: dict[str, Any] = field(default_factory=dict)

    def new_spot(self, number: int, place_id: str, name: str, told: Answers) -> str:
        """Make a spot where a photo was taken; its name, empty with a fault where that cannot be."""
        from underoak.desk.note_ground import SpotNote, note_spot

        photo = self.files[number] if number < len(self.files) else {}
        if photo.get("longitude_deg") is None:
            told.fault("the photo does not say where it was taken", f"find {number + 1}", "a known spot")
            return ""
        if told.problems:
            return name
        try:
            place = SpotNote(place_id, name, photo["longitude_deg"], photo["latitude_deg"])
            return note_spot(site().home, place).name
        except BadData as error:
            told.problems += error.problems
            return ""


def waiting_photos(waiting_id: str) -> WaitingPhotos:
    """Photos of an earlier upload, none for an unknown id."""
    from underoak.desk.draft_form import read_draft

    document = read_draft(site().home, "photos", waiting_id) if waiting_id else None
    if document is None:
        return WaitingPhotos()
    values: dict[str, Any] = {"photos": waiting_id}
    for number, photo in enumerate(document["files"]):
        if photo["spot_id"]:
            values[f"spot-{number}"] = photo["spot_id"]
            values.setdefault("place", photo["place_id"])
        if photo["taken_at"]:
            values.setdefault("day", photo["taken_at"][:10])
    return WaitingPhotos(waiting_id, document["files"], values)


@page.post("/finds/photos")
@once()
def take_in() -> str:
    """Read the tags of the photos, keep them aside, and go on to the form they fill in."""
    from underoak.desk.draft_form import change_draft

    files = [_waiting(data, name) for data, name in _uploaded()]
    waiting_id = secrets.token_hex(8)
    change_draft(site().home, "photos", waiting_id, lambda _: {"files": files})
    return f"/finds/new?photos={waiting_id}"


@page.post("/finds/one/<find_id>/photos")
@once()
def add(find_id: str) -> str:
    """Keep photos with a find."""
    shows = request.form.get("shows", "")[:200]
    for data, name in _uploaded():
        _keep(find_id, _waiting(data, name)["file"], shows)
    return f"/finds/one/{find_id}"


def _uploaded() -> list[tuple[bytes, str]]:
    """Bytes and names of the photos in the request; BadData names every one that cannot be taken."""
    sent = [one for one in request.files.getlist("photo") if one.filename]
    if not 1 <= len(sent) <= MOST_PHOTOS:
        raise UserMistake(f"{len(sent)} photos", expected=f"1 to {MOST_PHOTOS} at a time")
    return [(_read(one), one.filename or "photo") for one in sent]


def _read(one: FileStorage) -> bytes:
    data = one.stream.read(MOST_PHOTO_BYTES + 1)
    if len(data) > MOST_PHOTO_BYTES:
        expected = f"at most {MOST_PHOTO_BYTES // 1_000_000} MB"
        raise BadData([Problem("the photo is too large", (one.filename or "photo")[:80], expected)])
    return data


def _waiting(data: bytes, name: str) -> dict[str, Any]:
    """Put a photo aside under the hash of its bytes; what its tags say, and the spot nearest to it."""
    from underoak.export.whole_file import write_whole
    from underoak.intake.photo_tags import read_photo_tags

    tags = read_photo_tags(data, name[:80])
    file = f"{hashlib.sha256(data).hexdigest()[:20]}.{_ENDINGS.get(data[:2], 'jpg')}"
    folder = site().home.photos / "waiting"
    folder.mkdir(parents=True, exist_ok=True)
    write_whole(folder / file, data)
    spot_id, place_id = _nearest(tags.longitude_deg, tags.latitude_deg)
    return {
        "file": file,
        "name": name[:80],
        "taken_at": tags.taken_at.isoformat() if tags.taken_at else "",
        "longitude_deg": tags.longitude_deg,
        "latitude_deg": tags.latitude_deg,
        "spot_id": spot_id,
        "place_id": place_id,
    }


def _nearest(longitude_deg: float | None, latitude_deg: float | None) -> tuple[str, str]:
    from underoak.web.finds import woods
    from underoak.woods.geodesy import distance_m

    if longitude_deg is None or latitude_deg is None:
        return "", ""
    every = [spot for spots in woods().spots.values() for spot in spots]
    if not every:
        return "", ""
    away = distance_m(
        [s.longitude_deg for s in every], [s.latitude_deg for s in every], longitude_deg, latitude_deg
    )
    best = int(away.argmin())
    return (every[best].id, every[best].place_id) if float(away[best]) <= NEAR_M else ("", "")


def attach(photos: WaitingPhotos, find_ids: Mapping[int, str]) -> None:
    """Keep each waiting photo with the find of its row; those without one stay aside."""
    from underoak.desk.draft_form import change_draft

    for number, photo in enumerate(photos.files):
        if number in find_ids:
            _keep(find_ids[number], photo["file"], "")
    if photos.id:
        change_draft(site().home, "photos", photos.id, lambda _: None)


def _keep(find_id: str, file: str, shows: str) -> None:
    from underoak.desk.keep_photo import keep_photo

    waiting = site().home.photos / "waiting" / file
    keep_photo(site().home, find_id, waiting, shows=shows, today=site().today())
    waiting.unlink(missing_ok=True)


@page.get("/photos/<file>")
def whole(file: str) -> Response:
    """A photo as it was taken."""
    return send_file(_photo(file))


@page.get("/photos/small/<file>")
def small(file: str) -> Response:
    """A photo small enough for a list, made on first use."""
    path = _photo(file)
    target = site().home.photos / "small" / f"{path.stem}.jpg"
    if not target.exists():
        _shrink(path, target)
    return send_file(target.absolute(), mimetype="image/jpeg")


def _photo(file: str) -> Path:
    """The photo of this name in the home; only names that the program itself gives are looked for."""
    if not _NAME.fullmatch(file):
        abort(404)
    folders = (site().home.photos, site().home.photos / "waiting")
    found = next((folder / file for folder in folders if (folder / file).is_file()), None)
    if found is None:
        abort(404)
    return found.absolute()


def _shrink(path: Path, target: Path) -> None:
    from PIL import Image, ImageOps

    target.parent.mkdir(parents=True, exist_ok=True)
    try:
        with Image.open(path, formats=("JPEG", "PNG", "WEBP")) as picture:
            picture.draft("RGB", (SMALL, SMALL))
            turned = ImageOps.exif_transpose(picture).convert("RGB")
            turned.thumbnail((SMALL, SMALL))
            half = target.with_suffix(".part")
            turned.save(half, "JPEG", quality=80)
            half.replace(target)
    except (OSError, ValueError, SyntaxError):
        abort(404)
