"""Pictures without anything but the picture."""

from __future__ import annotations

import io

#: A picture that shows a mushroom needs no more; fewer points also blur what stands far behind it.
LONGEST_SIDE = 1600


def stripped_jpeg(data: bytes) -> bytes:
    """The picture anew as JPEG: upright, at most 1600 points a side, without any tag, profile or thumbnail.

    Only the points are carried over, into a new image; nothing of the file is copied. What the picture
    itself shows (a sign, a known view) stays, so photos go out only when asked for.
    """
    from PIL import Image, ImageOps

    with Image.open(io.BytesIO(data), formats=("JPEG", "PNG", "WEBP")) as picture:
        upright = ImageOps.exif_transpose(picture).convert("RGB")
    upright.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
    clean = Image.new("RGB", upright.size)
    clean.paste(upright)
    out = io.BytesIO()
    clean.save(out, "JPEG", quality=85)
    return out.getvalue()
