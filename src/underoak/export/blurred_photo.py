"""Pictures without anything but the picture."""

from __future__ import annotations

import io
from typing import Any

from underoak.errors import BadData
from underoak.model.problem import Problem

#: A picture that shows a mushroom needs no more; fewer points also blur what stands far behind it.
LONGEST_SIDE = 1600
#: Points that are decoded at most; a JPEG is decoded in a smaller size at once.
MOST_POINTS = 50_000_000


def stripped_jpeg(data: bytes, name: str = "the photo") -> bytes:
    """The picture anew as JPEG: upright, at most 1600 points a side, without any tag, profile or thumbnail.

    Only the points are carried over, into a new image; nothing of the file is copied. What the picture
    itself shows (a sign, a known view) stays, so photos go out only when asked for.

    Raises BadData, naming the picture, when it cannot be decoded or has too many points.
    """
    from PIL import Image

    try:
        upright = _upright(data, name)
    except BadData:
        raise
    except Exception as error:  # the library raises whatever its decoders do
        raise BadData(
            [
                Problem(
                    "this is no whole picture",
                    name,
                    "a picture: JPEG, PNG or WebP",
                    "restore it from a backup",
                )
            ]
        ) from error
    clean = Image.new("RGB", upright.size)
    clean.paste(upright)
    out = io.BytesIO()
    clean.save(out, "JPEG", quality=85)
    return out.getvalue()


def _upright(data: bytes, name: str) -> Any:
    from PIL import Image, ImageOps

    with Image.open(io.BytesIO(data), formats=("JPEG", "PNG", "WEBP")) as picture:
        picture.draft("RGB", (2 * LONGEST_SIDE, 2 * LONGEST_SIDE))
        width, height = picture.size
        if width * height > MOST_POINTS:
            raise BadData([Problem(f"{width} x {height} points", name, f"at most {MOST_POINTS} in all")])
        small = picture.copy()
        small.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
        return ImageOps.exif_transpose(small).convert("RGB")
