"""Pictures of the review: well-formed, told in words, and drawn where the numbers are."""

from __future__ import annotations

import re
from xml.etree import ElementTree as ET

import pytest

from underoak.sheets.review_pictures import (
    Bar,
    Forecasts,
    TreeRow,
    rate_bars,
    reliability_dots,
    side_rose,
    tree_years,
)

_SVG = "{http://www.w3.org/2000/svg}"


def parsed(svg: str) -> ET.Element:
    root = ET.fromstring(svg)  # noqa: S314 - our own text
    title, desc = root.find(f"{_SVG}title"), root.find(f"{_SVG}desc")
    assert title is not None
    assert title.text
    assert desc is not None
    assert desc.text
    width, height = float(root.attrib["width"]), float(root.attrib["height"])
    for circle in root.iter(f"{_SVG}circle"):
        assert 0.0 <= float(circle.attrib["cx"]) <= width
        assert 0.0 <= float(circle.attrib["cy"]) <= height
    return root


def test_bars_are_as_long_as_their_rates_and_names_are_escaped() -> None:
    bars = [Bar("Fern & Oak", 0.5, 0.2, 0.9, 0.25), Bar("Ridge", 1.0, None, None, None)]
    root = parsed(rate_bars("Rates <1>", "kg/h", bars))
    widths = [float(r.attrib["width"]) for r in root.iter(f"{_SVG}rect") if r.attrib["fill"] == "#c9c4b8"]
    assert widths[1] == pytest.approx(2.0 * widths[0], abs=0.2)
    hatched = [float(r.attrib["width"]) for r in root.iter(f"{_SVG}rect") if "url" in r.attrib["fill"]]
    assert hatched == [pytest.approx(widths[0] / 2.0, abs=0.2)]


def test_a_whisker_that_leaves_the_picture_ends_in_an_arrow() -> None:
    svg = rate_bars("Rates", "kg/h", [Bar("Ridge", 1.0, -5.0, 50.0, None)])
    right = max(float(x) for x in re.findall(r"H(\d+\.?\d*)", svg))
    assert right <= 680.0
    assert "l6 4l-6 4" in svg


def test_trees_show_fruited_looked_and_not_looked_by_shape() -> None:
    rows = [TreeRow("oak", frozenset({2022, 2024}), frozenset({2024}))]
    circles = list(parsed(tree_years("Trees", [2022, 2023, 2024], rows)).iter(f"{_SVG}circle"))
    assert [circle.attrib["fill"] for circle in circles] == ["none", "#1d1b18"]


def test_a_rose_has_north_up_and_petals_by_area() -> None:
    root = parsed(side_rose("Sides", [90.0] * 4 + [0.0, 359.0], 90.0, 1.0))
    (line,) = root.iter(f"{_SVG}line")
    assert float(line.attrib["x2"]) > float(line.attrib["x1"])
    assert float(line.attrib["y2"]) == pytest.approx(float(line.attrib["y1"]), abs=0.1)
    reach = {}
    for petal in root.iter(f"{_SVG}path"):
        count = petal.find(f"{_SVG}title")
        assert count is not None
        reach[count.text] = float(re.findall(r"A([\d.]+)", petal.attrib["d"])[0])
    assert set(reach) == {"4", "2"}
    assert reach["4"] ** 2 == pytest.approx(2.0 * reach["2"] ** 2, rel=0.01)


def test_good_forecasts_lie_on_the_line() -> None:
    groups = [Forecasts(50, p, p, p / 2.0, min(1.0, 2.0 * p)) for p in (0.04, 0.25, 1.0)]
    root = parsed(reliability_dots("Forecasts", groups))
    sums = {round(float(c.attrib["cx"]) + float(c.attrib["cy"]), 1) for c in root.iter(f"{_SVG}circle")}
    assert len(sums) == 1


def test_pictures_of_nothing_are_refused() -> None:
    with pytest.raises(ValueError, match="needs"):
        rate_bars("", "", [])
    with pytest.raises(ValueError, match="needs"):
        tree_years("", [], [])
    with pytest.raises(ValueError, match="needs"):
        side_rose("", [], 0.0, 0.0)
    with pytest.raises(ValueError, match="needs"):
        reliability_dots("", [])
