"""When and where a photo was taken, from its tags."""

from __future__ import annotations

import io
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from underoak.errors import BadData
from underoak.model.problem import Problem

#: A telephone's picture has fewer points; a made-up one of more would fill the memory.
MOST_PIXELS = 120_000_000
FORMATS = ("JPEG", "PNG", "WEBP")
_EXIF, _GPS = 0x8769, 0x8825
_TAKEN, _CHANGED = 0x9003, 0x0132


@dataclass(frozen=True, slots=True)
class PhotoTags:
    """What a picture says about itself; None where it does not, or says nonsense."""

    taken_at: datetime | None
    longitude_deg: float | None
    latitude_deg: float | None
    width: int
    height: int


def read_photo_tags(data: bytes, name: str) -> PhotoTags:
    """The tags of a picture, which is decoded whole to be sure that it is one.

    Raises BadData when it is no JPEG, PNG or WebP, cannot be decoded, or has too many points.

    Source: Exif 2.32 (tags 0x9003, 0x8825; from memory): degrees, minutes, seconds with N/S and E/W.
    """
    from PIL import Image

    try:
        with Image.open(io.BytesIO(data), formats=FORMATS) as picture:
            width, height = picture.size
            if width * height > MOST_PIXELS:
                raise BadData([Problem(f"{width} x {height} points", name, f"at most {MOST_PIXELS} in all")])
            exif = picture.getexif()
            detail, place = dict(exif.get_ifd(_EXIF)), dict(exif.get_ifd(_GPS))
            picture.load()
    except BadData:
        raise
    except Exception as error:
        raise BadData([Problem("this is no whole picture", name, "a picture: JPEG, PNG or WebP")]) from error
    longitude, latitude = _degrees(place, 4, 3, "EW", 180.0), _degrees(place, 2, 1, "NS", 90.0)
    if longitude is None or latitude is None:
        longitude = latitude = None
    return PhotoTags(_moment(detail.get(_TAKEN) or exif.get(_CHANGED)), longitude, latitude, width, height)


def _moment(text: Any) -> datetime | None:
    try:
        return datetime.strptime(str(text).strip("\0 "), "%Y:%m:%d %H:%M:%S")  # noqa: DTZ007 - local time
    except ValueError:
        return None


def _degrees(place: dict[int, Any], tag: int, side_tag: int, sides: str, most: float) -> float | None:
    try:
        degrees, minutes, seconds = (float(part) for part in place[tag])
        side = str(place[side_tag]).strip("\0 ").upper()
    except (KeyError, TypeError, ValueError, ZeroDivisionError):
        return None
    found = degrees + minutes / 60.0 + seconds / 3600.0
    if side not in sides or not side or not 0.0 <= found <= most:
        return None
    return -found if side == sides[1] else found
