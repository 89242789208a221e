"""Keep a photo of a find in the home."""

from __future__ import annotations

import hashlib
import io
from datetime import date, datetime
from pathlib import Path

from underoak.desk.vet_find import find_of
from underoak.errors import BadData
from underoak.export.whole_file import write_whole
from underoak.intake.reading import read_bytes
from underoak.ledger.database import open_ledger, writing
from underoak.ledger.photos import Photo, store_photo
from underoak.model.problem import Problem
from underoak.settings import Home

#: A telephone's picture has fewer; a made-up one of more would fill the memory.
MOST_PIXELS = 120_000_000
_ENDINGS = {"JPEG": "jpg", "PNG": "png", "WEBP": "webp"}
_TAKEN_TAG = 0x0132


def keep_photo(home: Home, find_id: str, path: Path, *, shows: str = "", today: date) -> Photo:
    """Copy a picture into the home's folder and note which find it shows.

    The file in the home keeps all its tags; what is shared is stripped (`underoak.export.blurred_photo`).

    Raises
    ------
    UserMistake   when there is no such find
    BadData       when the file is no picture (JPEG, PNG or WebP) or far too large
    """
    find_of(home, find_id)
    data = read_bytes(path)
    ending, taken_on = _looked_at(data, path.name)
    digest = hashlib.sha256(data).hexdigest()
    photo = Photo(digest, find_id, f"{digest[:20]}.{ending}", shows.strip()[:200], taken_on, today)
    home.photos.mkdir(exist_ok=True)
    target = home.photos / photo.file
    if not target.exists():
        write_whole(target, data)
    connection = open_ledger(home.ledger_path)
    try:
        with writing(connection):
            store_photo(connection, photo)
    finally:
        connection.close()
    return photo


def _looked_at(data: bytes, name: str) -> tuple[str, date | None]:
    """File ending and day of a picture; BadData when it cannot be opened whole."""
    from PIL import Image

    expected = "a picture: JPEG, PNG or WebP"
    try:
        with Image.open(io.BytesIO(data), formats=tuple(_ENDINGS)) as picture:
            if picture.width * picture.height > MOST_PIXELS:
                what = f"the picture has {picture.width} x {picture.height} points"
                raise BadData([Problem(what, name, f"at most {MOST_PIXELS} in all")])
            taken = picture.getexif().get(_TAKEN_TAG)
            ending = _ENDINGS[str(picture.format)]
            picture.load()
    except BadData:
        raise
    except Exception as error:
        raise BadData([Problem(f"this is no whole picture: {error}", name, expected)]) from error
    try:
        return ending, datetime.strptime(str(taken)[:10], "%Y:%m:%d").date() if taken else None  # noqa: DTZ007
    except ValueError:
        return ending, None
