"""Keep a photo of a find in the home."""

from __future__ import annotations

import hashlib
from datetime import date
from pathlib import Path

from underoak.desk.vet_find import find_of
from underoak.export.whole_file import write_whole
from underoak.intake.photo_tags import read_photo_tags
from underoak.intake.reading import read_bytes
from underoak.ledger.database import open_ledger, writing
from underoak.ledger.photos import Photo, store_photo
from underoak.settings import Home

_ENDINGS = {b"\xff\xd8": "jpg", b"\x89P": "png", b"RI": "webp"}


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
    taken_at = read_photo_tags(data, path.name).taken_at
    ending = _ENDINGS[data[:2]]
    taken_on = taken_at.date() if taken_at else None
    digest = hashlib.sha256(data).hexdigest()
    photo = Photo(digest, find_id, f"{digest[:20]}.{ending}", shows.strip()[:200], taken_on, today)
    home.photos.mkdir(exist_ok=True)
    target = home.photos / photo.file
    if not target.exists():
        write_whole(target, data)
    connection = open_ledger(home.ledger)
    try:
        with writing(connection):
            store_photo(connection, photo)
    finally:
        connection.close()
    return photo
