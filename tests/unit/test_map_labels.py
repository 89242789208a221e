"""Numbers on the map of a walk can all be read: none hides another, and each is tied to its place."""

from __future__ import annotations

import itertools
import math
import re
from xml.etree.ElementTree import Element

import numpy as np
import pytest
from defusedxml.ElementTree import fromstring

from underoak.sheets.map_frame import Box
from underoak.sheets.map_labels import GAP_MM, Label, drawn, placed, rows_of

WIDTH, HEIGHT = 178.0, 158.0


def crowded(seed: int, count: int) -> list[Label]:
    """Invented turns, many of them within a few millimetres of each other."""
    rng = np.random.default_rng(seed)
    middles = rng.uniform((20.0, 20.0), (150.0, 130.0), (max(count // 5, 1), 2))
    places = middles[rng.integers(len(middles), size=count)] + rng.normal(0.0, 3.0, (count, 2))
    numbers = [(k + 1, *(100 + k,) * (k % 3)) for k in range(count)]
    return [Label((float(x), float(y)), rows_of(own)) for (x, y), own in zip(places, numbers, strict=True)]


@pytest.mark.parametrize(("seed", "count"), [(1, 12), (2, 30), (3, 45)])
def test_no_number_lies_on_another_or_on_what_must_stay_free(seed: int, count: int) -> None:
    labels = crowded(seed, count)
    fixed = [Box(WIDTH - 44.0, HEIGHT - 6.5, 42.0, 4.5), Box(WIDTH - 8.0, 11.0, 5.0, 9.0)]
    boxes = placed(labels, width_mm=WIDTH, height_mm=HEIGHT, fixed=fixed)
    for one, other in itertools.combinations([*fixed, *boxes], 2):
        assert not one.overlaps(other, GAP_MM - 1e-9)
    for box in boxes:
        assert box.half_width < box.x < WIDTH - box.half_width
        assert box.half_height < box.y < HEIGHT - box.half_height


def test_a_number_stands_on_its_place_where_that_is_free_else_a_line_leads_to_it() -> None:
    labels = [Label((50.0, 50.0), rows_of([12])), Label((54.5, 50.0), rows_of([11, 13]))]
    boxes = placed(labels, width_mm=WIDTH, height_mm=HEIGHT)
    apart = [one for one, box in zip(labels, boxes, strict=True) if one.at != (box.x, box.y)]
    assert len(apart) == 1
    picture: Element = fromstring(f"<svg>{''.join(drawn(labels, boxes))}</svg>")
    words = [text.text for text in picture.iter("text")]
    assert words == ["12", "11, 13"]
    lines = [one.get("d") or "" for one in picture.iter("path")]
    assert lines[0] == lines[1]
    start = [float(x) for x in re.findall(r"[\d.]+", lines[0])][:2]
    assert start == list(apart[0].at)
    alone = placed(labels[:1], width_mm=WIDTH, height_mm=HEIGHT)
    assert "path" not in "".join(drawn(labels[:1], alone))


def test_every_number_of_a_place_that_is_passed_often_is_written() -> None:
    assert rows_of([2, 25]) == ("2, 25",)
    assert rows_of([1, 4, 9, 12, 30]) == ("1, 4, 9", "12, 30")
    tall, flat = (Label((0.0, 0.0), rows).box((0.0, 0.0)) for rows in (rows_of([1, 4, 9, 12]), rows_of([1])))
    assert tall.half_height == pytest.approx(flat.half_height + 1.8)
    assert tall.half_width > flat.half_width


def test_what_stands_at_the_rim_comes_inside() -> None:
    (box,) = placed([Label((0.5, 1.0), rows_of([7]))], width_mm=WIDTH, height_mm=HEIGHT)
    assert box.x > box.half_width
    assert box.y > box.half_height
    assert math.dist((box.x, box.y), (0.5, 1.0)) < 8.0
