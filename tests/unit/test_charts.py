"""The outlook's pictures: sound XML, true to the numbers, readable without seeing."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from defusedxml.ElementTree import fromstring

from underoak.sheets.charts import Mark, fan_chart, season_strip

DAYS = [date(2025, 9, 26) + timedelta(days=n) for n in range(10)]
MIDDLE = [0.1, 0.12, 0.2, 0.3, 0.28, 0.2, 0.15, 0.1, 0.08, 0.05]
LOW = [x / 2 for x in MIDDLE]
HIGH = [min(1.0, 1.5 * x) for x in MIDDLE]


def value_of(root: Any, tag: str, name: str) -> str:
    return str(root.find(f"{{http://www.w3.org/2000/svg}}{tag}").get(name))


def text_of(root: Any, tag: str) -> str:
    return str(root.find(f"{{http://www.w3.org/2000/svg}}{tag}").text)


def test_a_fan_says_in_words_what_it_shows() -> None:
    root = fromstring(fan_chart("Maitake & Co, <High> Oaks", DAYS, MIDDLE, LOW, HIGH))
    assert text_of(root, "title") == "Maitake & Co, <High> Oaks"
    said = text_of(root, "desc")
    assert "highest on Mon 29 Sep with 30 %" in said
    assert "between 15 % and 45 %" in said


def test_a_fan_draws_the_line_inside_its_band() -> None:
    root = fromstring(fan_chart("x", DAYS, MIDDLE, LOW, HIGH))
    line = [tuple(map(float, p.split(","))) for p in value_of(root, "polyline", "points").split()]
    band = [tuple(map(float, p.split(","))) for p in value_of(root, "polygon", "points").split()]
    upper, lower = band[:10], band[:9:-1]
    assert len(line) == 10
    for middle, top, bottom in zip(line, upper, lower, strict=True):
        assert middle[0] == top[0] == bottom[0]
        assert top[1] <= middle[1] <= bottom[1], "pixels count downward"
    assert min(line, key=lambda p: p[1]) == line[3]


def test_a_strip_is_cut_to_its_season_and_names_its_marks() -> None:
    year = [0.0] * 365
    for n in range(30):
        year[200 + n] = 0.3 - abs(15 - n) * 0.015
    marks = [
        Mark(date(2025, 3, 1) + timedelta(days=210), "T", "today"),
        Mark(date(2025, 3, 5), "V", "a visit"),
    ]
    text = season_strip("x", date(2025, 3, 1), year, marks=marks)
    root = fromstring(text)
    said = text_of(root, "desc")
    assert "T: today, 27 Sep" in said
    assert "a visit" not in said
    assert value_of(root, "path", "d").count("M") <= 30


def test_the_same_numbers_give_the_same_picture() -> None:
    assert fan_chart("x", DAYS, MIDDLE, LOW, HIGH) == fan_chart("x", DAYS, MIDDLE, LOW, HIGH)


def test_uneven_or_empty_numbers_are_refused() -> None:
    with pytest.raises(ValueError, match="one length"):
        fan_chart("x", DAYS, MIDDLE[:5], LOW, HIGH)
    with pytest.raises(ValueError, match="at least one day"):
        season_strip("x", DAYS[0], [])
